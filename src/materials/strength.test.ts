import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { combineMasses, massOfSections, massOfVolume } from "./mass.ts";
import { BENDING_GRAIN, BENDING_GRAIN_BEST, bendingStress, checkBending, grainFactor, hankinson } from "./strength.ts";

const RUNS = { seed: 20260101, numRuns: 200 };
const number = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });

describe("grain angle", () => {
  test("along the grain P, across it Q, the same to either side", () => {
    fc.assert(
      fc.property(number(20, 200), number(0.03, 0.9), number(1.5, 2.5), number(0.01, 1.5), (p, ratio, n, angle) => {
        expect(hankinson(p, p * ratio, 0, n)).toBeCloseTo(p, 9);
        expect(hankinson(p, p * ratio, Math.PI / 2, n)).toBeCloseTo(p * ratio, 9);
        expect(hankinson(p, p * ratio, -angle, n)).toBe(hankinson(p, p * ratio, angle, n));
      }),
      RUNS,
    );
  });

  test("falls as the grain turns, for n = 2 everywhere, for n below 2 while tan a < (P/Q)^(1/(2-n))", () => {
    fc.assert(
      fc.property(number(0.03, 0.9), number(1.5, 2), number(0.02, 1.55), (ratio, n, angle) => {
        fc.pre(n === 2 || Math.tan(angle) < ratio ** (-1 / (2 - n)));
        expect(hankinson(1, ratio, angle, n)).toBeLessThan(hankinson(1, ratio, angle - 0.01, n));
        expect(hankinson(1, ratio, angle, 2)).toBeLessThan(hankinson(1, ratio, angle - 0.01, 2));
      }),
      RUNS,
    );
  });

  test("the cautious constants never promise more than the others", () => {
    for (let deg = 1; deg <= 90; deg++) {
      expect(grainFactor((deg * Math.PI) / 180, BENDING_GRAIN)).toBeLessThan(grainFactor((deg * Math.PI) / 180, BENDING_GRAIN_BEST));
    }
  });
});

describe("bending check", () => {
  test("stress of a rectangle is 6M / b h^2, and use grows with stress and grain angle", () => {
    expect(bendingStress(7560, 11, (55 * 22 ** 3) / 12)).toBeCloseTo((6 * 7560) / (55 * 22 * 22), 12);
    const straight = checkBending(10, 109, 0);
    const short = checkBending(10, 109, (14 * Math.PI) / 180);
    expect(straight.use).toBeCloseTo(10 / (109 * 0.6), 12);
    expect(short.use).toBeGreaterThan(straight.use);
    expect(straight.useWeak).toBeCloseTo(straight.use / 0.68, 12);
    expect(checkBending(20, 109, 0.2).use).toBeCloseTo(2 * checkBending(10, 109, 0.2).use, 12);
    expect(() => checkBending(10, 0, 0)).toThrow("modulus of rupture 0 MPa");
  });
});

describe("mass and balance", () => {
  test("a bar balances in its middle, a wedge at two thirds, and masses are volume times density", () => {
    expect(massOfVolume(1e6, 700)).toBeCloseTo(700, 9);
    expect(massOfSections([100, 300], [1000, 1000], 700)).toEqual({ grams: 140, x: 200 });
    expect(massOfSections([0, 300], [0, 1000], 700).x).toBeCloseTo(200, 12);
    expect(massOfSections([], [], 700)).toEqual({ grams: 0, x: 0 });
    expect(() => massOfSections([1], [], 700)).toThrow("1 places and 0 areas");
  });

  test("a body cut in two weighs and balances the same; moving it moves the balance", () => {
    fc.assert(
      fc.property(number(10, 200), number(10, 200), number(10, 2000), number(10, 2000), number(-300, 300), (h1, h2, a, b, by) => {
        const xs = [0, h1, h1 + h2];
        const areas = [a, (a + b) / 2, b];
        const whole = massOfSections(xs, areas, 705);
        const halves = combineMasses([
          massOfSections(xs.slice(0, 2), areas.slice(0, 2), 705),
          massOfSections(xs.slice(1), areas.slice(1), 705),
        ]);
        expect(halves.grams).toBeCloseTo(whole.grams, 9);
        expect(halves.x).toBeCloseTo(whole.x, 9);
        const moved = massOfSections(
          xs.map((x) => x + by),
          areas,
          705,
        );
        expect(moved.x).toBeCloseTo(whole.x + by, 8);
        expect(moved.grams).toBeCloseTo(whole.grams, 9);
      }),
      RUNS,
    );
    expect(combineMasses([])).toEqual({ grams: 0, x: 0 });
  });
});
