import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { centsOfFret } from "../../job/measured.ts";
import { type OutReading, readCameOut, sharpBy } from "./came-out.ts";

const SCALE = 648;
const fretAt = (n: number): number => SCALE * (1 - 2 ** (-n / 12));
const neck = { order: { scale: SCALE, frets: { count: 22 } }, fretAt } as unknown as Parameters<typeof readCameOut>[1];
const thick = (n: number, ordered: number, measured: number): OutReading => ({
  name: `thickness at fret ${n}`,
  kind: "thickness",
  ordered,
  measured,
});
const fret = (n: number, measured: number): OutReading => ({ name: `fret ${n}`, kind: "fret", fret: n, ordered: fretAt(n), measured });
const says = (...r: OutReading[]): string => {
  const f = readCameOut(r, neck);
  return f.ok ? "" : `${f.says} ${f.tryThis}`;
};

describe("what came out", () => {
  test("is held against what was ordered, frets in cents too", () => {
    const f = readCameOut([thick(1, 21, 21.15), fret(5, fretAt(5) + 0.2)], neck);
    if (!f.ok) throw new Error(f.says);
    expect(f.value[0]).toMatchObject({ name: "thickness at fret 1" });
    expect(f.value[0].off).toBeCloseTo(0.15, 9);
    expect(f.value[1].cents).toBeCloseTo(1200 * Math.log2((SCALE - fretAt(5)) / (SCALE - fretAt(5) - 0.2)), 9);
    expect(f.value[1].cents).toBeCloseTo(centsOfFret(neck as never, 5, fretAt(5) + 0.2), 9);
    expect(sharpBy(648, 324, 324)).toBe(0);
  });

  test("readings as a maker takes them, to a tenth, are believed", () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: -0.4, max: 0.4, noNaN: true }), { minLength: 4, maxLength: 4 }), (off) => {
        const tenth = (v: number): number => Math.round(v * 10) / 10;
        expect(says(...[1, 5, 7, 12].map((n, k) => thick(n, 20 + n * 0.2, tenth(20 + n * 0.2 + off[k]))))).toBe("");
        expect(says(...[1, 5, 7, 12].map((n, k) => fret(n, tenth(fretAt(n) + off[k]))))).toBe("");
      }),
      { seed: 20260101, numRuns: 200 },
    );
  });

  test("inches, a slipped point, exchanged stations, another fret: each is caught with what may have happened", () => {
    expect(says(thick(1, 21, 0.83))).toMatch(/was measured as 0\.83 mm, where 21 mm was ordered\. Look at 0\.83 again: is it in inches\?/);
    expect(says(thick(1, 21, 2.1))).toMatch(/was 21 meant\?/);
    expect(says(thick(1, 21, 210))).toMatch(/was 21 meant\?/);
    expect(says(fret(12, 12.76))).toMatch(/is it in inches/);
    expect(says(thick(1, 20.5, 23), thick(12, 23, 20.5))).toMatch(/fit what was ordered only when they change places/);
    expect(says(fret(5, fretAt(7)), fret(7, fretAt(5)))).toMatch(/change places/);
    expect(says(fret(5, fretAt(6)))).toMatch(/That is where fret 6 stands/);
    expect(says(thick(1, 21, 17))).toMatch(/Measure it again.*--sure/);
    expect(says(thick(1, 21, -21))).toMatch(/above 0/);
    expect(says(thick(1, 21, 21), thick(1, 21, 21.4))).toMatch(/given twice/);
  });
});
