import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  circlePolygon,
  closestOnPolygon,
  insidePolygon,
  isCounterClockwise,
  type Polygon,
  pointAlongPolygon,
  polygonArea,
  polygonBounds,
  polygonLength,
  reversedPolygon,
  signedDistance,
  simplifyPolygon,
  startingAt,
} from "./polygon.ts";

const SEED = { seed: 20260101, numRuns: 200 };
const square = Float64Array.from([0, 0, 10, 0, 10, 10, 0, 10]);

/** Star-shaped about the origin, so never crossing itself. */
const star: fc.Arbitrary<Polygon> = fc.array(fc.double({ min: 2, max: 40, noNaN: true }), { minLength: 5, maxLength: 40 }).map((radii) => {
  const out = new Float64Array(2 * radii.length);
  radii.forEach((r, k) => {
    out[2 * k] = r * Math.cos((2 * Math.PI * k) / radii.length);
    out[2 * k + 1] = r * Math.sin((2 * Math.PI * k) / radii.length);
  });
  return out;
});

describe("polygons", () => {
  test("area, direction, length, bounds", () => {
    expect(polygonArea(square)).toBe(100);
    expect(polygonArea(reversedPolygon(square))).toBe(-100);
    expect(isCounterClockwise(square)).toBe(true);
    expect(polygonLength(square)).toBe(40);
    expect(polygonBounds(square)).toEqual({ xMin: 0, yMin: 0, xMax: 10, yMax: 10 });
  });

  test("area does not depend on where the polygon lies", () => {
    fc.assert(
      fc.property(star, (p) => {
        const far = p.map((v) => v + 5000);
        expect(polygonArea(far)).toBeCloseTo(polygonArea(p), 7);
      }),
      SEED,
    );
  });

  test("signed distance has the right sign and is the distance to the nearest edge", () => {
    fc.assert(
      fc.property(star, fc.double({ min: -50, max: 50, noNaN: true }), fc.double({ min: -50, max: 50, noNaN: true }), (p, x, y) => {
        const d = signedDistance([p], x, y);
        expect(Math.abs(d)).toBeCloseTo(closestOnPolygon(p, x, y).distance, 9);
        fc.pre(Math.abs(d) > 1e-6);
        // star-shaped: inside when the ray from the origin reaches the point before the edge
        const n = p.length / 2;
        const a = Math.atan2(y, x);
        const k = Math.floor(((a + 2 * Math.PI) % (2 * Math.PI)) / ((2 * Math.PI) / n));
        const [ax, ay] = [p[(2 * k) % p.length], p[(2 * k + 1) % p.length]];
        const [bx, by] = [p[(2 * k + 2) % p.length], p[(2 * k + 3) % p.length]];
        const left = (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0;
        expect(d < 0).toBe(left);
        expect(insidePolygon(p, x, y)).toBe(left);
      }),
      SEED,
    );
  });

  test("simplifying keeps every dropped vertex within the tolerance, whatever vertex comes first", () => {
    fc.assert(
      fc.property(star, fc.nat(100), (p, turn) => {
        const few = simplifyPolygon(p, 1.5);
        expect(few.length).toBeLessThanOrEqual(p.length);
        for (let k = 0; k < p.length; k += 2) expect(Math.abs(signedDistance([few], p[k], p[k + 1]))).toBeLessThanOrEqual(1.5 + 1e-9);
        const shift = 2 * (turn % (p.length / 2));
        const turned = Float64Array.from([...p.slice(shift), ...p.slice(0, shift)]);
        expect(polygonArea(simplifyPolygon(turned, 1.5))).toBeCloseTo(polygonArea(few), 9);
      }),
      SEED,
    );
  });

  test("places along the polygon come back to themselves", () => {
    fc.assert(
      fc.property(star, fc.double({ min: 0, max: 1, noNaN: true }), (p, share) => {
        const place = pointAlongPolygon(p, share * polygonLength(p));
        const back = closestOnPolygon(p, place.x, place.y);
        expect(back.distance).toBeLessThan(1e-9);
        const turned = startingAt(p, place);
        expect(Math.hypot(turned[0] - place.x, turned[1] - place.y)).toBeLessThan(1e-9);
        expect(polygonLength(turned)).toBeCloseTo(polygonLength(p), 7);
        expect(polygonArea(turned)).toBeCloseTo(polygonArea(p), 6);
      }),
      SEED,
    );
  });

  test("a circle's polygon keeps within its tolerance", () => {
    for (const r of [0.3, 4, 200]) {
      const c = circlePolygon(1, 2, r, 0.0005);
      const n = c.length / 2;
      expect(r - r * Math.cos(Math.PI / n)).toBeLessThanOrEqual(0.0005 + 1e-12);
      expect(polygonArea(c)).toBeGreaterThan(0);
    }
  });
});
