import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { OrderCorrection } from "../../spec/corrections.ts";
import type { Rad } from "../../units/index.ts";
import { readMarks } from "./piece.ts";
import { turnedBy } from "./posting.ts";

const day = { date: "2026-03-31", reason: "marks" };
type Lie = { readonly x: number; readonly y: number; readonly angle: number };
const lie = fc.record({
  x: fc.double({ min: -1, max: 1, noNaN: true }),
  y: fc.double({ min: -1, max: 1, noNaN: true }),
  angle: fc.double({ min: -0.003, max: 0.003, noNaN: true }),
});
const put = (l: Lie, x: number, y: number): readonly [number, number] => [
  Math.cos(l.angle) * x - Math.sin(l.angle) * y + l.x,
  Math.sin(l.angle) * x + Math.cos(l.angle) * y + l.y,
];
const entry = (l: Lie): OrderCorrection => ({ kind: "turn", x: l.x, y: l.y, angle: l.angle as Rad, ...day });
const places = [
  [60, -60],
  [610, -40],
  [300, -20],
] as const;
const marksOf = (l: Lie, from: (x: number, y: number) => readonly [number, number] = (x, y) => [x, y]) =>
  places.map(([x, y]) => {
    const [a, b] = put(l, ...from(x, y));
    return { x, y, dx: a - x, dy: b - y };
  });

describe("how the piece lies after turning", () => {
  it("comes out of its marks as it was, shift and angle", () => {
    fc.assert(
      fc.property(lie, (l) => {
        const read = readMarks(marksOf(l));
        if (!read.ok) return Math.hypot(l.x, l.y, l.angle) < 1e-9;
        for (const k of ["x", "y", "angle"] as const) expect(read.value[k]).toBeCloseTo(l[k], 9);
        return true;
      }),
      { seed: 20260101, numRuns: 200 },
    );
  });
  it("measured again after a correction, what is left is laid over it: both together take a place where both in turn do", () => {
    fc.assert(
      fc.property(lie, lie, fc.double({ min: 0, max: 700, noNaN: true }), fc.double({ min: -100, max: 0, noNaN: true }), (a, b, x, y) => {
        const both = put(turnedBy([entry(a), entry(b)]), x, y);
        const each = put(b, ...put(a, x, y));
        expect(Math.hypot(both[0] - each[0], both[1] - each[1])).toBeLessThan(1e-9);
        expect(turnedBy([entry(a), { ...entry(b), undone: "2026-04-01" }])).toEqual(turnedBy([entry(a)]));
      }),
      { seed: 20260101, numRuns: 200 },
    );
  });
});
