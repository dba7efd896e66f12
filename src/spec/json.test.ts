import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { checkFileSize, MAX_FILE_BYTES, readJson } from "./json.ts";

const seeded = { seed: 20260101, numRuns: 1500 } as const;
const rulesOf = (input: string | Uint8Array): string[] => readJson(input).findings.map((f) => f.rule);
const bytes = (...b: number[]): Uint8Array => new Uint8Array(b);

describe("reading JSON", () => {
  test("law: what JSON.stringify writes is read as JSON.parse reads it", () => {
    fc.assert(
      fc.property(fc.jsonValue({ noUnicodeString: false } as never), fc.constantFrom(0, 2), (v, indent) => {
        const text = JSON.stringify(v, null, indent);
        fc.pre(!/"__proto__"/.test(text));
        const read = readJson(text);
        expect(read.findings).toEqual([]);
        expect(JSON.stringify(read.value)).toBe(JSON.stringify(JSON.parse(text)));
      }),
      seeded,
    );
  });

  test("law: it accepts nothing that JSON.parse refuses, and never throws", () => {
    fc.assert(
      fc.property(fc.oneof(fc.string(), fc.stringMatching(/^[[\]{}":,0-9eE.+\-truefalsn \\]{0,14}$/)), (text) => {
        const read = readJson(text);
        if (read.value === undefined) return;
        expect(() => JSON.parse(text.replace(/^\ufeff/, ""))).not.toThrow();
      }),
      seeded,
    );
  });

  test.each([
    ["", "SP-002"],
    [" \n", "SP-002"],
    ["\ufeff", "SP-002"],
    ["a\0b", "SP-003"],
    ['{"a": 1, "a": 2}', "SP-006"],
    ['{"a": {"b": 1, "b": 2}}', "SP-006"],
    ['{"a": 1', "SP-005"],
    ['{"a": 1,}', "SP-005"],
    ["{'a': 1}", "SP-005"],
    ['{"a": NaN}', "SP-005"],
    ['{"a": Infinity}', "SP-005"],
    ['{"a": -Infinity}', "SP-005"],
    ['{"a": 1e999}', "SP-005"],
    ['{"a": 01}', "SP-005"],
    ['{"a": .5}', "SP-005"],
    ['{"a": 1 11/16}', "SP-005"],
    ['{"a": 1} x', "SP-005"],
    ["// order\n{}", "SP-005"],
    ['"\\x"', "SP-005"],
    ["[".repeat(40) + "]".repeat(40), "SP-007"],
  ])("%j is refused by %s", (text, rule) => {
    const read = readJson(text);
    expect(read.value).toBeUndefined();
    expect(read.findings.filter((f) => f.severity === "stop").map((f) => f.rule)).toEqual([rule]);
  });

  test("a fault names line and column", () => {
    const [f] = readJson('{\n  "a": 1,\n  "b": NaN\n}').findings;
    expect(f?.where).toBe("line 3, column 8");
    expect(f?.says).toMatch(/NaN/);
    expect(readJson('{\n  "a": 1,\n  "a": 2\n}').findings[0]?.says).toMatch(/line 3/);
  });

  test("bytes: UTF-16, broken UTF-8, binary and a byte order mark", () => {
    expect(rulesOf(bytes(0xff, 0xfe, 0x7b, 0))).toEqual(["SP-003"]);
    expect(rulesOf(bytes(0x7b, 0xff, 0x7d))).toEqual(["SP-003"]);
    expect(rulesOf(bytes(0x89, 0x50, 0x4e, 0x47, 0, 1))).toEqual(["SP-003"]);
    const marked = readJson(bytes(0xef, 0xbb, 0xbf, 0x7b, 0x7d));
    expect(marked.findings.map((f) => [f.rule, f.severity])).toEqual([["SP-004", "note"]]);
    expect(marked.value).toEqual(Object.create(null));
  });

  test("size is asked before anything is decoded", () => {
    expect(checkFileSize(MAX_FILE_BYTES)).toBeNull();
    expect(checkFileSize(200e6)?.rule).toBe("SP-001");
    expect(rulesOf(new Uint8Array(MAX_FILE_BYTES + 1))).toEqual(["SP-001"]);
    expect(rulesOf(" ".repeat(MAX_FILE_BYTES + 1))).toEqual(["SP-001"]);
  });

  test("__proto__ is a key like any other and changes nothing", () => {
    const read = readJson('{"__proto__": {"polluted": 1}}');
    expect(Object.keys(read.value as object)).toEqual(["__proto__"]);
    expect(({} as { polluted?: number }).polluted).toBeUndefined();
    expect((read.value as { polluted?: number }).polluted).toBeUndefined();
  });
});
