import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { nearestWoodName, ovenDryShrinkage, WOODS, woodByName } from "./woods.ts";

describe("the wood table", () => {
  test("every row names its sources and holds finite positive numbers", () => {
    for (const wood of WOODS) {
      for (const text of [wood.source, wood.coefficients.source, wood.shrinkage?.source ?? "-", wood.elastic?.source ?? "-"]) {
        expect(text, wood.name).not.toBe("");
      }
      const numbers = [
        wood.specificGravity,
        wood.density,
        wood.moe,
        wood.mor,
        wood.hardness,
        wood.coefficients.radial,
        wood.coefficients.tangential,
      ];
      for (const n of numbers) expect(Number.isFinite(n) && n > 0, `${wood.name}: ${n}`).toBe(true);
    }
  });

  test("wood moves more along its rings than across them, and is stiffer across than along them", () => {
    for (const wood of WOODS) {
      expect(wood.coefficients.tangential, wood.name).toBeGreaterThan(wood.coefficients.radial);
      if (wood.shrinkage) expect(wood.shrinkage.tangential, wood.name).toBeGreaterThan(wood.shrinkage.radial);
      if (wood.elastic) expect(wood.elastic.er, wood.name).toBeGreaterThan(wood.elastic.et);
    }
  });

  test("drying strengthens: 12 % values lie above green ones", () => {
    for (const wood of WOODS.filter((w) => w.green)) {
      expect(wood.mor, wood.name).toBeGreaterThan(wood.green!.mor);
      if (wood.green!.moe) expect(wood.moe, wood.name).toBeGreaterThan(wood.green!.moe);
    }
  });

  test("no name or alias stands for two woods, and every one of them finds its wood in any spelling", () => {
    const seen = new Map<string, string>();
    for (const wood of WOODS) {
      for (const name of [wood.name, wood.botanical, ...wood.aliases]) {
        const key = name.toLowerCase().replace(/[^a-z]/g, "");
        expect(seen.get(key) ?? wood.name, name).toBe(wood.name);
        seen.set(key, wood.name);
        expect(woodByName(name.toUpperCase().replaceAll(" ", "  "))).toBe(wood);
      }
    }
  });

  test("an unknown name gives undefined, and the nearest name is a known one", () => {
    expect(woodByName("mapel")).toBeUndefined();
    expect(nearestWoodName("mapel")).toBe("maple");
    expect(nearestWoodName("Rosewod")).toBe("rosewood");
    fc.assert(
      fc.property(fc.string(), (text) => woodByName(nearestWoodName(text)) !== undefined),
      { seed: 20260101, numRuns: 100 },
    );
  });

  test("woods with no table coefficient carry an estimate that says so", () => {
    expect(WOODS.filter((w) => w.coefficients.estimated).map((w) => w.name)).toEqual(["sapele", "indian rosewood", "ebony (african)"]);
    for (const wood of WOODS.filter((w) => w.coefficients.estimated)) expect(wood.coefficients.source).toContain("estimated");
  });

  test("shrinkage measured to 12 % is brought to oven-dry before it is used", () => {
    const s = ovenDryShrinkage({ radial: 5.5, tangential: 6.5, basis: "green to 12 %" });
    expect(s.radial).toBeCloseTo(5.5 / 0.6, 12);
    expect(s.tangential).toBeCloseTo(6.5 / 0.6, 12);
  });
});
