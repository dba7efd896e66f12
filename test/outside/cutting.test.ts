/*
 * Cutting formulas against published or independently computed values.
 * Sources: the formulas are plane geometry and beam theory as in machining handbooks; 0.80 D for the fluted part from
 * Kops and Vo, CIRP Annals 1990; the printed chip-thinning example (0.5 in cutter, 0.05 in wide: 0.600) and the printed
 * cusp values (0.0104, 0.0063, 0.346 mm) from makers' application notes; all other figures computed by hand from the
 * formula named. Wood's cutting coefficients have no published source and are not checked by value.
 */
import { describe, expect, test } from "vitest";
import { cuspHeight, rowSpacing } from "../../src/cutting/cusp.ts";
import { flat6 } from "../../src/cutting/examples.ts";
import { barBend, chipThinning, cutterBend, engagementAngle, FLUTED_SHARE, feedFrom, rimSpeed } from "../../src/cutting/force.ts";
import { chipShare, passLoads } from "../../src/cutting/loads.ts";
import { effectiveDiameter } from "../../src/cutting/shape.ts";
import { ballProfile, flatProfile } from "../../src/kernel/profile.ts";
import { DEFAULT_FORCE } from "../../src/materials/cutting-force.ts";

describe("rim speed, pi D n / 60000 m/s", () => {
  test.each([
    [6, 18000, 5.655],
    [6, 24000, 7.54],
    [12, 18000, 11.31],
    [12.7, 24000, 15.959],
    [25, 24000, 31.416],
    [50, 18000, 47.124],
  ])("%f mm at %i rpm: %f", (d, n, v) => expect(rimSpeed(d, n)).toBeCloseTo(v, 3));
});

test("feed: two flutes, 0.1 mm a tooth, 18000 rpm are 3600 mm/min", () => expect(feedFrom(0.1, 2, 18000) * 60).toBeCloseTo(3600, 9));

describe("bend of a bar, F L^3 / 3 E I, E = 600 GPa, um, solid and with 0.8 D", () => {
  test.each([
    // biome-ignore lint/suspicious/noApproximativeNumericConstant: a bend in um, not a root
    [0.6, 3, 0.3, 0.707, 1.727],
    [1, 5, 1, 1.415, 3.454],
    [3, 15, 5, 2.358, 5.756],
    [3.175, 15, 5, 1.879, 4.588],
    [6, 25, 20, 2.729, 6.663],
    [6.35, 25.4, 20, 2.281, 5.57],
    [12, 40, 60, 2.096, 5.117],
  ])("%f mm, %f long, %f N", (d, L, F, solid, fluted) => {
    expect(barBend(F, L, d, 600_000) * 1000).toBeCloseTo(solid, 3);
    expect(barBend(F, L, FLUTED_SHARE * d, 600_000) * 1000).toBeCloseTo(fluted, 3);
    // and as a cutter that is all flutes
    const cutter = { ...flat6, diameter: d, shankDiameter: d, fluteLength: L, reach: L, modulus: 600_000 };
    expect(cutterBend(cutter, F) * 1000).toBeCloseTo(fluted, 3);
  });
  test("the fluted part gives 1 / 0.8^4 = 2.44141 times as much", () =>
    expect(barBend(1, 10, FLUTED_SHARE * 4, 1) / barBend(1, 10, 4, 1)).toBeCloseTo(2.44141, 5));
});

describe("chip thinning: thickest chip over feed per tooth, and engagement", () => {
  test.each([
    [12.7, 1.27, 0.6, 36.87],
    [6, 0.6, 0.6, 36.87],
    [6, 1.5, 0.866025, 60],
    [6, 3, 1, 90],
    [10, 0.5, 0.43589, 25.842],
  ])("D %f, width %f: %f", (d, ae, share, degrees) => {
    expect(chipThinning(ae, d)).toBeCloseTo(share, 5);
    expect((engagementAngle(ae, d) * 180) / Math.PI).toBeCloseTo(degrees, 3);
    // the integrated loads see the same
    expect(chipShare(flatProfile(d), ae, 2)).toBeCloseTo(share, 5);
    const loads = passLoads({ profile: flatProfile(d), flutes: 2, step: ae, depth: 2, perTooth: 0.1, rpm: 18000 }, { density: 700 });
    expect(loads.chip).toBeCloseTo(0.1 * share, 6);
    expect((loads.engagement * 180) / Math.PI).toBeCloseTo(degrees, 3);
  });
  test("none beyond half the diameter", () => expect(chipThinning(5, 6)).toBe(1));
});

describe("cusp of a ball, h = R - sqrt(R^2 - s^2 / 4)", () => {
  test.each([
    [6, 0.5, 0.010435],
    [10, 0.5, 0.006254],
    [6, 1, 0.04196],
    [3, 0.25, 0.005217],
    [12.7, 0.635, 0.007942],
    [6.35, 0.3, 0.003545],
  ])("D %f, rows %f apart: %f", (d, s, h) => expect(cuspHeight(d / 2, s)).toBeCloseTo(h, 6));
  test.each([
    [6, 0.005, 0.346266],
    [6, 0.01, 0.48949],
    [6.35, 0.0127, 0.567393],
    [12, 0.02, 0.978979],
  ])("D %f, cusp %f: rows %f apart", (d, h, s) => expect(rowSpacing(d / 2, h)).toBeCloseTo(s, 6));
});

describe("effective diameter of a ball, 2 sqrt(a (D - a))", () => {
  test.each([
    [6, 0.5, 3.31662],
    [6, 1, 4.47214],
    [6, 3, 6],
    [12, 1, 6.63325],
  ])("D %f, %f deep: %f", (d, a, eff) => {
    expect(effectiveDiameter(ballProfile(d), a)).toBeCloseTo(eff, 5);
    // a full slot's thickest chip leans by effective over whole diameter
    expect(chipShare(ballProfile(d), d, a)).toBeCloseTo(eff / d, 5);
  });
});

test("power is kc Q / 60000: with no edge share, mean force times rim speed is the chip's share times the wood removed", () => {
  const model = { ...DEFAULT_FORCE, edge: 0, endGrain: 1 };
  for (const [D, ae, ap, z, fz, n] of [
    [8, 8, 3, 2, 0.08, 18000],
    [6, 1.5, 5, 3, 0.05, 24000],
    [10, 4, 2, 1, 0.1, 12000],
  ]) {
    const Q = ae * ap * z * fz * n; // mm3/min
    const pass = { profile: flatProfile(D), flutes: z, step: ae, depth: ap, perTooth: fz, rpm: n };
    const loads = passLoads(pass, { density: model.density, model });
    expect(loads.power).toBeCloseTo((model.perChip * Q) / 60000, 6);
    // work per volume in N/mm2
    expect(loads.specific * 1000).toBeCloseTo(model.perChip, 6);
  }
});
