import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  chordFor,
  closestOnContour,
  closestOnCurve,
  contourBounds,
  contourLength,
  curvatureOn,
  curveBounds,
  curveLength,
  endOf,
  flatten,
  flattenCurve,
  pointOn,
  startOf,
  tangentOn,
} from "./contour.ts";
import type { Contour, Curve, Point } from "./curve.ts";
import { distanceToSegment, polygonArea, polygonLength } from "./polygon.ts";

const SEED = { seed: 20260101, numRuns: 200 };
const coordinate = fc.double({ min: -300, max: 300, noNaN: true });
const point: fc.Arbitrary<Point> = fc.record({ x: coordinate, y: coordinate });
const curve: fc.Arbitrary<Curve> = fc.oneof(
  fc.record({ kind: fc.constant("line" as const), a: point, b: point }),
  fc.record({
    kind: fc.constant("arc" as const),
    centre: point,
    radius: fc.double({ min: 0.2, max: 400, noNaN: true }),
    start: fc.double({ min: -4, max: 4, noNaN: true }),
    sweep: fc.double({ min: -6, max: 6, noNaN: true }),
  }),
  fc.record({ kind: fc.constant("cubic" as const), p0: point, p1: point, p2: point, p3: point }),
);

/** Distance from a point to an open polyline. */
function toPolyline(p: Float64Array, x: number, y: number): number {
  let best = Infinity;
  for (let k = 0; k + 3 < p.length; k += 2) best = Math.min(best, distanceToSegment(x, y, p[k], p[k + 1], p[k + 2], p[k + 3]));
  return best;
}

/** A stadium with cubic quarter bends: lines, arcs and cubics in one contour. */
const stadium: Contour = {
  name: "stadium",
  curves: [
    { kind: "line", a: { x: 0, y: -10 }, b: { x: 100, y: -10 } },
    { kind: "arc", centre: { x: 100, y: 0 }, radius: 10, start: -Math.PI / 2, sweep: Math.PI },
    { kind: "line", a: { x: 100, y: 10 }, b: { x: 0, y: 10 } },
    { kind: "cubic", p0: { x: 0, y: 10 }, p1: { x: -14, y: 10 }, p2: { x: -14, y: -10 }, p3: { x: 0, y: -10 } },
  ],
};

describe("curves", () => {
  test("flattening keeps within the tolerance, both ways", () => {
    fc.assert(
      fc.property(curve, fc.constantFrom(0.1, 0.01, 0.001), (c, tolerance) => {
        const p = flattenCurve(c, tolerance);
        for (let k = 0; k <= 400; k++) {
          const q = pointOn(c, k / 400);
          expect(toPolyline(p, q.x, q.y)).toBeLessThanOrEqual(tolerance * (1 + 1e-6) + 1e-9);
        }
        for (let k = 0; k + 3 < p.length; k += 2) {
          const mid = closestOnCurve(c, (p[k] + p[k + 2]) / 2, (p[k + 1] + p[k + 3]) / 2);
          expect(mid.distance).toBeLessThanOrEqual(tolerance * (1 + 1e-6) + 1e-9);
        }
      }),
      { ...SEED, numRuns: 40 },
    );
  });

  test("tangent and curvature agree with differences", () => {
    fc.assert(
      fc.property(curve, fc.double({ min: 0.05, max: 0.95, noNaN: true }), (c, t) => {
        const h = 1e-5;
        const a = pointOn(c, t - h);
        const b = pointOn(c, t + h);
        const step = Math.hypot(b.x - a.x, b.y - a.y);
        fc.pre(step > 1e-3);
        const u = tangentOn(c, t);
        expect(u.x).toBeCloseTo((b.x - a.x) / step, 4);
        expect(u.y).toBeCloseTo((b.y - a.y) / step, 4);
        const before = tangentOn(c, t - h);
        const after = tangentOn(c, t + h);
        const turn = Math.atan2(before.x * after.y - before.y * after.x, before.x * after.x + before.y * after.y);
        expect(turn / step).toBeCloseTo(curvatureOn(c, t), 2);
      }),
      SEED,
    );
  });

  test("length agrees with a fine polyline, bounds hold every point and are touched", () => {
    fc.assert(
      fc.property(curve, (c) => {
        const box = curveBounds(c);
        let length = 0;
        let [xMin, xMax, yMin, yMax] = [Infinity, -Infinity, Infinity, -Infinity];
        let last = startOf(c);
        const n = 4000;
        for (let k = 0; k <= n; k++) {
          const p = pointOn(c, k / n);
          length += Math.hypot(p.x - last.x, p.y - last.y);
          last = p;
          xMin = Math.min(xMin, p.x);
          xMax = Math.max(xMax, p.x);
          yMin = Math.min(yMin, p.y);
          yMax = Math.max(yMax, p.y);
        }
        expect(curveLength(c)).toBeGreaterThanOrEqual(length - 1e-6 * (1 + length));
        expect(curveLength(c)).toBeLessThanOrEqual(length * (1 + 1e-5) + 1e-3);
        for (const [exact, sampled] of [
          [box.xMin, xMin],
          [box.yMin, yMin],
          [-box.xMax, -xMax],
          [-box.yMax, -yMax],
        ]) {
          expect(exact).toBeLessThanOrEqual(sampled + 1e-9);
          expect(exact).toBeGreaterThan(sampled - 0.01);
        }
      }),
      { ...SEED, numRuns: 40 },
    );
  });

  test("the nearest place is not farther than any sampled one", () => {
    fc.assert(
      fc.property(curve, point, (c, p) => {
        const hit = closestOnCurve(c, p.x, p.y);
        const on = pointOn(c, hit.t);
        expect(Math.hypot(on.x - p.x, on.y - p.y)).toBeCloseTo(hit.distance, 9);
        for (let k = 0; k <= 64; k++) {
          const q = pointOn(c, k / 64);
          expect(hit.distance).toBeLessThanOrEqual(Math.hypot(q.x - p.x, q.y - p.y) + 1e-9);
        }
      }),
      SEED,
    );
  });
});

describe("contours", () => {
  test("a chord of L = 2 sqrt(2 R e - e^2) stands e inside its circle", () => {
    for (const [R, e] of [
      [10, 0.001],
      [241.3, 0.005],
      [0.3, 0.0005],
    ]) {
      const L = chordFor(R, e);
      expect(R - Math.sqrt(R * R - (L * L) / 4)).toBeCloseTo(e, 12);
    }
  });

  test("an arc's polygon uses no more chords than the formula asks, and none is too long", () => {
    const arc: Curve = { kind: "arc", centre: { x: 3, y: 4 }, radius: 50, start: 0.3, sweep: 2.2 };
    const p = flattenCurve(arc, 0.001);
    const L = chordFor(50, 0.001);
    expect(p.length / 2 - 1).toBe(Math.ceil(2.2 / (2 * Math.asin(L / 100))));
    for (let k = 0; k + 3 < p.length; k += 2) expect(Math.hypot(p[k + 2] - p[k], p[k + 3] - p[k + 1])).toBeLessThanOrEqual(L + 1e-9);
  });

  test("joints keep their exact place and the first vertex is not repeated", () => {
    const p = flatten(stadium, 0.001);
    expect([p[0], p[1]]).toEqual([0, -10]);
    expect([p[2], p[3]]).toEqual([100, -10]);
    const n = p.length;
    expect(Math.hypot(p[n - 2] - p[0], p[n - 1] - p[1])).toBeGreaterThan(0.01);
    for (const c of stadium.curves) {
      const e = endOf(c);
      let best = Infinity;
      for (let k = 0; k < n; k += 2) best = Math.min(best, Math.hypot(p[k] - e.x, p[k + 1] - e.y));
      expect(best).toBeLessThan(1e-9);
    }
  });

  test("length, area and bounds of the stadium", () => {
    const p = flatten(stadium, 0.0001);
    expect(polygonLength(p)).toBeCloseTo(contourLength(stadium), 2);
    // rectangle + half disc + the cubic's own area, 3/5 of its handles' trapezium: exact by Green's theorem
    const cubicArea = 0.6 * 14 * 20 * 1.0;
    expect(polygonArea(p)).toBeCloseTo(2000 + 50 * Math.PI + cubicArea, 1);
    const box = contourBounds(stadium);
    expect(box.xMax).toBeCloseTo(110, 12);
    expect(box.xMin).toBeCloseTo(-10.5, 12);
  });

  test("nearest place on a contour", () => {
    const hit = closestOnContour(stadium, 50, -30);
    expect(hit).toMatchObject({ curve: 0, t: 0.5, x: 50, y: -10, distance: 20 });
  });
});
