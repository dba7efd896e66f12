import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { basicSpecificGravity, densityAt, shrinkageAt, specificGravityAt } from "./density.ts";
import {
  dimensionalChangeFromShrinkage,
  emcGlass,
  emcHailwoodHorrobin,
  equilibriumMoisture,
  fretEndsProud,
  mixRings,
  movement,
  shrinkageFromCoefficient,
  strengthAtMoisture,
} from "./moisture.ts";
import { coefficientFromShrinkage, WOODS, woodByName } from "./woods.ts";

const RUNS = { seed: 20260101, numRuns: 300 };
const number = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });
const anyWood = fc.constantFrom(...WOODS);

describe("equilibrium moisture content", () => {
  test("rises with humidity, and is 0 in dry air", () => {
    fc.assert(
      fc.property(number(-10, 60), number(0, 97), number(0.01, 2), (t, h, more) => {
        for (const emc of [emcHailwoodHorrobin, emcGlass]) {
          expect(emc(t, h + more)).toBeGreaterThan(emc(t, h));
          expect(emc(t, 0)).toBe(0);
        }
      }),
      RUNS,
    );
  });

  test("the two equations stay within 1.6 % MC of each other over the air of workshops and homes, 0 to 40 C and 20 to 70 %", () => {
    fc.assert(
      fc.property(number(0, 40), number(20, 70), (t, h) => Math.abs(emcHailwoodHorrobin(t, h) - emcGlass(t, h)) < 1.6),
      RUNS,
    );
  });

  test("says which equation it used", () => {
    expect(equilibriumMoisture(20, 50)).toEqual({ moisture: emcHailwoodHorrobin(20, 50), equation: "4-5" });
    expect(equilibriumMoisture(20, 50, "4-6")).toEqual({ moisture: emcGlass(20, 50), equation: "4-6" });
  });

  test("refuses air that cannot be, with the value and the limit", () => {
    expect(() => emcHailwoodHorrobin(20, 100)).toThrow("relative humidity 100 %: must be at least 0 and below 100 %");
    expect(() => emcGlass(20, Number.NaN)).toThrow("NaN");
    expect(() => emcGlass(400, 50)).toThrow("temperature 400 C");
  });
});

describe("movement", () => {
  test("there and back is nothing, and grows with size and with the step", () => {
    fc.assert(
      fc.property(anyWood, number(10, 400), number(0, Math.PI / 2), number(0, 15), number(15, 30), (wood, size, angle, dry, wet) => {
        const out = movement(wood.coefficients, size, angle, dry, wet);
        expect(out.change).toBeGreaterThan(0);
        expect(movement(wood.coefficients, 2 * size, angle, dry, wet).change).toBeCloseTo(2 * out.change, 9);
        for (const ringAngle of [0, Math.PI / 2]) {
          const up = movement(wood.coefficients, size, ringAngle, dry, wet).change;
          expect(movement(wood.coefficients, size + up, ringAngle, wet, dry).change).toBeCloseTo(-up, 9);
        }
      }),
      RUNS,
    );
  });

  test("Eq 13-2 and 13-3 agree where the coefficients belong: within 4 % of each other between 6 and 14 %", () => {
    fc.assert(
      fc.property(anyWood, number(6, 10), number(10, 14), (wood, from, to) => {
        const c = wood.coefficients.tangential;
        const small = 100 * c * (to - from);
        const exact = dimensionalChangeFromShrinkage(100, shrinkageFromCoefficient(c), from, to);
        expect(Math.abs(exact / small - 1)).toBeLessThan(0.04);
      }),
      RUNS,
    );
  });

  test("uses Eq 13-2 inside 6 to 14 % for table values only", () => {
    const maple = woodByName("maple")!.coefficients;
    const ebony = woodByName("ebony")!.coefficients;
    expect(movement(maple, 60, 0, 6, 14).equation).toBe("13-2");
    expect(movement(maple, 60, 0, 5.9, 10).equation).toBe("13-3");
    expect(movement(ebony, 60, 0, 7, 10)).toMatchObject({ equation: "13-3", estimated: true });
    expect(() => movement(maple, 60, 0, 8, 31)).toThrow("31 %");
  });

  test("rings at an angle lie between the two, half way at 45 degrees, and mirror about the grain", () => {
    fc.assert(
      fc.property(number(0, Math.PI / 2), (a) => {
        const mixed = mixRings(1, 2, a);
        expect(mixed).toBeGreaterThanOrEqual(1);
        expect(mixed).toBeLessThanOrEqual(2);
        expect(mixRings(1, 2, -a)).toBe(mixed);
        // Two directions at right angles share the same total: the trace of plane strain.
        expect(mixed + mixRings(1, 2, a + Math.PI / 2)).toBeCloseTo(3, 12);
      }),
      RUNS,
    );
    expect(mixRings(1, 2, Math.PI / 4)).toBeCloseTo(1.5, 12);
  });

  test("coefficient and shrinkage undo each other", () => {
    fc.assert(
      fc.property(number(0.5, 15), (s0) => Math.abs(shrinkageFromCoefficient(coefficientFromShrinkage(s0)) - s0) < 1e-10),
      RUNS,
    );
  });

  test("fret ends stand proud by half of what the board loses, never when it grows", () => {
    const ebony = woodByName("ebony")!.coefficients;
    expect(fretEndsProud(ebony, 56, 0, 10, 6)).toBeCloseTo(-movement(ebony, 56, 0, 10, 6).change / 2, 12);
    expect(fretEndsProud(ebony, 56, 0, 6, 10)).toBe(0);
  });
});

describe("density and strength", () => {
  test("basic gravity and gravity at a moisture content undo each other; drier wood is denser in dry mass per volume", () => {
    fc.assert(
      fc.property(number(0.1, 1), number(0, 29), (gb, x) => {
        expect(basicSpecificGravity(specificGravityAt(gb, x), x)).toBeCloseTo(gb, 12);
        expect(specificGravityAt(gb, x)).toBeGreaterThan(specificGravityAt(gb, x + 1));
        expect(densityAt(gb, 30)).toBeCloseTo(1300 * gb, 9);
      }),
      RUNS,
    );
    expect(shrinkageAt(9.9, 30)).toBe(0);
    expect(shrinkageAt(9.9, 0)).toBe(9.9);
  });

  test("strength: 12 % and green values at their own moisture, falling between, constant above", () => {
    fc.assert(
      fc.property(number(50, 150), number(0.4, 0.95), number(0, 23), (p12, ratio, m) => {
        const green = p12 * ratio;
        expect(strengthAtMoisture(p12, green, 12, 25)).toBeCloseTo(p12, 9);
        expect(strengthAtMoisture(p12, green, 25, 25)).toBeCloseTo(green, 9);
        expect(strengthAtMoisture(p12, green, 40, 25)).toBeCloseTo(green, 9);
        expect(strengthAtMoisture(p12, green, m, 25)).toBeGreaterThan(strengthAtMoisture(p12, green, m + 1, 25));
      }),
      RUNS,
    );
  });
});
