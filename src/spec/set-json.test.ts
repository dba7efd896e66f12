import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Json } from "./json.ts";
import { setInJson, setInList } from "./set-json.ts";

const key = fc.string({ minLength: 1, maxLength: 6 }).filter((k) => k !== "__proto__");
// as JSON has it: no minus zero
const value = fc.jsonValue({ maxDepth: 2 }).map((v) => JSON.parse(JSON.stringify(v)) as Json);
const object = fc.dictionary(key, value, { maxKeys: 5 });
const set = (o: Record<string, Json>, path: readonly string[], v: Json): Record<string, Json> => {
  const [k, ...rest] = path;
  return { ...o, [k!]: rest.length === 0 ? v : set((o[k!] ?? {}) as Record<string, Json>, rest, v) };
};

describe("one value set inside a JSON text", () => {
  test("reads as the object with that value set, whatever the layout", () => {
    fc.assert(
      fc.property(object, object, key, key, value, fc.constantFrom(0, 2, "\t"), (outer, inner, k1, k2, v, indent) => {
        const doc = { ...outer, [k1]: inner };
        const text = JSON.stringify(doc, null, indent);
        expect(JSON.parse(setInJson(text, [k1, k2], v))).toEqual(set(doc, [k1, k2], v));
        expect(JSON.parse(setInList(JSON.stringify({ a: [outer, inner] }, null, indent), ["a"], 1, [k2], v))).toEqual({
          a: [outer, set(inner, [k2], v)],
        });
      }),
      { seed: 20260101, numRuns: 300, endOnFailure: true },
    );
  });

  test("every other byte stays: a shop file differs in the one line", () => {
    const text = readFileSync("examples/light-router.shop.json", "utf8");
    const changed = setInJson(text, ["machine", "stiffness", "x"], 87);
    const lines = changed.split("\n");
    const differs = text.split("\n").flatMap((l, k) => (l === lines[k] ? [] : [[l, lines[k]]]));
    expect(differs).toEqual([['    "stiffness": { "x": 100, "y": 90, "z": 150 },', '    "stiffness": { "x": 87, "y": 90, "z": 150 },']]);
    const more = setInJson(text, ["machine", "measured", "x"], { date: "2026-03-31", note: "n" });
    expect(more).toContain('"decimals": 4 },\n    "measured": { "x": { "date": "2026-03-31", "note": "n" } }\n  },');
    expect(more.replace(',\n    "measured": { "x": { "date": "2026-03-31", "note": "n" } }', "")).toBe(text);
    const listed = setInList(text, ["cutters"], 2, ["recess"], { allowance: 0.05 });
    expect(JSON.parse(listed).cutters[2].recess).toEqual({ allowance: 0.05 });
  });

  test("what is no object or not there is refused", () => {
    expect(() => setInJson('{ "a": 3 }', ["a", "b"], 1)).toThrow("a is not an object");
    expect(() => setInList('{ "a": [] }', ["a"], 0, ["b"], 1)).toThrow("no item 0");
    expect(() => setInList("{}", ["a"], 0, ["b"], 1)).toThrow("there is no a");
  });
});
