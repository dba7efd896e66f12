import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { differenceOf, intersectionOf, offsetPolygon, offsetSeries, unionOf } from "./offset.ts";
import { circlePolygon, polygonArea, regionArea, signedDistance } from "./polygon.ts";

const square = Float64Array.from([0, 0, 10, 0, 10, 10, 0, 10]);
const hole = Float64Array.from([3, 3, 3, 7, 7, 7, 7, 3]);

describe("offsets", () => {
  test("a square grows by its sides and four quarter discs, and shrinks to a smaller square", () => {
    const [grown] = offsetPolygon([square], 2);
    expect(polygonArea(grown)).toBeGreaterThan(0);
    expect(polygonArea(grown)).toBeCloseTo(100 + 4 * 20 + Math.PI * 4, 2);
    expect(polygonArea(offsetPolygon([square], -2)[0])).toBeCloseTo(36, 9);
    expect(offsetPolygon([square], -5.1)).toEqual([]);
  });

  test("holes grow when the region shrinks", () => {
    const rings = offsetPolygon([square, hole], -1);
    expect(rings).toHaveLength(2);
    expect(regionArea(rings)).toBeCloseTo(64 - (16 + 16 + Math.PI), 2);
  });

  test("every vertex of an offset stands at the distance asked, within 2e-5 mm", () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 15, max: 40, noNaN: true }), { minLength: 6, maxLength: 24 }),
        fc.double({ min: -4, max: 6, noNaN: true }).filter((d) => Math.abs(d) > 0.01),
        (radii, delta) => {
          const p = Float64Array.from(
            radii.flatMap((r, k) => [r * Math.cos((2 * Math.PI * k) / radii.length), r * Math.sin((2 * Math.PI * k) / radii.length)]),
          );
          for (const ring of offsetPolygon([p], delta)) {
            for (let k = 0; k < ring.length; k += 2) {
              const d = signedDistance([p], ring[k], ring[k + 1]);
              expect(Math.abs(d - delta)).toBeLessThanOrEqual(2e-5 + 0.0005);
              const n = (k + 2) % ring.length;
              const mid = signedDistance([p], (ring[k] + ring[n]) / 2, (ring[k + 1] + ring[n + 1]) / 2);
              expect(Math.abs(mid - delta)).toBeLessThanOrEqual(0.0006);
            }
          }
        },
      ),
      { seed: 20260101, numRuns: 60 },
    );
  });

  test("a series keeps its distance over forty rings", () => {
    const disc = circlePolygon(0, 0, 60, 0.0005);
    const series = offsetSeries([disc], -1.25, 40);
    expect(series).toHaveLength(40);
    series.forEach((rings, k) => {
      for (let v = 0; v < rings[0].length; v += 2) {
        expect(Math.abs(Math.hypot(rings[0][v], rings[0][v + 1]) - (60 - 1.25 * (k + 1)))).toBeLessThan(0.012);
      }
    });
    expect(offsetSeries([disc], -25, 40)).toHaveLength(2);
  });

  test("set operations", () => {
    const shifted = square.map((v) => v + 5);
    expect(regionArea(unionOf([square], [shifted]))).toBeCloseTo(175, 9);
    expect(regionArea(intersectionOf([square], [shifted]))).toBeCloseTo(25, 9);
    expect(regionArea(differenceOf([square], [shifted]))).toBeCloseTo(75, 9);
  });

  test("what is not a number is refused by its value", () => {
    expect(() => offsetPolygon([Float64Array.from([0, 0, 1, 0, Number.NaN, 1])], 1)).toThrow("NaN");
    expect(() => offsetPolygon([square], Infinity)).toThrow("Infinity");
  });
});
