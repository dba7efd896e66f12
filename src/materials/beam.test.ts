import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  bend,
  compositeSection,
  compositeStress,
  curvatures,
  greatestRelief,
  heightAt,
  type Part,
  rectanglePart,
  reliefAt,
  rodForce,
  transformedSection,
} from "./beam.ts";
import { firstOrderBand, powerProductVariation } from "./spread.ts";

const RUNS = { seed: 20260101, numRuns: 200 };
const number = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });
const anyPart: fc.Arbitrary<Part> = fc
  .tuple(number(1000, 210_000), number(1, 60), number(-30, 30), number(0.5, 20))
  .map(([modulus, width, bottom, height]) => rectanglePart(modulus, width, bottom, bottom + height));
const anyParts = fc.array(anyPart, { minLength: 1, maxLength: 6 });

describe("composite sections", () => {
  test("both methods agree, whatever the reference", () => {
    fc.assert(
      fc.property(anyParts, number(1000, 210_000), (parts, reference) => {
        const general = compositeSection(parts);
        const transformed = transformedSection(parts, reference);
        expect((transformed.inertia * reference) / general.bending).toBeCloseTo(1, 7);
        expect(transformed.neutral).toBeCloseTo(general.neutral, 9);
      }),
      RUNS,
    );
  });

  test("moving the section moves the neutral axis and nothing else; cutting a part in two changes nothing", () => {
    fc.assert(
      fc.property(anyParts, number(-50, 50), number(0.1, 0.9), (parts, by, at) => {
        const one = compositeSection(parts);
        const moved = compositeSection(parts.map((p) => ({ ...p, centroid: p.centroid + by })));
        expect(moved.neutral).toBeCloseTo(one.neutral + by, 9);
        expect(moved.bending / one.bending).toBeCloseTo(1, 9);
        const whole = rectanglePart(9000, 20, 0, 10);
        const halves = [rectanglePart(9000, 20, 0, 10 * at), rectanglePart(9000, 20, 10 * at, 10)];
        expect(compositeSection([...parts, ...halves]).bending / compositeSection([...parts, whole]).bending).toBeCloseTo(1, 9);
      }),
      RUNS,
    );
  });

  test("a hole filled with the same wood is no hole; an empty one weakens", () => {
    const solid = rectanglePart(12_600, 55, -22, 0);
    const channel = rectanglePart(12_600, 6, -12, 0);
    const hole: Part = { ...channel, area: -channel.area, inertia: -channel.inertia };
    expect(compositeSection([solid, hole, channel]).bending).toBeCloseTo(compositeSection([solid]).bending, 0);
    expect(compositeSection([solid, hole]).bending).toBeLessThan(compositeSection([solid]).bending);
    expect(() => compositeSection([hole])).toThrow("must add up");
  });

  test("bending stress carries no net force and the whole moment", () => {
    fc.assert(
      fc.property(anyParts, number(-1e4, 1e4), (parts, moment) => {
        const section = compositeSection(parts);
        // Over a part the stress is linear: its force is the stress at the centroid times the area.
        let force = 0;
        let about = 0;
        for (const p of parts) {
          const f = compositeStress(section, p.modulus, p.centroid, moment) * p.area;
          force += f;
          about += -f * (p.centroid - section.neutral) + (p.modulus * moment * p.inertia) / section.bending;
        }
        expect(Math.abs(force)).toBeLessThan(1e-6 * Math.max(1, Math.abs(moment)));
        expect(Math.abs(about - moment)).toBeLessThan(1e-6 * Math.max(1, Math.abs(moment)));
      }),
      RUNS,
    );
  });
});

describe("the bent line", () => {
  const anyCurvature = fc.array(number(-1e-4, 1e-4), { minLength: 3, maxLength: 12 });

  test("adds up and scales", () => {
    fc.assert(
      fc.property(anyCurvature, number(-3, 3), (k, factor) => {
        const xs = k.map((_, i) => 30 * i + i * i);
        const one = bend(xs, k);
        const scaled = bend(
          xs,
          k.map((v) => v * factor),
        );
        const last = xs.length - 1;
        expect(scaled.height[last]).toBeCloseTo(factor * one.height[last], 9);
      }),
      RUNS,
    );
  });

  test("more places on the same curvature change nothing", () => {
    const xs = [0, 200, 640];
    const k = [1e-5, 4e-5, 2e-5];
    const fine: number[] = [];
    const fineK: number[] = [];
    for (let x = 0; x <= 640; x += 10) {
      fine.push(x);
      fineK.push(x <= 200 ? 1e-5 + (3e-5 * x) / 200 : 4e-5 - (2e-5 * (x - 200)) / 440);
    }
    const coarse = bend(xs, k);
    const dense = bend(fine, fineK);
    for (let x = 0; x <= 640; x += 7) expect(heightAt(coarse, x)).toBeCloseTo(heightAt(dense, x), 10);
    expect(greatestRelief(coarse, 20, 600).relief).toBeCloseTo(greatestRelief(dense, 20, 600).relief, 10);
  });

  test("greatest relief is no smaller than anywhere on the line", () => {
    fc.assert(
      fc.property(anyCurvature, number(0, 1), (k, t) => {
        const xs = k.map((_, i) => 40 * i);
        const line = bend(xs, k);
        const [from, to] = [5, xs[xs.length - 1] - 7];
        const here = Math.abs(reliefAt(line, from, to, from + t * (to - from)));
        expect(Math.abs(greatestRelief(line, from, to).relief)).toBeGreaterThanOrEqual(here - 1e-12);
      }),
      RUNS,
    );
  });

  test("relief rises with tension, falls with stiffness; a straight edge tilted or lifted changes nothing", () => {
    const xs = [0, 160, 320, 480, 640];
    const relief = (pull: number, moe: number): number => {
      const ei = xs.map((x) => moe * (48_000 + 20 * x));
      return reliefAt(
        bend(
          xs,
          curvatures(
            xs.map((x) => pull * (18 - x / 200)),
            ei,
          ),
        ),
        0,
        640,
        320,
      );
    };
    fc.assert(
      fc.property(number(100, 900), number(6000, 18_000), (pull, moe) => {
        expect(relief(pull + 10, moe)).toBeGreaterThan(relief(pull, moe));
        expect(relief(pull, moe + 500)).toBeLessThan(relief(pull, moe));
        expect(relief(pull, moe)).toBeGreaterThan(0);
      }),
      RUNS,
    );
  });

  test("the rod force found does what was asked", () => {
    const xs = [0, 100, 300, 500, 640];
    const ei = xs.map((x) => 5e8 + 2e5 * x);
    const strings = bend(
      xs,
      curvatures(
        xs.map(() => 7500),
        ei,
      ),
    );
    const unit = bend(xs, curvatures([0, -6, -6, -6, 0], ei));
    for (const asked of [0.15, 0, -0.1]) {
      const force = rodForce(strings, unit, 0, 640, 300, asked);
      const both = bend(
        xs,
        curvatures(
          xs.map((_, i) => 7500 + force * [0, -6, -6, -6, 0][i]),
          ei,
        ),
      );
      expect(reliefAt(both, 0, 640, 300)).toBeCloseTo(asked, 9);
      expect(force).toBeGreaterThan(0);
    }
    expect(() =>
      rodForce(
        strings,
        bend(
          xs,
          xs.map(() => 0),
        ),
        0,
        640,
        300,
        0,
      ),
    ).toThrow("does not bend");
  });

  test("refuses places out of order and heights off the beam", () => {
    expect(() => bend([0, 10, 5], [0, 0, 0])).toThrow("beam place 2 at 5 mm");
    expect(() => heightAt(bend([0, 10], [0, 0]), 11)).toThrow("x 11 mm");
  });
});

describe("bands", () => {
  test("first order is exact for a linear law and near for a smooth one", () => {
    const band = firstOrderBand(
      ([a, b]) => 3 * a - 4 * b,
      [
        { name: "a", value: 10, deviation: 1 },
        { name: "b", value: 2, deviation: 1 },
      ],
    );
    expect(band).toMatchObject({ value: 22, deviation: 5 });
    expect(band.parts.map((p) => p.change)).toEqual([3, -4]);
  });

  test("relief M L^2 / 8 E I with E at 22 %, height at 1 %: the powers' rule and the slopes agree to second order", () => {
    const relief = ([e, h]: readonly number[]): number => (7560 * 640 * 640) / (8 * e * ((55 * h ** 3) / 12));
    const band = firstOrderBand(relief, [
      { name: "E", value: 12_600, deviation: 0.022 * 12_600 },
      { name: "h", value: 22, deviation: 0.001 * 22 },
    ]);
    const rule = powerProductVariation([
      { power: -1, variation: 0.022 },
      { power: 3, variation: 0.001 },
    ]);
    expect(band.deviation / band.value / rule).toBeCloseTo(1, 2);
    expect(band.parts[0].change).toBeLessThan(0);
  });
});
