import { describe, expect, test } from "vitest";
import {
  fretCents,
  NO_SETBACK,
  rmsSetback,
  type StringModel,
  sigma,
  simpleSetback,
  stretch,
  stringModel,
} from "../../src/materials/intonation.ts";

/*
 * "Classical guitar intonation and compensation", J. Acoust. Soc. Am. 156(1), 683 (2024) and its published sources: X0 650 mm, b 1.0, c 4.0,
 * d 0 or 10 mm, kappa 51, B0 0.00236, string radius 0.43 mm. Printed results have two figures; beside them stand hand evaluations
 * of the same formulas.
 */
const D0: StringModel = { scale: 650, b: 1, c: 4, d: 0, kappa: 51, stiffness: 0.00236 };
const D10: StringModel = { ...D0, d: 10 };

describe("published figures", () => {
  test("B0 from kappa and radius: 0.00236", () => {
    const force = 75;
    const modulus = (51 * force) / (Math.PI * 0.43 * 0.43);
    const model = stringModel({ scale: 650, diameter: 0.86, modulus, tension: force, b: 1, c: 4, d: 0 });
    expect(model.kappa).toBeCloseTo(51, 10);
    expect(Number(model.stiffness.toFixed(5))).toBe(0.00236);
    // By hand with the nominal 650 mm for L0: 0.0023622; the model divides by L0 = sqrt(650^2 + 4^2), 1.9e-5 longer.
    expect(Math.abs((model.stiffness * Math.hypot(650, 4)) / 650 / 0.0023622 - 1)).toBeLessThan(0.00005 / 2.3622);
  });

  test("simple set-back: saddle 1.54 mm within 0.05, nut -0.51 mm within 0.01", () => {
    const s = simpleSetback(D0);
    expect(Math.abs(s.saddle - 1.54)).toBeLessThanOrEqual(0.05);
    expect(Math.abs(s.nut - -0.51)).toBeLessThanOrEqual(0.01);
    expect(s.saddle).toBeCloseTo(1.534, 10);
    expect(Number(s.nut.toFixed(4))).toBe(-0.5123);
  });

  test("RMS set-back: saddle 1.9 mm within 0.05, nut -0.37 mm within 0.01", () => {
    const s = rmsSetback(D0);
    expect(Math.abs(s.saddle - 1.9)).toBeLessThanOrEqual(0.05);
    expect(Math.abs(s.nut - -0.37)).toBeLessThanOrEqual(0.01);
  });

  test("stretch at the first fret, finger 10 mm behind: about 47e-6, with and without set-back", () => {
    for (const s of [NO_SETBACK, rmsSetback(D10)]) expect(Math.abs(stretch(D10, s, 1) - 47e-6)).toBeLessThan(0.5e-6);
    expect(stretch(D10, NO_SETBACK, 1)).toBeCloseTo(46.88e-6, 8);
  });

  test("error of the sounding length alone at fret 12: -0.17 cent", () => {
    expect(Number(fretCents(D0, NO_SETBACK, 12).length.toFixed(2))).toBe(-0.17);
    expect(Number(fretCents(D0, NO_SETBACK, 12).length.toFixed(4))).toBe(-0.1721);
  });

  test("second order of the stiffness at fret 12: about 0.2 cent", () => {
    const b = D0.stiffness;
    const second = (1200 / Math.LN2) * ((1 + Math.PI ** 2) / 2) * b * b * 3;
    expect(Number(second.toFixed(1))).toBe(0.2);
    const first = (1200 / Math.LN2) * b;
    const exact = 1200 * Math.log2((1 + 2 * b + (1 + Math.PI ** 2 / 2) * 4 * b * b) / (1 + b + (1 + Math.PI ** 2 / 2) * b * b));
    expect(exact - first).toBeCloseTo(second, 2);
  });
});

describe("hand evaluations", () => {
  test("sigma 0 to 3 over twelve frets", () => {
    expect([0, 1, 2, 3].map((k) => Number(sigma(k).toFixed(6)))).toEqual([12, 5.817154, 3.863078, 2.955799]);
  });

  test("RMS set-back with and without the quadratic terms, and with the finger 10 mm behind", () => {
    const four = (s: { saddle: number; nut: number }): readonly number[] => [Number(s.saddle.toFixed(4)), Number(s.nut.toFixed(4))];
    expect(four(rmsSetback(D0))).toEqual([1.8714, -0.3743]);
    expect(four(rmsSetback(D0, 12, false))).toEqual([1.8116, -0.3779]);
    expect(four(rmsSetback(D10))).toEqual([1.7841, -0.4745]);
  });

  test.each([
    ["at the fret", D0, "1.73 1.61 1.82 2.12 2.48 2.88 3.32 3.78 4.28 4.81 5.38 5.98"],
    ["10 mm behind", D10, "2.33 1.82 1.95 2.23 2.58 2.98 3.41 3.88 4.38 4.92 5.49 6.10"],
  ])("errors of frets 1 to 12 without compensation, finger %s", (_, model, row) => {
    const got = row.split(" ").map((_, i) => fretCents(model, NO_SETBACK, i + 1).total.toFixed(2));
    expect(got.join(" ")).toBe(row);
  });
});
