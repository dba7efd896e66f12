import { expect, test } from "vitest";
import { CONFLICTS } from "./conflicts.ts";
import { maximumMoisture } from "./density.ts";
import { limitsOf } from "./fits.ts";
import { emcGlass, emcHailwoodHorrobin } from "./moisture.ts";
import { MUSIC_WIRE } from "./strings.ts";
import { coefficientFromShrinkage, woodByName } from "./woods.ts";

test("each conflict keeps two readings or more, each with its source, and says what is used", () => {
  expect(new Set(CONFLICTS.map((c) => c.about)).size).toBe(CONFLICTS.length);
  for (const c of CONFLICTS) {
    expect(new Set(c.readings.map((r) => r.value)).size, c.about).toBe(c.readings.length);
    for (const text of [c.used, ...c.readings.map((r) => r.source)]) expect(text.length, c.about).toBeGreaterThan(3);
  }
});

test("what the list says is used is what the tables and functions hold", () => {
  expect(woodByName("ash")!.mor).toBe(103);
  expect(woodByName("sapele")!.mor).toBe(111);
  expect(woodByName("ebony")!.shrinkage!.basis).toBe("green to 12 %");
  expect(emcHailwoodHorrobin((110 - 32) / 1.8, 20).toFixed(1)).toBe("4.0");
  expect(emcHailwoodHorrobin(20, 50).toFixed(2)).toBe("9.27");
  expect(emcGlass(20, 50).toFixed(2)).toBe("9.47");
  expect(limitsOf(10, "h6")!.lower).toBe(-9);
  expect(MUSIC_WIRE).toMatchObject({ density: 7800, modulus: 190_000 });
  expect([maximumMoisture(0.3).toFixed(1), maximumMoisture(0.9).toFixed(1)]).toEqual(["268.4", "46.2"]);
  for (const name of ["red oak", "hickory", "mahogany", "khaya"]) {
    const { coefficients, shrinkage } = woodByName(name)!;
    expect(coefficients.tangential).toBeGreaterThan(coefficientFromShrinkage(shrinkage!.tangential));
    expect(coefficients.radial).toBeGreaterThan(coefficientFromShrinkage(shrinkage!.radial));
  }
});
