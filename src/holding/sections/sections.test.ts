import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { guitar } from "../../neck/fixture.test-data.ts";
import { makeNeck } from "../../neck/index.ts";
import type { MachineSpec, OrderSpec } from "../../spec/types.ts";
import { machine } from "../holding.test-data.ts";
import { planHolding } from "../plan.ts";
import { HO } from "../rules.ts";
import type { Holding } from "../types.ts";
import { keptWhole } from "./cost.ts";
import { withSections } from "./plan.ts";
import { chooseSeams } from "./seams.ts";
import type { SectionPlan } from "./types.ts";

describe("the choice of seams", () => {
  /** Every choice of few seams, one after the other. */
  function brute(
    places: number[],
    costs: number[],
    o: { firstMost: number; reach: number; lastLeast: number; apart: number; most: number },
  ) {
    for (let count = 1; count <= o.most; count++) {
      let best: { sum: number; at: number[] } | null = null;
      const walk = (at: number[], sum: number): void => {
        if (at.length === count) {
          if (places[at[count - 1]] >= o.lastLeast && Number.isFinite(sum) && (best === null || sum < best.sum))
            best = { sum, at: [...at] };
          return;
        }
        for (let i = 0; i < places.length; i++) {
          const last = at[at.length - 1];
          if (last === undefined ? places[i] > o.firstMost : places[i] - places[last] > o.reach || places[i] - places[last] < o.apart)
            continue;
          walk([...at, i], sum + costs[i]);
        }
      };
      walk([], 0);
      if (best !== null) return best as { sum: number; at: number[] };
    }
    return null;
  }

  test("is the least of all choices with the fewest seams, or none where there is none", () => {
    const cost = fc.oneof({ weight: 3, arbitrary: fc.integer({ min: 0, max: 50 }) }, { weight: 1, arbitrary: fc.constant(Infinity) });
    fc.assert(
      fc.property(
        fc.array(cost, { minLength: 4, maxLength: 16 }),
        fc.integer({ min: 0, max: 12 }),
        fc.integer({ min: 1, max: 9 }),
        fc.integer({ min: 2, max: 15 }),
        fc.integer({ min: 1, max: 4 }),
        (costs, firstMost, reach, lastLeast, apart) => {
          const places = costs.map((_, k) => k);
          const bounds = { firstMost, reach, lastLeast, apart, most: 3 };
          const found = chooseSeams({ places: Float64Array.from(places), costs: Float64Array.from(costs), ...bounds });
          const best = brute(places, costs, bounds);
          if (best === null) return found === null;
          return found !== null && found.length === best.at.length && found.reduce((s, k) => s + costs[k], 0) === best.sum;
        },
      ),
      { seed: 20260101, numRuns: 400 },
    );
  });
});

const small: MachineSpec = { ...machine, bed: { x: 400, y: 300 }, travel: { x: 400, y: 300, z: 150 } };
const sectioned = (m: MachineSpec = small, order: OrderSpec = guitar): Holding => {
  const neck = makeNeck(order);
  return withSections(neck, m, planHolding(neck, { ...m, sections: false }));
};
const wide: OrderSpec = { ...guitar, blank: { ...guitar.blank, length: 750, width: 124, centreFromDatum: null, tipFromEnd: null } };
const rulesOf = (h: Holding): string[] => h.findings.map((f) => f.rule);

describe("a neck on a bed of 400 x 300 mm", () => {
  const neck = makeNeck(wide);
  const h = sectioned(small, wide);
  const plan = h.sections as SectionPlan;

  test("is planned in sections, and only where they are allowed", () => {
    expect(rulesOf(h)).not.toContain(HO.bed.id);
    expect(plan.count).toBe(2);
    const off = sectioned({ ...small, sections: false }, wide);
    expect(off.sections).toBeUndefined();
    expect(rulesOf(off)).toContain(HO.bed.id);
    expect(sectioned(machine, wide).sections).toBeUndefined();
  });

  test("no seam crosses a slot, a bore, the headstock or the heel", () => {
    for (const s of plan.seams) {
      for (const [lo, hi] of keptWhole(neck)) expect(s.neckX > lo && s.neckX < hi).toBe(false);
      for (const f of neck.features.frets) expect(Math.abs((f.bass.x + f.treble.x) / 2 - s.neckX)).toBeGreaterThan(2.5);
    }
  });

  test("index holes of one section lie on the pins of the next after the shift, bored within the travel and in the waste", () => {
    const [zx] = h.sides.board.zeroOnBed;
    for (const hole of plan.holes) {
      const bored = hole.along - plan.shifts[hole.section - 2];
      expect(bored + zx + hole.diameter / 2).toBeLessThan(small.travel.x);
      const pin = plan.pins.find((p) => p.across === hole.across);
      expect(pin).toBeDefined();
      expect(hole.along - plan.shifts[hole.section - 1]).toBeCloseTo(pin?.along ?? Number.NaN, 9);
      const [lo, hi] = neck.edges(hole.along - h.placement.tipFromEnd + neck.places.tip).map((y) => h.placement.centreFromDatum + y);
      expect(Math.max(lo - hole.across, hole.across - hi)).toBeGreaterThan(10 + hole.diameter / 2);
    }
    for (const side of [h.sides.board, h.sides.carve])
      for (const s of side.sections ?? []) {
        const pins = s.holding.filter((q) => q.role === "index pin");
        expect(pins.length).toBe(s.number === 1 ? 0 : 2);
      }
  });

  test("the budget's variances are its trials', and a machine that does not come back breaks the step's limit", () => {
    for (const o of plan.budget) {
      expect(Math.abs(o.drawn.sigma - o.sigma)).toBeLessThan(0.06 * o.sigma);
      expect(o.drawn.within99).toBeLessThan(o.limit);
    }
    expect(rulesOf(sectioned({ ...small, repeat: 0.2 }, wide))).toContain(HO.seamStep.id);
  });

  test("where even sections fail it says why, and the bed's finding stays", () => {
    const tiny = sectioned({ ...small, bed: { x: 120, y: 300 }, travel: { x: 120, y: 300, z: 150 } }, wide);
    expect(rulesOf(tiny)).toEqual(expect.arrayContaining([HO.bed.id, HO.noSections.id]));
    const narrow = sectioned(small, { ...wide, blank: { ...wide.blank, width: 90 } });
    expect(narrow.findings.find((f) => f.rule === HO.noSections.id)?.where).toBe("blank.width");
  });

  test("what sections are not combined with stops in one sentence that names it: askew, a grid, pins through the waste, vacuum, blocks put by hand", () => {
    const stops = (o: OrderSpec, m = small): readonly (readonly [string, string])[] =>
      planHolding(makeNeck(o), m)
        .findings.filter((f) => f.severity === "stop")
        .map((f) => [f.rule, f.where] as const);
    const held = (holding: Partial<OrderSpec["holding"]>): OrderSpec => ({ ...wide, holding: { ...wide.holding, ...holding } });
    expect(stops(wide)).toEqual([]);
    expect(stops({ ...wide, blank: { ...wide.blank, rotation: 0.01 } })).toContainEqual([HO.askew.id, "blank.rotation"]);
    const grid = { holes: "plain", pitch: 25, first: { x: 10, y: 10 }, diameter: 6 } as const;
    expect(stops(wide, { ...small, grid })).toEqual([[HO.noHole.id, "machine.grid"]]);
    expect(stops(held({ way: "waste-pins" }))).toEqual([[HO.pinRoom.id, "holding.way"]]);
    const press = { kind: "vacuum", kPa: 80, friction: 0.4 } as const;
    expect(stops(held({ press, supports: false }))).toContainEqual([HO.press.id, "holding.press"]);
    const block = { name: "block, body end, far side", y: 60 };
    const strip = { name: "strip 1a", x: 190 };
    expect(stops(held({ placed: [strip, block] }))).toEqual([[HO.placed.id, "holding.placed.1"]]);
  });

  test("turned about x or y, left or right, along x or y: the sections' stock lies under the same bed", () => {
    for (const along of ["x", "y"] as const)
      for (const turn of ["x", "y"] as const)
        for (const hand of ["left", "right"] as const) {
          const m: MachineSpec = along === "x" ? small : { ...small, along, bed: { x: 300, y: 400 }, travel: { x: 300, y: 400, z: 150 } };
          const q = sectioned(m, { ...wide, hand, holding: { ...wide.holding, turn } });
          expect(rulesOf(q).filter((r) => r === HO.noSections.id || r === HO.bed.id)).toEqual([]);
          for (const side of [q.sides.board, q.sides.carve]) {
            const axis = along === "x" ? 0 : 1;
            for (const s of side.sections ?? [])
              for (const solid of s.holding) {
                if (solid.kind !== "cylinder") continue;
                const at = (axis === 0 ? solid.x : solid.y) + side.zeroOnBed[axis];
                expect(at).toBeGreaterThan(0);
                expect(at).toBeLessThan(400);
              }
          }
        }
  });
});
