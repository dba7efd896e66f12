import fc from "fast-check";
import type { PlacementProblem } from "../src/holding/placement/types.ts";
import { insidePolygon, type Polygon, signedDistance } from "../src/kernel/polygon.ts";
import { between } from "./machine.ts";

/* Random placements and the slow, plain search that the solver is measured against: grid, then ever finer steps around the best. */

/** A polygon around (x, y), star-shaped: always simple. */
const star = (x: number, y: number, rx: number, ry: number, radii: readonly number[]): Polygon =>
  Float64Array.from(
    radii.flatMap((r, k) => {
      const a = (2 * Math.PI * k) / radii.length;
      return [x + rx * r * Math.cos(a), y + ry * r * Math.sin(a)];
    }),
  );

const radii = (low: number): fc.Arbitrary<number[]> => fc.array(between(low, 1), { minLength: 5, maxLength: 11 });

const problems: fc.Arbitrary<PlacementProblem> = fc
  .record({
    blank: radii(0.7),
    piece: radii(0.55),
    pieceX: between(25, 55),
    pieceY: between(6, 18),
    knots: fc.array(
      fc.record({
        x: between(-70, 70),
        y: between(-30, 30),
        r: between(2, 8),
        radii: radii(0.6),
      }),
      { maxLength: 3 },
    ),
    need: between(0, 2),
    turn: between(0, 0.4),
  })
  .map(({ blank, piece, pieceX, pieceY, knots, need, turn }) => ({
    pieces: [{ name: "piece", polygon: star(0, 0, pieceX, pieceY, piece), need }],
    within: [{ name: "blank", polygon: star(0, 0, 90, 40, blank) }],
    without: knots.map((k, i) => ({ name: `knot ${i}`, polygon: star(k.x, k.y, k.r, k.r, k.radii) })),
    rotation: { min: -turn, max: turn },
  }));

export const randomProblem = (k: number): PlacementProblem => fc.sample(problems, { seed: 20260101 + k, numRuns: 1 })[0];

const segmentsCross = (a: Polygon, b: Polygon): boolean => {
  const side = (ax: number, ay: number, bx: number, by: number, cx: number, cy: number): number =>
    (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
  for (let k = 0, l = a.length - 2; k < a.length; l = k, k += 2)
    for (let m = 0, n = b.length - 2; m < b.length; n = m, m += 2) {
      const s = side(a[l], a[l + 1], a[k], a[k + 1], b[n], b[n + 1]) > 0;
      const t = side(a[l], a[l + 1], a[k], a[k + 1], b[m], b[m + 1]) > 0;
      const u = side(b[n], b[n + 1], b[m], b[m + 1], a[l], a[l + 1]) > 0;
      const v = side(b[n], b[n + 1], b[m], b[m + 1], a[k], a[k + 1]) > 0;
      if (s !== t && u !== v) return true;
    }
  return false;
};

/** Margin of a placed polygon straight from its definition; -1 when it crosses, leaves the blank, or covers a knot. */
function plainMargin(problem: PlacementProblem, angle: number, x: number, y: number): number {
  const { polygon, need } = problem.pieces[0];
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const p = new Float64Array(polygon.length);
  for (let k = 0; k < p.length; k += 2) {
    p[k] = c * polygon[k] - s * polygon[k + 1] + x;
    p[k + 1] = s * polygon[k] + c * polygon[k + 1] + y;
  }
  let best = Number.POSITIVE_INFINITY;
  for (const [regions, inside] of [
    [problem.within, true],
    [problem.without, false],
  ] as const)
    for (const r of regions) {
      const q = r.polygon;
      if (insidePolygon(q, p[0], p[1]) !== inside || (!inside && insidePolygon(p, q[0], q[1])) || segmentsCross(p, q)) return -1;
      for (let k = 0; k < p.length; k += 2) best = Math.min(best, Math.abs(signedDistance([q], p[k], p[k + 1])));
      for (let k = 0; k < q.length; k += 2) best = Math.min(best, Math.abs(signedDistance([p], q[k], q[k + 1])));
    }
  return best - need;
}

/** The best margin that a grid of n x n shifts and some angles, refined, comes to. */
export function bruteForce(problem: PlacementProblem, n: number): number {
  const { min, max } = problem.rotation;
  const found: { m: number; a: number; x: number; y: number }[] = [];
  for (let i = 0; i <= 6; i++)
    for (let j = 0; j < n; j++)
      for (let k = 0; k < n / 2; k++) {
        const a = min + ((max - min) * i) / 6;
        const x = -65 + (130 * j) / (n - 1);
        const y = -30 + (60 * k) / (n / 2 - 1);
        const m = plainMargin(problem, a, x, y);
        if (m > -1) found.push({ m, a, x, y });
      }
  found.sort((p, q) => q.m - p.m);
  let best = -1;
  for (const start of found.slice(0, 3)) {
    let at = start;
    for (let step = 1; step > 1e-5; ) {
      let better = at;
      for (const dx of [-1, 0, 1])
        for (const dy of [-1, 0, 1])
          for (const da of [-1, 0, 1]) {
            const a = Math.min(max, Math.max(min, at.a + (da * step) / 50));
            const m = plainMargin(problem, a, at.x + dx * step, at.y + dy * step);
            if (m > better.m) better = { m, a, x: at.x + dx * step, y: at.y + dy * step };
          }
      if (better === at) step /= 2;
      at = better;
    }
    best = Math.max(best, at.m);
  }
  return best;
}
