/** Fret slots with a cutter as wide as the kerf, and with a thinner one: from the text of their program alone. */
import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { planHolding } from "../../src/holding/index.ts";
import { groupCuts } from "../../src/job/programs.ts";
import { writePrograms } from "../../src/job/write-programs.ts";
import { makeNeck } from "../../src/neck/index.ts";
import { proveSide } from "../../src/proof/index.ts";
import type { RegionFigure } from "../../src/proof/types.ts";
import { parseOrder, parseShop } from "../../src/spec/index.ts";
import type { OrderSpec } from "../../src/spec/types.ts";
import type { Finding } from "../../src/units/index.ts";
import { planKept } from "../kept.ts";

const example = (name: string): string => readFileSync(new URL(`../../examples/${name}`, import.meta.url), "utf8");

/** The slots' program with some cutters taken out of the shop, and what the proof measures of it. */
function slots(
  without: readonly number[],
  change: (order: OrderSpec) => OrderSpec = (o) => o,
  cell = 1,
  raised = 0,
): {
  readonly cutter: number | undefined;
  readonly worst: (what: string) => number;
  readonly rules: string[];
  readonly floors: RegionFigure | undefined;
  readonly found: readonly Finding[];
  readonly shapes: readonly Finding[];
} {
  const read = parseOrder(example("loan-guitar-left.order.json")).value;
  const order = read && change(read);
  const all = parseShop(example("stiff-router.shop.json")).value;
  if (!order || !all) throw new Error("the examples must be sound");
  const shop = { ...all, cutters: all.cutters.filter((c) => !without.includes(c.number)) };
  const neck = makeNeck(order);
  const holding = planHolding(neck, shop.machine);
  const plan = planKept(neck, holding, shop, { sides: ["board"] });
  const planned = plan.cuts.find((c) => c.id === "board-fret-slots");
  // all of it higher or lower, middles of arcs too
  const up = (v: Float64Array): Float64Array => v.map((z) => z + raised);
  const cut = planned && { ...planned, moves: { ...planned.moves, z: up(planned.moves.z), cz: up(planned.moves.cz) } };
  const { groups, steps } = groupCuts({ cuts: cut ? [cut] : [], steps: cut ? [{ kind: "cut", cut: cut.id }] : [] });
  const { programs } = writePrograms(groups, order, "0".repeat(64), shop, holding);
  const proof = proveSide(
    {
      neck,
      machine: shop.machine,
      cutters: shop.cutters,
      sides: [holding.sides.board, holding.sides.carve],
      programs,
      steps,
      cusps: {},
      cell,
    },
    "board",
  );
  return {
    cutter: shop.cutters.find((c) => c.number === cut?.cutter)?.diameter,
    worst: (what) =>
      Math.max(
        ...proof.measures.filter((m) => m.id.startsWith("fret-") && m.what.includes(what)).map((m) => Math.abs(m.measured - m.ordered)),
      ),
    rules: plan.findings.map((f) => f.rule),
    floors: proof.regions.find((r) => r.region === "fret slots"),
    shapes: proof.findings.filter((f) => f.rule === "PF-253"),
    found: proof.findings.filter((f) => f.where.includes("fret slots")),
  };
}

/** Blind slots on a board that falls steeply to its edges. */
const steep = (o: OrderSpec): OrderSpec => ({
  ...o,
  frets: { ...o.frets, ends: "blind", blindMargin: 1 },
  board: { ...o.board, radius: { nut: 130, end: 130 } },
});

describe("fret slots", () => {
  test.each([
    ["a cutter as wide as the kerf: one line", [], 0.55],
    ["a thinner cutter: two lines that make the same slot", [7], 0.5],
  ] as const)("%s", (_, without, diameter) => {
    const s = slots(without);
    expect(s.cutter).toBe(diameter);
    expect(s.worst("centreline in the program")).toBeLessThanOrEqual(0.005);
    expect(s.worst("centreline in the wood")).toBeLessThanOrEqual(0.005);
    expect(s.worst("width")).toBeLessThanOrEqual(0.002);
    expect(s.worst("depth")).toBeLessThanOrEqual(0.02);
    expect(s.worst("end, past")).toBeLessThanOrEqual(0.01);
  });

  test.each([0.1, -0.1])("on such a board a slot %f mm off in height is found all the same, by its depth and by its floor", (raised) => {
    const { found, shapes } = slots([], steep, 0.2, raised);
    expect(shapes.length).toBeGreaterThan(10);
    expect(found.map((f) => f.rule)).toEqual([raised > 0 ? "PF-242" : "PF-241"]);
  });

  test("blind ends on a board that falls steeply to its edges: what a level cutter leaves there is no fault, and no more of it is granted", () => {
    const { floors, found, shapes } = slots([], steep, 0.2);
    expect(floors?.worstAbove).toBeGreaterThan(0.04);
    expect(found).toEqual([]);
    expect(shapes).toEqual([]);
    // the floor falls by no more than this over the kerf
    expect(floors?.limitAbove).toBeLessThan(0.55 * 0.25);
  });

  test("a cutter too thin for two lines to meet is not taken: PA-001", () => {
    const s = slots([7, 8]);
    expect(s.cutter).toBeUndefined();
    expect(s.rules).toContain("PA-001");
  });
});
