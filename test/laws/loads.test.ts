/** What must hold of forces, chips and plans whatever the coefficients are. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { bendLimit, clearingModes, conditionsFor, finishLayer, showsOf } from "../../src/cutting/conditions.ts";
import { ball8, bull6, flat6, flat8, lightRouter, slot06, stiffRouter, taper } from "../../src/cutting/examples.ts";
import { cutterBend, cutterCompliance, POWER_SHARE, powerAt, torqueAt } from "../../src/cutting/force.ts";
import { chipShare, type Loads, type Pass, passLoads, type WoodState } from "../../src/cutting/loads.ts";
import { profileOf } from "../../src/cutting/shape.ts";
import type { Cutter, Machine } from "../../src/cutting/types.ts";
import type { ForceModel } from "../../src/materials/cutting-force.ts";

const SEED = { seed: 20260101, numRuns: 200, endOnFailure: true };
const number = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });
const cutters: readonly Cutter[] = [flat8, flat6, ball8, bull6, taper];

const anyModel: fc.Arbitrary<ForceModel> = fc.record({
  edge: number(0.5, 20),
  perChip: number(1, 60),
  density: fc.constant(700),
  densityPower: number(0.5, 1.5),
  endGrain: number(1, 3),
  perMoisture: number(0.001, 0.03),
  dull: number(1.1, 3),
  normal: number(0, 0.8),
  source: fc.constant("law"),
  memory: fc.constant([] as const),
});
const anyWood: fc.Arbitrary<WoodState> = fc.record({
  density: number(350, 1150),
  moisture: number(5, 25),
  grain: fc.constantFrom<WoodState["grain"] & {}>("any", 0, Math.PI / 4, Math.PI / 2),
  model: anyModel,
});
const anyPass: fc.Arbitrary<Pass> = fc
  .record({
    cutter: fc.constantFrom(...cutters),
    step: number(0.03, 1.1),
    depth: number(0.02, 1.4),
    chip: number(0.005, 0.2),
    rpm: number(6000, 27000),
  })
  .map(({ cutter, step, depth, chip, rpm }) => ({
    profile: profileOf(cutter),
    flutes: cutter.flutes,
    step: step * cutter.diameter,
    depth: depth * cutter.diameter,
    perTooth: chip,
    rpm,
  }));
const all = (l: Loads): number[] => [l.peak, l.mean, l.torque, l.power];

describe("forces of a pass", () => {
  test("grow with the chip, with density and with depth; never shrink with width", () => {
    fc.assert(
      fc.property(anyPass, anyWood, number(1.02, 2), (pass, wood, more) => {
        const base = all(passLoads(pass, wood));
        const grows = (other: Loads, most: "all" | "work" | "peak"): void => {
          const [peak, mean, torque, power] = all(other);
          // with a thin strip the worst moment may be the one where the tooth leaves, at no chip
          expect(peak).toBeGreaterThanOrEqual(base[0] * (most === "peak" ? 0.995 : 1));
          // a mean is a sum of vectors: past half a turn more wood may pull the other way
          if (most === "all") expect(mean).toBeGreaterThan(base[1]);
          expect(torque).toBeGreaterThan(base[2] * (most === "peak" ? 0.995 : 1));
          expect(power).toBeGreaterThan(base[3] * (most === "peak" ? 0.995 : 1));
        };
        grows(passLoads({ ...pass, perTooth: pass.perTooth * more }, wood), "work");
        grows(passLoads(pass, { ...wood, density: wood.density * more }), "all");
        grows(passLoads(pass, { ...wood, dull: true }), "all");
        grows(passLoads({ ...pass, depth: pass.depth * more }, wood), "peak");
        grows(passLoads({ ...pass, step: pass.step * more }, wood), "peak");
      }),
      SEED,
    );
  });

  test("a mean is never above the peak, and nothing is negative", () => {
    fc.assert(
      fc.property(anyPass, anyWood, (pass, wood) => {
        const l = passLoads(pass, wood);
        expect(l.mean).toBeLessThanOrEqual(l.peak * (1 + 1e-9));
        for (const v of [...all(l), l.lift, l.removal, l.specific, l.chip]) expect(v).toBeGreaterThanOrEqual(0);
        expect(l.power).toBeCloseTo((l.torque * 2 * Math.PI * pass.rpm) / 60_000, 9);
        expect(l.power).toBeCloseTo(l.specific * l.removal, 6);
      }),
      SEED,
    );
  });

  test("a thinner chip costs more work per volume of wood", () => {
    fc.assert(
      fc.property(anyPass, anyWood, number(1.05, 4), (pass, wood, thinner) => {
        const thick = passLoads(pass, wood).specific;
        expect(passLoads({ ...pass, perTooth: pass.perTooth / thinner }, wood).specific).toBeGreaterThan(thick);
        // by a narrower step too, up to half the diameter; beyond, a tooth comes back to thin chips
        const even = { ...wood, model: { ...wood.model!, endGrain: 1 } };
        const half = { ...pass, profile: profileOf(flat8), step: Math.min(pass.step, 4) };
        expect(passLoads({ ...half, step: half.step / thinner }, even).specific).toBeGreaterThan(passLoads(half, even).specific);
      }),
      SEED,
    );
  });

  test("the chip is thinned by the step and by the lean of the edge, never thickened", () => {
    fc.assert(
      fc.property(fc.constantFrom(...cutters, slot06), number(0.02, 1), number(0.02, 1), (cutter, step, depth) => {
        const p = profileOf(cutter);
        const share = chipShare(p, step * cutter.diameter, depth * cutter.diameter);
        expect(share).toBeGreaterThan(0);
        expect(share).toBeLessThanOrEqual(1 + 1e-12);
        expect(chipShare(p, step * cutter.diameter * 1.1, depth * cutter.diameter)).toBeGreaterThanOrEqual(share - 1e-9);
        expect(chipShare(p, step * cutter.diameter, depth * cutter.diameter * 1.1)).toBeGreaterThanOrEqual(share - 0.02);
      }),
      SEED,
    );
    // a full slot with a ball, a deep: sin kappa = effective diameter / diameter
    expect(chipShare(profileOf(ball8), 8, 1)).toBeCloseTo((2 * Math.sqrt(1 * 7)) / 8, 9);
  });

  test("the sum over slices equals the sum over many small chips, tooth by tooth", () => {
    // a slow integration of a ball's pass: every element of edge at every 0.1 degree, nothing shared but the law
    const wood = { density: 700, grain: 0.3 } as const;
    const [R, s, d, fz] = [4, 0.9, 1.3, 0.1];
    let torque = 0;
    const N = 900;
    for (let i = 0; i < 1200; i++) {
      const kappa = (Math.acos(1 - d / R) * (i + 0.5)) / 1200;
      const dl = (R * Math.acos(1 - d / R)) / 1200;
      const r = R * Math.sin(kappa);
      for (let k = 0; k < N; k++) {
        const phi = (Math.PI * (k + 0.5)) / N;
        // in the wood where the previous pass, s to the side, has left it
        if (Math.hypot(r * Math.cos(phi) + s, 0) <= r) continue;
        const chip = fz * Math.sin(phi) * Math.sin(kappa);
        const grain = 1 + 0.8 * Math.sin(phi + 0.3) ** 2;
        torque += (4.5 + 10 * chip) * dl * grain * r * (1 / (2 * N));
      }
    }
    const l = passLoads({ profile: profileOf(ball8), flutes: 2, step: s, depth: d, perTooth: fz, rpm: 18000 }, wood);
    expect(l.torque / (2 * torque)).toBeGreaterThan(0.985);
    expect(l.torque / (2 * torque)).toBeLessThan(1.015);
  });
});

describe("bend and power", () => {
  test("a bar of one diameter bends as in the books; a taper between bars of its ends", () => {
    const bar = { ...flat6, fluteLength: 20, reach: 20 };
    // F L^3 / 3 E I, d = 0.8 D
    expect(cutterBend(bar, 10)).toBeCloseTo((10 * 20 ** 3) / (3 * 600_000 * ((Math.PI * 4.8 ** 4) / 64)), 12);
    const thick = {
      ...flat6,
      diameter: taper.diameter,
      fluteLength: taper.fluteLength,
      reach: taper.reach,
      shankDiameter: taper.shankDiameter,
    };
    const thin = { ...thick, diameter: taper.tipDiameter };
    expect(cutterCompliance(taper)).toBeGreaterThan(cutterCompliance(thick));
    expect(cutterCompliance(taper)).toBeLessThan(cutterCompliance(thin));
  });

  test("a spindle's curve runs through its points; without one the moment is the same at all speeds", () => {
    const plain = { min: 6000, max: 24000, power: 1500 };
    expect(powerAt(plain, 24000)).toBe(1500);
    expect(torqueAt(plain, 6000)).toBeCloseTo(torqueAt(plain, 24000), 9);
    const curve = [
      { rpm: 8000, power: 300 },
      { rpm: 16000, power: 900 },
      { rpm: 24000, power: 800 },
    ];
    const bent = { ...plain, curve };
    for (const p of curve) expect(powerAt(bent, p.rpm)).toBe(p.power);
    expect(powerAt(bent, 12000)).toBeCloseTo(600, 9);
    expect(torqueAt(bent, 4000)).toBeCloseTo(torqueAt(bent, 8000), 9);
    expect(powerAt(bent, 30000)).toBe(800);
  });

  test("a weak spindle makes the pass shallower, and never takes more than its share", () => {
    fc.assert(
      fc.property(number(20, 400), number(350, 1100), (watts, density) => {
        const weak: Machine = { ...stiffRouter, spindle: { ...stiffRouter.spindle, power: watts } };
        const c = conditionsFor(flat8, weak, density, { kind: "slot", step: 8 });
        if (c.depth > 0.051) expect(c.power).toBeLessThanOrEqual(POWER_SHARE * powerAt(weak.spindle, c.rpm) * 1.0001);
        expect(c.depth).toBeLessThanOrEqual(conditionsFor(flat8, stiffRouter, density, { kind: "slot", step: 8 }).depth + 1e-9);
      }),
      { ...SEED, numRuns: 60 },
    );
    expect(
      conditionsFor(flat8, { ...stiffRouter, spindle: { ...stiffRouter.spindle, power: 120 } }, 700, { kind: "slot", step: 8 }).limitedBy,
    ).toContain("the spindle's power");
  });
});

describe("plans", () => {
  const soft = (m: Machine, by: number): Machine => ({
    ...m,
    stiffness: { x: m.stiffness.x / by, y: m.stiffness.y / by, z: m.stiffness.z / by },
  });
  test("halving the stiffness never gives a heavier plan", () => {
    fc.assert(
      fc.property(
        fc.constantFrom(flat8, flat6, ball8, bull6),
        fc.constantFrom(lightRouter, stiffRouter),
        number(350, 1150),
        number(0.05, 1),
        fc.constantFrom("slot", "side", "finish", "slot-narrow" as const),
        (cutter, machine, density, step, kind) => {
          const ask = { kind, step: step * cutter.diameter, ...(kind === "finish" ? { depth: 0.5, layers: true } : {}) } as const;
          const was = conditionsFor(cutter, machine, density, ask);
          const is = conditionsFor(cutter, soft(machine, 2), density, ask);
          expect(is.depth).toBeLessThanOrEqual(was.depth + 1e-9);
          expect(is.force).toBeLessThanOrEqual(was.force * 1.02);
          expect(is.removal!).toBeLessThanOrEqual(was.removal! * 1.02);
        },
      ),
      { ...SEED, numRuns: 80 },
    );
  });

  test("a finishing layer is as thick as the bend lets it be, and layers are cut where one is too much", () => {
    const floppy = soft(lightRouter, 2);
    const ask = { step: 0.6, wood: { grain: 0 } } as const;
    const most = finishLayer(ball8, floppy, 1050, ask, 1);
    expect(most).toBeGreaterThan(0.05);
    expect(most).toBeLessThan(1);
    const limit = bendLimit("finish", floppy);
    expect(showsOf(conditionsFor(ball8, floppy, 1050, { ...ask, kind: "finish", depth: most }))).toBeCloseTo(limit, 3);
    const c = conditionsFor(ball8, floppy, 1050, { ...ask, kind: "finish", depth: 1.5 * most, layers: true });
    expect(c.depth).toBeCloseTo(0.75 * most, 9);
    expect(c.limitedBy).toContain("the bend of cutter and machine");
    // on a level surface most of a sideways bend does not show
    const level = conditionsFor(ball8, floppy, 1050, { ...ask, kind: "finish", depth: 1.5 * most, slope: 0, layers: true });
    expect(level.depth).toBeCloseTo(1.5 * most, 9);
    expect(showsOf(level)).toBeLessThan(level.bend);
  });

  test("clearing: both ways stay within the limits; the stiff machine goes deep, the light one takes more levels", () => {
    for (const [machine, levels] of [
      [lightRouter, 3],
      [stiffRouter, 1],
    ] as const) {
      const modes = clearingModes(8, 14, (step, depth) => conditionsFor(flat8, machine, 700, { step, depth, kind: "side" }));
      expect(new Set(modes.map((m) => m.name)).size).toBe(2);
      expect(modes[0].removal).toBeGreaterThanOrEqual(modes[1].removal / 1.01);
      for (const m of modes) {
        expect(m.conditions.bend).toBeLessThanOrEqual(bendLimit("side", machine) * 1.001);
        expect(m.levels * m.conditions.depth).toBeGreaterThanOrEqual(14 - 1e-6);
      }
      expect(Math.min(...modes.map((m) => m.levels))).toBeGreaterThanOrEqual(levels);
    }
  });
});
