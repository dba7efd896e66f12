import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  type CutState,
  cutForce,
  cutPower,
  DEFAULT_FORCE,
  edgeForce,
  FORCE_FIGURES,
  fitForce,
  forceModel,
  forceSays,
  specificForce,
} from "./cutting-force.ts";

/* Laws that hold whatever the coefficients are. */
const RUNS = { seed: 20260101, numRuns: 300 };
const number = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });
const anyModel = fc.record({
  edge: number(0.5, 20),
  perChip: number(1, 60),
  density: fc.constant(700),
  densityPower: number(0.5, 1.5),
  endGrain: number(1.1, 3),
  perMoisture: number(0.001, 0.03),
  dull: number(1.1, 3),
  normal: number(0, 0.8),
  source: fc.constant("test"),
  memory: fc.constant([] as const),
});
const anyCut: fc.Arbitrary<CutState> = fc.record({
  density: number(350, 1150),
  chip: number(0.005, 0.5),
  moisture: number(4, 29),
  grainAngle: number(0.05, 1.5),
});

describe("force of an edge", () => {
  test("thicker chips: more force, less of it per section", () => {
    fc.assert(
      fc.property(anyModel, anyCut, number(1.01, 4), (model, cut, more) => {
        const thick = { ...cut, chip: cut.chip * more };
        expect(edgeForce(thick, model)).toBeGreaterThan(edgeForce(cut, model));
        expect(specificForce(thick, model)).toBeLessThan(specificForce(cut, model));
        expect(edgeForce(cut, model)).toBeGreaterThan(0);
      }),
      RUNS,
    );
  });

  test("denser, drier, duller and more into end grain: more force", () => {
    fc.assert(
      fc.property(anyModel, anyCut, (model, cut) => {
        const force = edgeForce(cut, model);
        expect(edgeForce({ ...cut, density: cut.density * 1.1 }, model)).toBeGreaterThan(force);
        expect(edgeForce({ ...cut, moisture: cut.moisture! + 1 }, model)).toBeLessThan(force);
        expect(edgeForce({ ...cut, dull: true }, model)).toBeGreaterThan(force);
        expect(edgeForce({ ...cut, grainAngle: cut.grainAngle! + 0.05 }, model)).toBeGreaterThan(force);
        expect(edgeForce({ ...cut, grainAngle: -cut.grainAngle! }, model)).toBe(force);
      }),
      RUNS,
    );
  });

  test("force goes with the width in the wood, and power is force times path per time", () => {
    const cut = { density: 700, chip: 0.1 };
    expect(cutForce(cut, 8)).toBeCloseTo(8 * edgeForce(cut), 12);
    // One edge 8 mm wide, chip 0.1 mm, moving 5 m/s: F v against kc Q.
    const removal = 8 * 0.1 * 5000 * 60;
    expect(cutPower(specificForce(cut), removal)).toBeCloseTo(cutForce(cut, 8) * 5, 9);
  });

  test("the default is the one it says: kc 100 at 0.05 mm, 25 at 0.3 mm, and its source is memory", () => {
    expect(specificForce({ density: 700, chip: 0.05 })).toBeCloseTo(100, 9);
    expect(specificForce({ density: 700, chip: 0.3 })).toBeCloseTo(25, 9);
    expect(DEFAULT_FORCE.source).toContain("from memory");
    expect(forceSays(DEFAULT_FORCE)).toContain("all coefficients are from memory");
  });

  test("what a shop gives replaces the default; what it leaves out stays labelled as from memory", () => {
    const model = forceModel({ edge: 6, perChip: 14 }, "own trial cuts, 2 March");
    expect(specificForce({ density: 700, chip: 0.1 }, model)).toBeCloseTo(60 + 14, 9);
    expect(model.memory).toEqual(["density", "densityPower", "endGrain", "perMoisture", "dull", "normal"]);
    expect(forceSays(model)).toContain("own trial cuts");
    expect(forceSays(model)).toContain("From memory: density");
    const all = forceModel(Object.fromEntries(FORCE_FIGURES.map((k) => [k, 1])), "a table");
    expect(forceSays(all)).toBe("Cutting forces: coefficients from a table.");
  });

  test("readings give their own line back; too few or senseless ones are refused", () => {
    fc.assert(
      fc.property(number(0.5, 20), number(1, 60), (a, b) => {
        const readings = [0.02, 0.05, 0.1, 0.2].map((chip) => ({ chip, force: a + b * chip }));
        const model = fitForce(readings, 640, "own readings");
        expect(model.edge).toBeCloseTo(a, 9);
        expect(model.perChip).toBeCloseTo(b, 8);
        expect(edgeForce({ density: 640, chip: 0.1 }, model)).toBeCloseTo(a + 0.1 * b, 9);
      }),
      RUNS,
    );
    expect(() => fitForce([{ chip: 0.1, force: 5 }], 640, "one")).toThrow("1 force readings");
    expect(() =>
      fitForce(
        [
          { chip: 0.1, force: 9 },
          { chip: 0.2, force: 5 },
        ],
        640,
        "falling",
      ),
    ).toThrow("measure again");
    expect(() => edgeForce({ density: 640, chip: -1 })).toThrow("chip -1 mm");
  });
});
