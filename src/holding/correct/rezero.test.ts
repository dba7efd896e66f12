import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { type Refound, rezero } from "./rezero.ts";

const bore = (name: string, x: number, y: number, fx: number, fy: number): Refound => ({ name, told: [x, y, null], found: [fx, fy, null] });
const edge = (told: number, found: number): Refound => ({ name: "edge", told: [null, told, null], found: [null, found, null] });

const refused = (...f: Refound[]): string => {
  const r = rezero(f);
  return r.ok ? "" : `${r.says}. ${r.tryThis}`;
};

describe("a zero found again", () => {
  test("is off by what was found less what was told, on the axes that were touched", () => {
    const r = rezero([
      bore("tuner-1", 100, 40, 100.5, 39.75),
      edge(0, -0.25),
      { name: "top", told: [null, null, 41], found: [null, null, 41.2] },
    ]);
    expect(r).toMatchObject({ ok: true, value: { offset: [0.5, -0.25, 0.2], axes: [true, true, true] } });
    expect(rezero([edge(0, 0.35)])).toMatchObject({ ok: true, value: { offset: [0, 0.35, 0], axes: [false, true, false] } });
  });

  test("comes out of any readings of a lost step, rounded to tenths", () => {
    const lost = fc.double({ min: -6, max: 6, noNaN: true });
    const place = fc.double({ min: 10, max: 700, noNaN: true });
    fc.assert(
      fc.property(lost, lost, place, place, (dx, dy, x, y) => {
        const tenth = (v: number): number => Math.round(v * 10) / 10;
        const r = rezero([bore("a", x, 30, tenth(x + dx), tenth(30 + dy)), bore("b", y, 60, tenth(y + dx), tenth(60 + dy))]);
        if (!r.ok) throw new Error(r.says);
        expect(Math.abs(r.value.offset[0] - dx)).toBeLessThanOrEqual(0.0502);
        expect(Math.abs(r.value.offset[1] - dy)).toBeLessThanOrEqual(0.0502);
      }),
      { seed: 20260101, numRuns: 200 },
    );
  });

  test("refuses what no lost step makes, in words for a tired person", () => {
    expect(refused()).toMatch(/no feature was found again/);
    expect(refused(edge(0, 50))).toMatch(/edge was found 50\.0 mm from where the program has it along Y; more than 10 mm is no lost step/);
    // inches for millimetres
    expect(refused(bore("tuner-1", 100, 40, 3.94, 1.57))).toMatch(/in millimetres/);
    expect(refused(bore("a", 100, 40, 100.5, 40), edge(0, 0.9))).toMatch(/along Y the readings do not agree \(a 0\.00, edge 0\.90 mm\)/);
    expect(refused(bore("a", 100, 40, 104, 40), bore("b", 104, 40, 100, 40))).toMatch(/askew|do not agree|nearer|further/);
    expect(refused(bore("a", 0, 0, 0, 0), bore("b", 600, 0, 600, 2))).toMatch(/askew by 2\.00 mm: it has moved, not only the zero/);
    expect(refused(bore("a", 0, 0, 0, 0), bore("b", 600, 0, 602, 0))).toMatch(/2\.00 mm further apart than they were bored/);
    expect(refused({ name: "top", told: [null, null, 41], found: [null, null, 36] })).toMatch(/more than 3 mm/);
  });
});
