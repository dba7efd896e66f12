// Placement against an independent linear-programming library (yalps, a dense primal simplex): at one angle, and with the angle as a
// variable of the linearised problem, the largest smallest margin in a convex blank is a linear program in shift and margin.
import fc from "fast-check";
import { expect, it } from "vitest";
import { lessEq, type Model, solve } from "yalps";
import { hull } from "../../src/holding/placement/convex.ts";
import { maximise } from "../../src/holding/placement/lp.ts";
import { place } from "../../src/holding/placement/solve.ts";
import type { Polygon } from "../../src/kernel/polygon.ts";

const ring = (rx: number, ry: number): fc.Arbitrary<Polygon> =>
  fc
    .array(fc.double({ min: 0.5, max: 1, noNaN: true }), { minLength: 4, maxLength: 9 })
    .map((r) =>
      hull(
        Float64Array.from(
          r.flatMap((v, k) => [rx * v * Math.cos((2 * Math.PI * k) / r.length), ry * v * Math.sin((2 * Math.PI * k) / r.length)]),
        ),
      ),
    );

/** max m with n.(p + t) + s n.p' - c >= m for all vertices p and sides (n, c), |s| <= span. Variables of yalps are not negative: two each. */
function byLibrary(piece: Polygon, blank: Polygon, span: number): number {
  const constraints: Record<string, ReturnType<typeof lessEq>> = { turn: lessEq(span), back: lessEq(span) };
  const columns: Record<string, Record<string, number>> = {
    "x+": {},
    "x-": {},
    "y+": {},
    "y-": {},
    "s+": { turn: 1 },
    "s-": { back: 1 },
    "m+": { margin: 1 },
    "m-": { margin: -1 },
  };
  for (let k = 0, l = blank.length - 2; k < blank.length; l = k, k += 2) {
    const [ex, ey] = [blank[k] - blank[l], blank[k + 1] - blank[l + 1]];
    const [nx, ny] = [-ey / Math.hypot(ex, ey), ex / Math.hypot(ex, ey)];
    const c = nx * blank[l] + ny * blank[l + 1];
    for (let i = 0; i < piece.length; i += 2) {
      const name = `c${k}-${i}`;
      const [px, py] = [piece[i], piece[i + 1]];
      constraints[name] = lessEq(nx * px + ny * py - c);
      const put = (v: string, a: number): void => {
        columns[`${v}+`][name] = a;
        columns[`${v}-`][name] = -a;
      };
      put("x", -nx);
      put("y", -ny);
      put("s", -(ny * px - nx * py));
      put("m", 1);
    }
  }
  const model: Model = { direction: "maximize", objective: "margin", constraints, variables: columns };
  return solve(model, { precision: 1e-10 }).result;
}

it("at one angle has the margin that the library finds", () => {
  fc.assert(
    fc.property(ring(40, 12), ring(80, 40), (piece, blank) => {
      const ours = place({
        pieces: [{ name: "p", polygon: piece, need: 0 }],
        within: [{ name: "b", polygon: blank }],
        without: [],
        rotation: { min: 0, max: 0 },
      });
      expect(ours.margin).toBeCloseTo(byLibrary(piece, blank, 0), 6);
    }),
    { seed: 20260101, numRuns: 60 },
  );
});

it("linearised in the angle has the optimum that the library finds", () => {
  fc.assert(
    fc.property(ring(40, 12), ring(80, 40), fc.double({ min: 0, max: 0.3, noNaN: true }), (piece, blank, span) => {
      const rows: number[] = [];
      const limits: number[] = [];
      for (let k = 0, l = blank.length - 2; k < blank.length; l = k, k += 2) {
        const [ex, ey] = [blank[k] - blank[l], blank[k + 1] - blank[l + 1]];
        const [nx, ny] = [-ey / Math.hypot(ex, ey), ex / Math.hypot(ex, ey)];
        for (let i = 0; i < piece.length; i += 2) {
          rows.push(-nx, -ny, -(ny * piece[i] - nx * piece[i + 1]), 1);
          limits.push(nx * (piece[i] - blank[l]) + ny * (piece[i + 1] - blank[l + 1]));
        }
      }
      const ours = maximise({
        d: 4,
        rows: Float64Array.from(rows),
        limits: Float64Array.from(limits),
        count: limits.length,
        lower: [-1e4, -1e4, -span, -1e4],
        upper: [1e4, 1e4, span, 1e4],
        c: [0, 0, 0, 1],
      });
      expect(ours?.optimal).toBe(true);
      expect(ours?.value).toBeCloseTo(byLibrary(piece, blank, span), 6);
    }),
    { seed: 20260101, numRuns: 100 },
  );
});
