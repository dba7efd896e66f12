import { describe, expect, test } from "vitest";
import {
  bend,
  compositeSection,
  compositeStress,
  curvatures,
  greatestRelief,
  heightAt,
  rectanglePart,
  transformedSection,
  uniformSagitta,
} from "../../src/materials/beam.ts";
import { woodByName } from "../../src/materials/woods.ts";

/*
 * B. J. Goodno and J. M. Gere, Mechanics of Materials, Example 5-16 (inputs, n, b, h1 and h2 seen in a published solution; the printed
 * stresses as remembered): a wood beam 4 x 6 in (E 1500 ksi) on a steel plate 4 x 0.5 in (E 30,000 ksi), moment 60 kip in, the wood in
 * compression at the top. Kip and inch throughout; the functions only see consistent units.
 */
describe("composite beam of wood and steel", () => {
  const WOOD = 1500;
  const STEEL = 30_000;
  const MOMENT = 60;
  const parts = [rectanglePart(WOOD, 4, 0.5, 6.5), rectanglePart(STEEL, 4, 0, 0.5)];
  const general = compositeSection(parts);
  const transformed = transformedSection(parts, WOOD);

  test("neutral axis 5.031 in below the wood's top, 1.469 in above the plate's bottom", () => {
    expect(6.5 - general.neutral).toBeCloseTo(5.03125, 10);
    expect(general.neutral).toBeCloseTo(1.46875, 10);
    expect(Number((6.5 - general.neutral).toFixed(3))).toBe(5.031);
    expect(Number(general.neutral.toFixed(3))).toBe(1.469);
  });

  test("transformed inertia 231.3 in4; EI 346,906 kip in2 by both routes, equal to the last digit", () => {
    expect(Number(transformed.inertia.toFixed(1))).toBe(231.3);
    expect(transformed.neutral).toBeCloseTo(general.neutral, 12);
    expect(general.bending).toBeCloseTo(346_906, -1);
    expect(Math.abs((transformed.inertia * WOOD) / general.bending - 1)).toBeLessThan(1e-12);
  });

  test("inertias of wood and steel about the neutral axis: 171.023 and 3.0124 in4", () => {
    const about = (p: (typeof parts)[number]): number => p.inertia + p.area * (p.centroid - general.neutral) ** 2;
    expect(about(parts[0])).toBeCloseTo(171.023, 3);
    expect(about(parts[1])).toBeCloseTo(3.0124, 4);
  });

  /* Exact stresses by hand; in brackets the printed three figures. */
  const STRESSES: readonly (readonly [string, number, number, number, number])[] = [
    ["wood, top", WOOD, 6.5, -1305.3, -1310],
    ["wood, at the joint", WOOD, 0.5, 251.3, 251],
    ["steel, at the joint", STEEL, 0.5, 5026.6, 5030],
    ["steel, bottom", STEEL, 0, 7620.9, 7620],
  ];
  test.each(STRESSES)("%s (E %d ksi, z %d in): %d psi (%d)", (_, modulus, z, exact, printed) => {
    const psi = compositeStress(general, modulus, z, MOMENT) * 1000;
    expect(psi).toBeCloseTo(exact, 0);
    expect(Number(psi.toPrecision(3))).toBe(printed);
  });
});

/*
 * Any book's beam formulas (constant moment: slope ML/EI, tip ML2/2EI, sagitta ML2/8EI; tip load: FL3/3EI), worked by hand for a
 * rectangle 55 x 22 mm of sugar maple, E 12.6 GPa, pull 420 N at 18 mm over the neutral axis, length 640 mm.
 */
describe("a neck as a beam", () => {
  const moe = woodByName("maple")!.moe;
  const section = compositeSection([rectanglePart(moe, 55, -22, 0)]);
  const moment = 420 * 18;
  const places = 17;
  const xs = Array.from({ length: places }, (_, i) => (640 * i) / (places - 1));
  const stiffness = xs.map(() => section.bending);
  const line = bend(
    xs,
    curvatures(
      xs.map(() => moment),
      stiffness,
    ),
  );

  test("EI 6.149e8 N mm2", () => {
    expect(Number(section.bending.toPrecision(4))).toBe(6.149e8);
    expect(section.neutral).toBe(-11);
  });

  test("sagitta 0.6295 mm and tip 2.518 mm, by formula and by integration", () => {
    expect(Number(uniformSagitta(moment, 640, section.bending).toFixed(4))).toBe(0.6295);
    const greatest = greatestRelief(line, 0, 640);
    expect(Number(greatest.relief.toFixed(4))).toBe(0.6295);
    expect(greatest.x).toBeCloseTo(320, 6);
    expect(Number(heightAt(line, 640).toFixed(3))).toBe(2.518);
    expect(line.slope[places - 1]).toBeCloseTo((moment * 640) / section.bending, 12);
  });

  test("a load at the tip: F L3 / 3EI, exact because the moment is linear", () => {
    const tip = bend(
      [0, 100, 640],
      curvatures(
        [640, 540, 0].map((arm) => 25 * arm),
        [0, 0, 0].map(() => section.bending),
      ),
    );
    expect(heightAt(tip, 640)).toBeCloseTo((25 * 640 ** 3) / (3 * section.bending), 10);
  });
});
