import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { profileHeight } from "../kernel/profile.ts";
import { degToRad } from "../units/index.ts";
import { CHIP_SLACK, checkConditions, checkCutter } from "./check.ts";
import { bendLimit, type CutKind, conditionsFor, depthShare, LEAST_DEPTH } from "./conditions.ts";
import { bullRowSpacing, cuspHeight, rowSpacing } from "./cusp.ts";
import { ball8, bull6, drill3, flat6, flat8, lightRouter, slot06, stiffRouter, taper, vee60 } from "./examples.ts";
import { cutterBend } from "./force.ts";
import { passLoads } from "./loads.ts";
import { CU_RULES } from "./rules.ts";
import { edgeLength, profileOf, radiusAtHeight, tipHeight } from "./shape.ts";
import type { Cutter } from "./types.ts";

const SEED = { seed: 20260101, numRuns: 300 };
const cutters: readonly Cutter[] = [flat8, flat6, ball8, slot06, drill3, bull6, taper, vee60];

describe("shapes", () => {
  test("the angle is the included one: a 60 degree vee is as wide as it should be", () => {
    const p = profileOf(vee60);
    // 1 mm above the tip: 0.1 + tan 30
    expect(radiusAtHeight(p, 1)).toBeCloseTo(0.1 + Math.tan(degToRad(30)), 12);
    expect(tipHeight(profileOf(drill3))).toBeCloseTo(1.5 / Math.tan(degToRad(59)), 12);
  });
  test("a taper runs from its tip to its large end; its ball meets the cone in a tangent", () => {
    const p = profileOf(taper);
    expect(p.radius).toBe(3);
    expect(p.flat).toBe(0);
    const a = degToRad(5);
    expect(radiusAtHeight(p, 1 - Math.sin(a))).toBeCloseTo(Math.cos(a), 9);
  });
  test("radius at a height is the inverse of the height at a radius; the edge is no shorter than the depth", () => {
    fc.assert(
      fc.property(fc.constantFrom(...cutters), fc.double({ min: 0.001, max: 0.999, noNaN: true }), (c, share) => {
        const p = profileOf(c);
        const h = share * Math.max(tipHeight(p), 0.5);
        const r = radiusAtHeight(p, h);
        if (r < p.radius && r > p.flat) expect(profileHeight(p, r)).toBeCloseTo(h, 9);
        expect(edgeLength(p, h)).toBeGreaterThanOrEqual(h - 1e-12);
        expect(radiusAtHeight(p, h * 1.01)).toBeGreaterThanOrEqual(r);
      }),
      SEED,
    );
  });
  test("impossible shapes are refused by name and value", () => {
    for (const bad of [
      { ...bull6, cornerRadius: 4 },
      { ...vee60, tipAngle: 0 },
      { ...drill3, tipAngle: Math.PI },
      { ...taper, tipDiameter: 7 },
      { ...flat6, diameter: 0 },
      { ...flat6, flutes: 0 },
    ]) {
      expect(checkCutter(bad).map((f) => f.rule)).toEqual(["CU-009"]);
      expect(() => profileOf(bad)).toThrow(bad.name);
    }
    for (const good of cutters) expect(checkCutter(good)).toEqual([]);
  });
});

describe("cusps", () => {
  test("spacing and height are each other's inverse: flat, convex, concave", () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.5, max: 8, noNaN: true }),
        fc.double({ min: 0.001, max: 0.05, noNaN: true }),
        fc.constantFrom(Infinity, 184, 305, 20, -400, -30, -12),
        (R, h, surface) => {
          const s = rowSpacing(R, h, surface);
          expect(cuspHeight(R, s, surface)).toBeCloseTo(h, 9);
          // rows stand closer together on a hump and farther apart in a hollow
          const flat = rowSpacing(R, h);
          if (surface > 0 && Number.isFinite(surface)) expect(s).toBeLessThan(flat);
          if (surface < 0) expect(s).toBeGreaterThan(flat);
        },
      ),
      SEED,
    );
  });
  test("a cylinder's cusp is where two circles meet: by coordinates", () => {
    // ball R 4 on a board of radius 250, rows 1.2 mm apart along the surface
    const [R, Rc, s] = [4, 250, 1.2];
    const half = s / Rc / 2;
    const cx = (Rc + R) * Math.sin(half);
    const cy = (Rc + R) * Math.cos(half);
    const y = cy - Math.sqrt(R * R - cx * cx);
    expect(cuspHeight(R, s, Rc)).toBeCloseTo(y - Rc, 9);
  });
  test("bull: its flat and a ball's spacing; nonsense is refused", () => {
    expect(bullRowSpacing(6, 1, 0.01)).toBeCloseTo(4 + 2 * Math.sqrt(0.02 - 0.0001), 12);
    expect(() => rowSpacing(3, 0)).toThrow("cusp");
    expect(() => rowSpacing(3, 0.01, -3)).toThrow("hollow");
    expect(() => cuspHeight(3, 7)).toThrow("do not meet");
  });
});

const asks: readonly { kind: CutKind; step: (c: Cutter) => number; depth?: number }[] = [
  { kind: "slot", step: (c) => c.diameter },
  { kind: "side", step: (c) => 0.4 * c.diameter },
  { kind: "finish", step: (c) => 0.06 * c.diameter, depth: 0.5 },
  { kind: "slot-narrow", step: (c) => c.diameter, depth: 0.6 },
  { kind: "plunge", step: (c) => c.diameter },
];

describe("conditions", () => {
  test("hold every limit of cutter and machine, or a finding says which they do not", () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...cutters),
        fc.constantFrom(lightRouter, stiffRouter),
        fc.constantFrom(...asks),
        fc.double({ min: 350, max: 1250, noNaN: true }),
        (cutter, machine, ask, density) => {
          const c = conditionsFor(cutter, machine, density, {
            kind: ask.kind,
            step: ask.step(cutter),
            ...(ask.depth ? { depth: ask.depth } : {}),
          });
          expect(c.rpm).toBeLessThanOrEqual(Math.min(machine.spindle.max, cutter.maxRpm));
          expect(c.rpm).toBeGreaterThanOrEqual(machine.spindle.min);
          expect(c.feed).toBeLessThanOrEqual(Math.max(machine.feed.x, machine.feed.y, machine.feed.z) + 1e-9);
          expect(c.plunge).toBeLessThanOrEqual(machine.feed.z + 1e-9);
          expect(c.depth).toBeLessThanOrEqual(cutter.fluteLength);
          expect(c.chip).toBeLessThanOrEqual(cutter.chip.max * 1.02);
          expect(c.limitedBy.length).toBeGreaterThan(5);
          const rules = checkConditions(cutter, machine, c, { where: "cut", kind: ask.kind }).map((f) => f.rule);
          expect(rules.includes("CU-001")).toBe(c.chip < cutter.chip.min * (1 - CHIP_SLACK));
          expect(rules.includes("CU-005")).toBe(c.bend > bendLimit(ask.kind, machine) * 1.001);
          if ((ask.kind === "slot" || ask.kind === "side") && c.depth > LEAST_DEPTH) expect(rules).not.toContain("CU-005");
          for (const v of [c.rpm, c.feed, c.plunge, c.ramp, c.depth, c.chip, c.force, c.power, c.bend]) {
            expect(Number.isFinite(v)).toBe(true);
            expect(v).toBeGreaterThan(0);
          }
        },
      ),
      SEED,
    );
  });

  test("a light router takes smaller bites than a stiff one", () => {
    for (const kind of ["slot", "side"] as const) {
      const step = kind === "slot" ? 8 : 3;
      const light = conditionsFor(flat8, lightRouter, 700, { kind, step });
      const stiff = conditionsFor(flat8, stiffRouter, 700, { kind, step });
      expect(light.depth).toBeLessThan(0.6 * stiff.depth);
      expect(light.feed).toBeLessThan(stiff.feed);
      expect(light.limitedBy).toContain("bend");
      expect(stiff.limitedBy).not.toContain("bend");
      // common practice, no source: 2 to 4 mm deep on a light machine, 8 to 12 on a stiff one
      expect(light.depth).toBeGreaterThan(2);
      expect(light.depth).toBeLessThan(4);
      expect(stiff.depth).toBeGreaterThanOrEqual(8);
      expect(stiff.depth).toBeLessThanOrEqual(12);
    }
  });

  test("denser wood is never cut deeper, and never with less force at the same pass", () => {
    fc.assert(
      fc.property(fc.double({ min: 350, max: 1100, noNaN: true }), fc.double({ min: 1.01, max: 1.5, noNaN: true }), (density, more) => {
        const a = conditionsFor(flat6, lightRouter, density, { kind: "slot", step: 6 });
        const b = conditionsFor(flat6, lightRouter, density * more, { kind: "slot", step: 6 });
        expect(b.depth).toBeLessThanOrEqual(a.depth + 1e-9);
        const pass = { profile: profileOf(flat6), flutes: 2, step: 6, depth: 2, perTooth: 0.05, rpm: 18000 };
        expect(passLoads(pass, { density: density * more }).peak).toBeGreaterThan(passLoads(pass, { density }).peak);
      }),
      SEED,
    );
  });

  test("a thin step is fed faster for the same chip; a half-width step is not", () => {
    const thin = conditionsFor(flat8, stiffRouter, 500, { kind: "side", step: 0.8, depth: 1 });
    const half = conditionsFor(flat8, stiffRouter, 500, { kind: "side", step: 4, depth: 1 });
    expect(thin.chip).toBeCloseTo(half.chip, 3);
    expect((thin.feed / thin.rpm / half.feed) * half.rpm).toBeCloseTo(1 / 0.6, 2);
  });

  test("deep passes take less chip: nothing less at 1 D, 20 to 25 % at 2 D, 40 to 50 % at 3 D", () => {
    expect(depthShare(8, 8)).toBe(1);
    expect(1 - depthShare(16, 8)).toBeGreaterThanOrEqual(0.2);
    expect(1 - depthShare(16, 8)).toBeLessThanOrEqual(0.25);
    expect(1 - depthShare(24, 8)).toBeGreaterThanOrEqual(0.4);
    expect(1 - depthShare(24, 8)).toBeLessThanOrEqual(0.5);
  });

  test("a cutter bends less the less it stands out", () => {
    expect(cutterBend({ ...flat6, reach: 28 }, 20)).toBeLessThan(cutterBend(flat6, 20));
  });
});

describe("checks", () => {
  const good = conditionsFor(flat8, stiffRouter, 700, { kind: "side", step: 3, depth: 6 });
  const rulesOf = (cutter: Cutter, c = good, extra = {}): string[] =>
    checkConditions(cutter, stiffRouter, c, { where: "outline", kind: "side", ...extra }).map((f) => f.rule);
  test("a sound cut has no finding", () => expect(rulesOf(flat8)).toEqual([]));
  test.each([
    ["CU-001", flat8, { ...good, chip: 0.02 }, {}],
    ["CU-002", flat8, good, { depthBelowTop: 33 }],
    ["CU-003", { ...flat8, maxRpm: 5000 }, good, {}],
    ["CU-004", flat8, good, { recess: 7.9 }],
    ["CU-005", flat8, { ...good, bend: 0.4, shows: 0.4 }, {}],
    ["CU-006", flat8, { ...good, depth: 0.02 }, {}],
    ["CU-007", flat8, { ...good, power: 1200 }, {}],
    ["CU-008", { ...flat8, fluteLength: 60 }, good, { depthBelowTop: 45 }],
    ["CU-010", flat8, { ...good, chip: 0.2 }, {}],
  ] as const)("%s", (rule, cutter, c, extra) => {
    const found = checkConditions(cutter, stiffRouter, c, { where: "outline", kind: "side", ...extra });
    expect(found.map((f) => f.rule)).toEqual([rule]);
    expect(found[0].where).toBe("outline");
    expect(found[0].tryThis.length).toBeGreaterThan(10);
  });
  test("ids are unique and in order", () => {
    const ids = CU_RULES.map((r) => r.id);
    expect([...new Set(ids)].sort()).toEqual(ids);
  });
});
