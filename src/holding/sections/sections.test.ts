import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { flatten } from "../../kernel/contour.ts";
import { signedDistance } from "../../kernel/polygon.ts";
import { guitar } from "../../neck/fixture.test-data.ts";
import { makeNeck } from "../../neck/index.ts";
import type { MachineSpec, OrderSpec } from "../../spec/types.ts";
import { extent } from "../extent.ts";
import { machine } from "../holding.test-data.ts";
import { middleOf } from "../placed.ts";
import { planHolding } from "../plan.ts";
import { restingOn } from "../press.ts";
import { HO } from "../rules.ts";
import { apply, inverse } from "../transform.ts";
import type { Holding, Side, Solid } from "../types.ts";
import { inBlankOf } from "../where.ts";
import { keptWhole } from "./cost.ts";
import { chooseSeams } from "./seams.ts";
import { settingOf } from "./setting.ts";
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
  return planHolding(neck, m);
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

describe("sections in every way of holding", () => {
  type Way = { readonly holding?: Partial<OrderSpec["holding"]>; readonly blank?: Partial<OrderSpec["blank"]>; readonly pitch?: number };
  const WAYS: Readonly<Record<string, Way>> = {
    "datum edge": {},
    askew: { blank: { rotation: 0.014 } },
    "askew the other way": { blank: { rotation: -0.02 } },
    "pins through the waste": { holding: { way: "waste-pins" } },
    "grid of holes": { pitch: 20 },
    "grid, pins through the waste, askew": { pitch: 20, holding: { way: "waste-pins" }, blank: { rotation: 0.014 } },
    "vacuum under the board side": { holding: { press: { kind: "vacuum", kPa: 80, friction: 0.4, side: "board" } } },
    "screws over a grid": { pitch: 20, holding: { screw: { count: 2, head: 8, height: 3 } } },
  };
  const make = ({ holding, blank, pitch }: Way, m: MachineSpec = small, order: OrderSpec = wide): readonly [OrderSpec, MachineSpec] => [
    { ...order, holding: { ...order.holding, ...holding }, blank: { ...order.blank, ...blank } },
    pitch === undefined ? m : { ...m, grid: { holes: "plain", pitch, first: { x: 12, y: 9 }, diameter: 6 } },
  ];
  const stopsOf = (h: Holding): readonly (readonly [string, string])[] =>
    h.findings.filter((f) => f.severity === "stop").map((f) => [f.rule, f.where] as const);
  const pinsOf = (side: Side, number: number): readonly (readonly [number, number])[] =>
    settingOf(side, number).holding.flatMap((s) => {
      if (s.role !== "index pin" || s.kind !== "cylinder") return [];
      const [x, y] = apply(inverse(side.neckToProgram), s.x, s.y, 0);
      return [[x, y] as const];
    });

  test.each(Object.keys(WAYS))(
    "%s: the turn is exact to 1e-9, every section's pins stand in the holes before it, all on the bed and over holes",
    (name) => {
      for (const along of ["x", "y"] as const)
        for (const turn of ["x", "y"] as const)
          for (const hand of ["left", "right"] as const) {
            const way = WAYS[name];
            const m: MachineSpec = along === "x" ? small : { ...small, along, bed: { x: 300, y: 400 }, travel: { x: 300, y: 400, z: 150 } };
            const [order, theMachine] = make({ ...way, holding: { ...way.holding, turn } }, m, { ...wide, hand });
            const neck = makeNeck(order);
            const h = planHolding(neck, theMachine);
            expect(stopsOf(h)).toEqual([]);
            const { board, carve } = h.sides;
            const plan = h.sections as SectionPlan;
            expect(plan.count).toBe(2);
            const at = inBlankOf(neck, h.placement);
            const holes = plan.holes.map((q) => [at.x(q.along, q.across), at.y(q.along, q.across)] as const);
            // in the neck's own plan: where the holes are bored is where the pins of both sides go up
            for (const pins of [pinsOf(board, 2), pinsOf(carve, 2), ...(order.holding.way === "waste-pins" ? [pinsOf(carve, 1)] : [])]) {
              expect(pins).toHaveLength(2);
              pins.forEach(([x, y], k) => {
                expect(Math.hypot(x - holes[k][0], y - holes[k][1])).toBeLessThan(1e-9);
              });
            }
            const outline = [flatten(neck.outline, 0.02)];
            plan.holes.forEach((q) => {
              for (const v of [q.across - q.slot / 2, q.across + q.slot / 2])
                expect(signedDistance(outline, at.x(q.along, v), at.y(q.along, v))).toBeGreaterThan(9.5 + q.diameter / 2);
            });
            // a turned blank's first section lies on pins or on the fence, never on both
            const first = carve.sections?.[0].holding.map((s) => s.role) ?? [];
            expect(first.includes("index pin")).toBe(order.holding.way === "waste-pins");
            expect(first.includes("fence pin")).toBe(order.holding.way !== "waste-pins");
            expect(board.bores).toBeUndefined();
            for (const side of [board, carve])
              for (const s of side.sections ?? []) {
                const pressed = order.holding.press !== undefined && (order.holding.press.side ?? side.name) === side.name;
                expect(s.holding.some((q) => q.role === "block")).toBe(!pressed);
                for (const q of s.holding) {
                  const e = extent({ min: [Infinity, Infinity, 0], max: [-Infinity, -Infinity, 0] }, [q]);
                  expect(e.minX + side.zeroOnBed[0]).toBeGreaterThanOrEqual(0);
                  expect(e.maxX + side.zeroOnBed[0]).toBeLessThanOrEqual(theMachine.bed.x);
                  expect(e.minY + side.zeroOnBed[1]).toBeGreaterThanOrEqual(0);
                  expect(e.maxY + side.zeroOnBed[1]).toBeLessThanOrEqual(theMachine.bed.y);
                  if (way.pitch === undefined || q.kind !== "cylinder") continue;
                  for (const v of [q.x + side.zeroOnBed[0] - 12, q.y + side.zeroOnBed[1] - 9])
                    expect(Math.abs(v - way.pitch * Math.round(v / way.pitch))).toBeLessThan(1e-9);
                }
              }
          }
    },
  );

  test("the seam over a grid's holes spreads more than in seats that this machine bored, and the budget says what by", () => {
    const at = (way: Way, id: string) => planHolding(makeNeck(make(way)[0]), make(way)[1]).sections?.budget.find((o) => o.id === id);
    for (const id of ["seam-edge-1", "seam-fret-1", "seam-bend-1"]) {
      expect(at({ pitch: 20 }, id)?.sigma).toBeGreaterThan(at({}, id)?.sigma ?? Infinity);
      expect(at({ pitch: 20 }, id)?.shares.some((s) => s.says.includes("bed's hole"))).toBe(true);
    }
  });

  test("HO-022: a grid too wide for the blank says how much wider a blank would do, and it does", () => {
    const narrow = planHolding(makeNeck(make({ blank: { width: 114 } })[0]), make({ pitch: 25 })[1]);
    const found = narrow.findings.find((f) => f.rule === HO.noHole.id);
    const more = Number(/a blank (\d+) mm wider/.exec(found?.tryThis ?? "")?.[1]);
    expect(more).toBeGreaterThan(0);
    const [order, m] = make({ pitch: 25, blank: { width: 114 + more } });
    expect(stopsOf(planHolding(makeNeck(order), m))).toEqual([]);
  });

  test("HO-024: what of the blank stands out over the bed holds nothing, section by section", () => {
    const press = { kind: "vacuum", kPa: 80, friction: 0.4, side: "board" } as const;
    const [order] = make({ holding: { press } });
    const neck = makeNeck(order);
    const h = planHolding(neck, small);
    const bed = { min: [0, -500, 0], max: [380, 500, 0] } as const;
    expect(restingOn(h.sides.board, bed)).toBeCloseTo(380 * order.blank.width, 6);
    // what holds a whole blank in one piece holds too little of it on this bed
    const weak = make({ holding: { press: { ...press, kPa: 15 } } })[0];
    expect(stopsOf(planHolding(makeNeck(weak), machine))).toEqual([]);
    expect(stopsOf(planHolding(makeNeck(weak), small)).map((f) => f[0])).toContain(HO.press.id);
  });

  test("HO-020: blocks, pins, stop and strips stand in sections where they are put; what cannot says why, once", () => {
    const put = (placed: OrderSpec["holding"]["placed"]): Holding =>
      planHolding(makeNeck(make({ holding: { placed: placed ?? [] } })[0]), small);
    const there = put([
      { name: "block, section 2, far side, 1", x: 520 },
      { name: "fence pin 2", side: "board", x: 240 },
      { name: "end stop", y: 50 },
      { name: "strip 1a", x: 190 },
    ]);
    expect(stopsOf(there)).toEqual([]);
    const middle = (side: Side, name: string): readonly [number, number] => {
      const s = (side.sections ?? []).flatMap((q) => settingOf(side, q.number).holding).find((q) => q.name === name) as Solid;
      const lay = { along: side.stock.max[0] > 0 ? 1 : -1, up: side.stock.max[1] > 0 ? 1 : -1 } as const;
      return middleOf(s, lay);
    };
    const { board, carve } = there.sides;
    expect(middle(board, "block, section 2, far side, 1")[0]).toBeCloseTo(520, 9);
    expect(middle(carve, "block, section 2, far side, 1")[0]).toBeCloseTo(520, 9);
    expect(middle(board, "fence pin 2")[0]).toBeCloseTo(240, 9);
    expect(middle(carve, "fence pin 2")[0]).not.toBeCloseTo(240, 1);
    expect(middle(board, "end stop")[1]).toBeCloseTo(50, 9);
    expect(middle(carve, "strip 1a")[0]).toBeCloseTo(190, 9);
    const wrong: readonly (readonly [NonNullable<OrderSpec["holding"]["placed"]>[number], string])[] = [
      [{ name: "block, section 1, far side, 2", x: 600 }, "section 1"],
      [{ name: "fence pin 1", x: 500 }, "section 1"],
      [{ name: "index pin, far side", x: 300 }, "bored"],
      [{ name: "block, body end, far side", y: 60 }, "nothing called"],
    ];
    for (const [entry, says] of wrong) {
      const found = put([entry]).findings.filter((f) => f.severity === "stop");
      expect(found.map((f) => f.rule)).toEqual([HO.placed.id]);
      expect(found[0].says).toContain(says);
    }
  });
});
