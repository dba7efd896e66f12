import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  centsOfAxisScale,
  centsOfFretError,
  centsOfNutHeight,
  fretCents,
  fretError,
  leastSquaresSetback,
  NO_SETBACK,
  rmsCents,
  rmsSetback,
  type StringModel,
  saddleForAxisScale,
  simpleSetback,
} from "./intonation.ts";
import { centsBetween } from "./strings.ts";

const RUNS = { seed: 20260101, numRuns: 200 };
const number = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });
const anyString: fc.Arbitrary<StringModel> = fc.record({
  scale: number(400, 900),
  b: number(0.2, 1.5),
  c: number(0, 5),
  d: number(0, 10),
  kappa: number(20, 200),
  stiffness: number(0.0002, 0.004),
});

describe("compensation", () => {
  test("the error in one logarithm is the sum of its four parts", () => {
    fc.assert(
      fc.property(anyString, number(-3, 3), number(-3, 3), fc.integer({ min: 1, max: 30 }), (m, saddle, nut, n) => {
        expect(fretError(m, saddle, nut, n)).toBeCloseTo(fretCents(m, { saddle, nut }, n).total, 8);
      }),
      RUNS,
    );
  });

  test("a string with no height, stretch or stiffness plays true", () => {
    const ideal: StringModel = { scale: 648, b: 0, c: 0, d: 0, kappa: 50, stiffness: 0 };
    for (let n = 1; n <= 24; n++) expect(fretCents(ideal, NO_SETBACK, n).total).toBeCloseTo(0, 9);
  });

  test("scaling the whole instrument changes no cents", () => {
    fc.assert(
      fc.property(anyString, number(0.5, 2), fc.integer({ min: 1, max: 22 }), (m, k, n) => {
        const big = { ...m, scale: k * m.scale, b: k * m.b, c: k * m.c, d: k * m.d };
        const s = { saddle: 1.5, nut: -0.4 };
        expect(fretCents(big, { saddle: k * s.saddle, nut: k * s.nut }, n).total).toBeCloseTo(fretCents(m, s, n).total, 8);
      }),
      RUNS,
    );
  });

  test("the set-back that was searched is least: no step away from it does better, nor does either formula", () => {
    fc.assert(
      fc.property(anyString, number(0, 2 * Math.PI), (m, angle) => {
        const best = leastSquaresSetback(m);
        const least = rmsCents(m, best);
        expect(rmsCents(m, { saddle: best.saddle + 0.02 * Math.cos(angle), nut: best.nut + 0.02 * Math.sin(angle) })).toBeGreaterThan(
          least,
        );
        for (const other of [NO_SETBACK, simpleSetback(m), rmsSetback(m)]) expect(rmsCents(m, other)).toBeGreaterThanOrEqual(least - 1e-9);
      }),
      RUNS,
    );
  });

  test("the saddle alone does no better than saddle and nut together, and better than nothing", () => {
    fc.assert(
      fc.property(anyString, (m) => {
        const saddleOnly = leastSquaresSetback(m, 12, true);
        expect(saddleOnly.nut).toBe(0);
        expect(rmsCents(m, saddleOnly)).toBeGreaterThanOrEqual(rmsCents(m, leastSquaresSetback(m)) - 1e-9);
        expect(rmsCents(m, saddleOnly)).toBeLessThanOrEqual(rmsCents(m, NO_SETBACK) + 1e-9);
      }),
      RUNS,
    );
  });

  test("stiffer or higher strings are sharper; a saddle further back is flatter", () => {
    fc.assert(
      fc.property(anyString, fc.integer({ min: 1, max: 22 }), (m, n) => {
        const cents = fretCents(m, NO_SETBACK, n).total;
        expect(fretCents({ ...m, stiffness: 1.1 * m.stiffness }, NO_SETBACK, n).total).toBeGreaterThan(cents);
        expect(fretCents(m, { saddle: 1, nut: 0 }, n).total).toBeLessThan(cents);
        expect(fretCents({ ...m, kappa: 1.1 * m.kappa }, NO_SETBACK, n).total).toBeGreaterThan(cents);
      }),
      RUNS,
    );
  });

  test("a nut slot too high hurts most at the first fret", () => {
    const m: StringModel = { scale: 648, b: 0.5, c: 1.2, d: 5, kappa: 130, stiffness: 0.0012 };
    const cost = [1, 2, 3, 5, 12].map((n) => centsOfNutHeight(m, NO_SETBACK, n, 0.3));
    expect(cost[0]).toBeGreaterThan(1);
    for (let i = 1; i < cost.length; i++) expect(cost[i]).toBeLessThan(cost[i - 1]);
    expect(centsOfNutHeight(m, NO_SETBACK, 3, 0)).toBe(0);
  });
});

describe("position errors", () => {
  test("a fret off by dx costs what the two string lengths say, and higher frets suffer more", () => {
    fc.assert(
      fc.property(number(400, 900), fc.integer({ min: 0, max: 23 }), number(-1, 1), (scale, n, dx) => {
        const left = scale / 2 ** (n / 12);
        expect(centsOfFretError(scale, n, dx)).toBeCloseTo(centsBetween(1 / left, 1 / (left - dx)), 8);
        expect(Math.abs(centsOfFretError(scale, n + 1, dx))).toBeGreaterThanOrEqual(Math.abs(centsOfFretError(scale, n, dx)));
      }),
      RUNS,
    );
    // 1 mm at the octave of 648 mm: 1200 log2(324/323).
    expect(centsOfFretError(648, 12, 1)).toBeCloseTo(5.3516, 3);
    expect(() => centsOfFretError(648, 12, 400)).toThrow("400 mm");
  });

  test("an axis scale error leaves the nut true and grows along the neck; moving the saddle in proportion cures it", () => {
    expect(centsOfAxisScale(648, 0, 0.2)).toBe(0);
    for (let n = 1; n <= 24; n++) {
      expect(centsOfAxisScale(648, n, 0.2)).toBeGreaterThan(centsOfAxisScale(648, n - 1, 0.2));
      const scale = 648 + saddleForAxisScale(648, 0.2);
      const fret = 648 * (1 - 2 ** (-n / 12)) * 1.002;
      expect(centsBetween(2 ** (n / 12), scale / (scale - fret))).toBeCloseTo(0, 9);
    }
  });
});
