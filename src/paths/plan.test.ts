import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { planKept } from "../../test/kept.ts";
import { profileOf } from "../cutting/shape.ts";
import { planHolding } from "../holding/plan.ts";
import type { SideName } from "../holding/types.ts";
import { type HeightMap, makeMap } from "../kernel/heightmap.ts";
import { makeStock } from "../kernel/make-stock.ts";
import { MoveKind } from "../kernel/moves.ts";
import { makeNeck } from "../neck/neck.ts";
import { parseOrder, parseShop } from "../spec/index.ts";
import type { OrderSpec, ShopSpec } from "../spec/types.ts";
import { checkPlan } from "./check.ts";
import { planCuts } from "./plan.ts";
import type { CutPlan } from "./types.ts";

const load = <T>(r: { value?: T | null | undefined; findings: readonly unknown[] }): NonNullable<T> => {
  if (!r.value) throw new Error(JSON.stringify(r.findings));
  return r.value;
};
const order = (name: string): OrderSpec => load(parseOrder(readFileSync(`examples/${name}.order.json`)));
const shop = (name: string): ShopSpec => load(parseShop(readFileSync(`examples/${name}.shop.json`)));
const stiff = shop("stiff-router");
const guitar = order("loan-guitar");

interface Planned {
  readonly plan: CutPlan;
  readonly map: (side: "board" | "carve", cell: number) => HeightMap;
}

/** Plans, and gives the stock that a side's cuts leave. */
function planned(o: OrderSpec, s: ShopSpec = stiff, sides: readonly SideName[] = ["board", "carve"]): Planned {
  const neck = makeNeck(o);
  const holding = planHolding(neck, s.machine);
  const plan = planKept(neck, holding, s, { sides });
  return {
    plan,
    map: (side, cell) => {
      const { stock } = holding.sides[side];
      const map = makeMap(stock.min[0], stock.min[1], stock.max[0], stock.max[1], cell, stock.max[2]);
      const wood = makeStock(map);
      for (const c of plan.cuts) {
        const cutter = s.cutters.find((q) => q.number === c.cutter);
        if (c.side === side && cutter) wood.cut(profileOf(cutter), c.moves, 0, c.moves.count);
      }
      return map;
    },
  };
}

describe("the order of work", () => {
  const { plan } = planned(guitar);
  const at = (id: string): number => plan.steps.findIndex((s) => (s.kind === "cut" ? s.cut === id : s.hand.includes(id)));

  it("has no findings for the demo, in either shop; a cutter that would rub is passed over and named", () => {
    expect(plan.findings).toEqual([]);
    const light = planned(guitar, shop("light-router")).plan;
    expect(light.findings).toEqual([]);
    const ramp = light.cuts.find((c) => c.id === "board-ramp");
    expect(ramp?.cutter).toBe(5);
    expect(ramp?.why).toContain("cutter 4 would do it worse (CU-001)");
  });

  it("scribes first, frees last, and cuts nothing that holds the piece before what needs it", () => {
    expect(at("board-scribe")).toBe(0);
    expect(at("carve-outline-through")).toBe(plan.steps.length - 1);
    const chains = [
      ["board-headstock-rough", "board-headstock-face", "board-tuner-bores"],
      ["board-markers", "Glue the markers", "markers' glue has cured", "board-board-radius", "board-fret-slots", "board-outline"],
      ["board-nut-seat", "board-board-radius"],
      [
        "carve-rod-channel",
        "Fit the rod",
        "carve-heel-screws",
        "strip's glue has cured",
        "carve-carve-rough",
        "carve-back-flats",
        "carve-carve-finish",
      ],
    ];
    for (const chain of chains)
      for (let k = 1; k < chain.length; k++) {
        expect(at(chain[k - 1]), chain[k - 1]).toBeGreaterThanOrEqual(0);
        expect(at(chain[k]), chain[k]).toBeGreaterThan(at(chain[k - 1]));
      }
  });

  it("lets glue be disturbed by nothing: fills name the features they close", () => {
    const fills = plan.steps.flatMap((s) => (s.kind === "hand" ? s.fills : []));
    expect(fills).toContain("rod-channel");
    expect(fills.filter((f) => f.startsWith("marker")).length).toBe(makeNeck(guitar).features.markers.length);
  });

  it("leaves the board's cuts out, and says so, when the blank is the shaft alone", () => {
    const bare = planned({ ...guitar, blank: { ...guitar.blank, kind: "shaft-alone", boardThickness: 0 } });
    expect(bare.plan.findings.map((f) => f.rule)).toContain("PA-004");
    expect(bare.plan.cuts.map((c) => c.id)).not.toContain("board-fret-slots");
  });
});

describe("laws of every plan", () => {
  it.each([
    ["loan-ukulele", "stiff-router"],
    ["loan-guitar-left", "light-router"],
  ])("%s on %s: safe ends, rapids across at the safe height, finite numbers, the same twice", (o, s) => {
    const spec = order(o);
    const machine = shop(s);
    const neck = makeNeck(spec);
    const holding = planHolding(neck, machine.machine);
    const plan = planKept(neck, holding, machine);
    expect(plan.findings.filter((f) => f.severity === "stop")).toEqual([]);
    for (const c of plan.cuts) {
      const safe = holding.sides[c.side].safeZ;
      const m = c.moves;
      expect(m.start[2]).toBeGreaterThanOrEqual(safe);
      expect(m.z[m.count - 1]).toBeGreaterThanOrEqual(safe - 1e-9);
      let [x, y, z] = m.start;
      for (let k = 0; k < m.count; k++) {
        if (!(Number.isFinite(m.x[k]) && Number.isFinite(m.y[k]) && Number.isFinite(m.z[k]))) throw new Error(`${c.id} move ${k}`);
        if (m.kind[k] === MoveKind.rapid && (m.x[k] !== x || m.y[k] !== y)) {
          if (Math.min(z, m.z[k]) < safe - 1e-9) throw new Error(`${c.id}: rapid across at ${z}`);
        }
        [x, y, z] = [m.x[k], m.y[k], m.z[k]];
      }
    }
    const again = planCuts(makeNeck(spec), planHolding(neck, machine.machine), machine);
    expect(again.cuts.map((c) => c.moves.x)).toEqual(plan.cuts.map((c) => c.moves.x));
  });

  it("a left-handed order leaves the mirror image of the right-handed one's wood", () => {
    const right = planned(guitar);
    const left = planned({ ...guitar, hand: "left" });
    for (const side of ["board", "carve"] as const) {
      const a = right.map(side, 0.5);
      const b = left.map(side, 0.5);
      let differ = 0;
      for (let j = 0; j < a.ny; j++)
        for (let i = 0; i < a.nx; i++) if (Math.abs(a.z[j * a.nx + i] - b.z[(a.ny - 1 - j) * a.nx + i]) > 0.6) differ++;
      // roughing rows in the waste need not mirror; the neck itself is compared by the proof
      expect(differ / a.z.length).toBeLessThan(0.01);
    }
  });

  it("moves with the zero: the same wood is left wherever the neck lies in the blank", () => {
    const shift = 4;
    const [a, b] = [40, 40 + shift].map((tipFromEnd) =>
      planned({ ...guitar, blank: { ...guitar.blank, tipFromEnd } }, stiff, ["board"]).map("board", 0.5),
    );
    const n = Math.round(shift / 0.5);
    let differ = 0;
    for (let j = 0; j < a.ny; j++)
      for (let i = 60; i < a.nx - 80; i++) {
        const d = Math.abs(a.z[j * a.nx + i] - b.z[j * a.nx + i + n]);
        if (d > 0.001) differ++;
      }
    // cells exactly on a wall may fall either way
    expect(differ / a.z.length).toBeLessThan(0.002);
  });
});

describe("path rules", () => {
  const found = (side: SideName, o: OrderSpec, s: ShopSpec = stiff): string[] => planned(o, s, [side]).plan.findings.map((f) => f.rule);

  it.each([
    ["PA-001", () => found("carve", guitar, { ...stiff, cutters: stiff.cutters.filter((c) => c.shape !== "ball") })],
    ["PA-002", () => found("board", { ...guitar, headstock: { ...guitar.headstock, blend: 3, edge: 16 } })],
    ["PA-003", () => found("carve", { ...guitar, blank: { ...guitar.blank, boardThickness: 1 } })],
    ["PA-004", () => found("board", { ...guitar, blank: { ...guitar.blank, kind: "shaft-alone", boardThickness: 0 } })],
    ["PA-008", () => found("board", { ...guitar, heel: { ...guitar.heel, kind: "contoured" } })],
    ["PA-007", () => found("board", { ...guitar, cutting: { ...guitar.cutting, scribeDepth: 0 } })],
  ])("%s is broken by an order or shop that earns it", (id, find) => expect(find()).toContain(id));

  it("PA-005 and PA-006: a rapid across below the safe height, a cut that wanders off", () => {
    const neck = makeNeck(guitar);
    const holding = planHolding(neck, stiff.machine);
    const { cuts } = planKept(neck, holding, stiff);
    const low = { ...cuts[0], moves: { ...cuts[0].moves, z: cuts[0].moves.z.map((z, k) => (k === 0 ? 5 : z)) } };
    const far = { ...cuts[0], moves: { ...cuts[0].moves, x: cuts[0].moves.x.map((x, k) => (k === 9 ? x - 400 : x)) } };
    expect(checkPlan(neck, holding, [low]).map((f) => f.rule)).toContain("PA-005");
    expect(checkPlan(neck, holding, [far]).map((f) => f.rule)).toContain("PA-006");
    expect(checkPlan(neck, holding, cuts)).toEqual([]);
  });
});
