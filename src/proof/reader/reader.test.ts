import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { MoveList } from "../../kernel/moves.ts";
import { interpretProgram, READER_RULES } from "./index.ts";

const same = (a: MoveList, b: MoveList): void => {
  expect(a.count).toBe(b.count);
  for (const f of ["kind", "x", "y", "z", "feed", "cx", "cy", "cz", "sweep", "plane"] as const) expect(a[f]).toEqual(b[f]);
};

const number = fc.tuple(fc.constantFrom("", "-", "+"), fc.nat(99999), fc.nat(999999), fc.nat(6)).map(([s, a, b, d]) => {
  const tail = String(b).padStart(6, "0").slice(0, d);
  return `${s}${a}${d === 0 ? "" : "."}${tail}`;
});
const plainLine = fc
  .tuple(
    fc.constantFrom("", "G0", "G1", "g01 ", "G00"),
    fc.subarray(["X", "y", "Z"], { minLength: 1 }),
    fc.array(number, { minLength: 4, maxLength: 4 }),
    fc.boolean(),
  )
  .map(([g, axes, v, f]) => `${g}${axes.map((a, k) => `${a}${v[k]}`).join(" ")}${f ? ` F${v[3].replace("-", "")}` : ""}`);

const RULES = new Set(READER_RULES.map((r) => r.id));
const sound = (text: Uint8Array | string): void => {
  const p = interpretProgram(text);
  for (const e of p.errors) {
    expect(RULES.has(e.rule)).toBe(true);
    expect(e.line).toBeGreaterThanOrEqual(1);
    expect(e.column).toBeGreaterThanOrEqual(1);
    expect(e.says.length).toBeGreaterThan(10);
    expect(e.tryThis.length).toBeGreaterThan(5);
  }
  const m = p.moves;
  for (let k = 0; k < m.count; k++) {
    if (!Number.isFinite(m.x[k] + m.y[k] + m.z[k] + m.feed[k] + m.cx[k] + m.cy[k] + m.cz[k] + m.sweep[k]))
      throw new Error(`move ${k} is not finite`);
  }
};

const SAMPLE = `%
(demo)
n10 g21 g17 g90 g94 g54
t3 m6
g43 h3
s12000 m3
g0 x10.25 y-3 z20
g1 z-1.5 f300
#1=[2.5*4]
g1 x#1 y sqrt[16]
g2 x20 y4 i5 j0
g3 x30 y4 r5 z-2
g18 g2 x31 z-1 r2
g17 g91 g1 x1 y1
g90 g92 x0 y0
g92.1
g81 x5 y5 z-3 r2
x10
g83 x12 z-4 r2 q1
g80 g4 p0.5
g53 g0 z0
g28 x1
m5 m9
m30
%
`;

describe("reader laws", () => {
  test("the quick way and the full way agree to the bit", () => {
    fc.assert(
      fc.property(fc.array(plainLine, { maxLength: 30 }), fc.boolean(), (lines, inch) => {
        const head = `g90 ${inch ? "g20" : "g21"} g0 x0 f100`;
        // a line number or a comment sends a line the full way
        const quick = interpretProgram([head, ...lines, "m2"].join("\n"));
        const full = interpretProgram([head, ...lines.map((l, k) => (k % 2 ? `n1 ${l}` : `${l}()`)), "m2"].join("\r\n"));
        same(quick.moves, full.moves);
        expect(quick.moves.line).toEqual(full.moves.line);
        expect(quick.errors.map((e) => e.rule)).toEqual(full.errors.map((e) => e.rule));
      }),
      { seed: 20260101, numRuns: 300 },
    );
  });

  test("a number means what the language's own parser says", () => {
    fc.assert(
      fc.property(number, (n) => {
        expect(interpretProgram(`g21 g0 x${n}\nx${n}y1\nm2`).moves.x).toEqual(new Float64Array([Number(n) + 0, Number(n) + 0]));
      }),
      { seed: 20260101, numRuns: 500 },
    );
    expect(interpretProgram("g0 x0.12345678901234567890\nm2").moves.x[0]).toBe(Number("0.12345678901234567890"));
  });

  test("inches are millimetres times 25.4", () => {
    const p = interpretProgram("g20 g0 x1 y-2\ng1 z.5 f10\nm2");
    expect([...p.moves.x, ...p.moves.y, ...p.moves.z]).toEqual([25.4, 25.4, -50.8, -50.8, 0, 12.7]);
    expect(p.moves.feed[1]).toBeCloseTo(254 / 60, 12);
  });

  test("random bytes never throw", () => {
    fc.assert(fc.property(fc.uint8Array({ maxLength: 300 }), sound), { seed: 20260101, numRuns: 1500 });
  });

  test("random program characters never throw", () => {
    const chars = fc.constantFrom(..."gmxyzfijkrpqltsnh#[]()%/=*+-. 0123456789\n\r\tabcdeouvw;sincosatan**modandor");
    fc.assert(
      fc.property(
        fc.array(chars, { maxLength: 200 }).map((a) => a.join("")),
        sound,
      ),
      { seed: 20260101, numRuns: 3000 },
    );
  });

  test("mutated and truncated programs never throw, and a cut-off program is told", () => {
    const bytes = Uint8Array.from(SAMPLE, (c) => c.charCodeAt(0));
    expect(interpretProgram(bytes).errors).toEqual([]);
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.nat(bytes.length - 1), fc.nat(255)), { minLength: 1, maxLength: 6 }),
        fc.nat(bytes.length),
        (edits, cut) => {
          const b = bytes.slice(0, cut);
          for (const [at, v] of edits) if (at < cut) b[at] = v;
          sound(b);
        },
      ),
      { seed: 20260101, numRuns: 2000 },
    );
    for (let cut = 0; cut < bytes.length - 3; cut++) expect(interpretProgram(bytes.subarray(0, cut)).errors.length).toBeGreaterThan(0);
  });

  test("splitting a file's lines by CR, LF or CRLF changes nothing", () => {
    const a = interpretProgram(SAMPLE);
    for (const eol of ["\r", "\r\n"]) {
      const b = interpretProgram(SAMPLE.replaceAll("\n", eol));
      same(a.moves, b.moves);
      expect(b.moves.line).toEqual(a.moves.line);
    }
  });
});

describe("reader errors", () => {
  test("name line, column, word and what to do", () => {
    const [e] = interpretProgram("g21\ng0 x10 y5\ng1 x12 w4 f100\nm2").errors;
    expect(e).toMatchObject({ line: 3, column: 8, rule: "PF-108", word: "w" });
  });
  test.each([
    ["g0 x1;rest", "PF-101"],
    ["g0 x1 a5", "PF-124"],
    ["g41 d1", "PF-124"],
    ["g38.2 x1 f5", "PF-124"],
    ["g84 x1 z1 r2 f5", "PF-124"],
    ["g0 x", "PF-104"],
    ["g0 x1.2.3", "PF-104"],
    ["g0 x[1", "PF-105"],
    ["g0 x[1/0]", "PF-106"],
    ["g0 xsqrt[-1]", "PF-106"],
    ["g0 x#5401", "PF-107"],
    ["g0 x#0", "PF-107"],
    ["g77", "PF-109"],
    ["m77", "PF-110"],
    ["g0 x1e9", "PF-108"],
    ["g0 x99999999", "PF-128"],
    ["o100 sub", "PF-108"],
    ["g0 x100001 f1", "PF-128"],
    [`g0 x${"[".repeat(120)}`, "PF-105"],
  ])("%s", (text, rule) => {
    expect(interpretProgram(`${text}\nm2`).errors.map((e) => e.rule)).toEqual([rule]);
  });
  test("lines with a slash run unless the operator's switch leaves them out, and are told", () => {
    const text = "g0 x1\n/g0 x2\nm2";
    expect(interpretProgram(text).moves.count).toBe(2);
    expect(interpretProgram(text).events.some((e) => e.kind === "optional line" && e.line === 2)).toBe(true);
    expect(interpretProgram(text, { skipOptional: true }).moves.count).toBe(1);
  });
  test("work offsets keep the moves in the first system's frame", () => {
    const p = interpretProgram("g10 l2 p2 x100 y10\ng0 x1 y1\ng55 g0 x1 y1\ng54 g0 x1\nm2");
    expect([...p.moves.x]).toEqual([1, 101, 1]);
    expect([...p.moves.y]).toEqual([1, 11, 11]);
  });
  test("places of the machine are told apart from places of the program", () => {
    expect(interpretProgram("g53 g0 z0\nm2").events.some((e) => e.kind === "machine place")).toBe(true);
    expect(interpretProgram("g28 z5\nm2").events.some((e) => e.kind === "machine place")).toBe(true);
  });
  test("the empty text has no end", () => {
    expect(interpretProgram("").errors.map((e) => e.rule)).toEqual(["PF-126"]);
  });
});
