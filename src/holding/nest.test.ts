import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { apart, between, type Lying, nest } from "./nest.ts";

const piece = fc
  .tuple(
    fc.double({ min: 50, max: 300, noNaN: true }),
    fc.double({ min: 30, max: 90, noNaN: true }),
    fc.double({ min: -20, max: 20, noNaN: true }),
  )
  .map(
    ([l, w, out]): Lying => ({
      solid: { xMin: -10, yMin: -12, xMax: l + 10, yMax: w },
      sweep: { xMin: -10 - out, yMin: -out, xMax: l + out, yMax: w + out },
    }),
  );

describe("pieces on a bed", () => {
  test("lie on it, within travel, and no nearer than the gap, along either axis", () => {
    fc.assert(
      fc.property(
        fc.array(piece, { minLength: 1, maxLength: 6 }),
        fc.constantFrom("x" as const, "y" as const),
        fc.double({ min: 2, max: 30, noNaN: true }),
        (pieces, along, gap) => {
          const [bed, travel] = [
            [700, 500],
            [690, 510],
          ] as const;
          const { nested, fit } = nest(pieces, travel, bed, along, gap);
          if (nested === null) {
            expect(fit).toBeLessThan(pieces.length);
            return;
          }
          pieces.forEach((p, k) => {
            const [x, y] = nested.at[k];
            expect(Math.min(x + p.solid.xMin, y + p.solid.yMin, x + p.sweep.xMin, y + p.sweep.yMin)).toBeGreaterThanOrEqual(-1e-9);
            expect(x + p.solid.xMax).toBeLessThanOrEqual(bed[0] + 1e-6);
            expect(y + p.sweep.yMax).toBeLessThanOrEqual(travel[1] + 1e-6);
          });
          for (let i = 0; i < pieces.length; i++)
            for (let j = 0; j < i; j++) expect(apart(pieces[i], pieces[j], nested.at[i], nested.at[j])).toBeGreaterThanOrEqual(gap - 1e-6);
          if (pieces.length > 1) expect(nested.clearance).toBeGreaterThanOrEqual(gap - 1e-6);
        },
      ),
      { seed: 20260101, numRuns: 300 },
    );
  });

  test("a second row where the first is full, and how many fit when they do not", () => {
    const p: Lying = { solid: { xMin: 0, yMin: 0, xMax: 200, yMax: 100 }, sweep: { xMin: 0, yMin: 0, xMax: 200, yMax: 100 } };
    const at = nest([p, p, p, p], [500, 300], [500, 300], "x", 10).nested!.at;
    expect(at).toEqual([
      [0, 0],
      [0, 110],
      [210, 0],
      [210, 110],
    ]);
    expect(nest([p, p, p, p, p], [500, 300], [500, 300], "x", 10)).toEqual({ nested: null, fit: 4 });
    expect(between(p.solid, { ...p.solid, xMin: 205, xMax: 300 })).toBe(5);
  });
});
