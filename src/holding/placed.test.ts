import { describe, expect, test } from "vitest";
import { guitar } from "../neck/fixture.test-data.ts";
import { makeNeck } from "../neck/neck.ts";
import type { OrderSpec } from "../spec/types.ts";
import { machine } from "./holding.test-data.ts";
import { middleOf } from "./placed.ts";
import { planHolding } from "./plan.ts";
import type { Holding, SideName } from "./types.ts";

type Placed = NonNullable<OrderSpec["holding"]["placed"]>;
const plan = (placed: Placed, more: Partial<OrderSpec> = {}): Holding =>
  planHolding(makeNeck({ ...guitar, ...more, holding: { ...guitar.holding, ...more.holding, placed } }), machine);
const layOf = (h: Holding, side: SideName): { along: 1 | -1; up: 1 | -1 } => {
  const { min, max } = h.sides[side].stock;
  return { along: max[0] > 0.5 ? 1 : -1, up: max[1] > 0.5 && min[1] > -0.5 ? 1 : -1 };
};
const at = (h: Holding, side: SideName, name: string): readonly [number, number] => {
  const s = h.sides[side].holding.find((q) => q.name === name);
  if (s === undefined) throw new Error(`no ${name}`);
  return middleOf(s, layOf(h, side));
};

describe("what the maker puts elsewhere", () => {
  for (const turn of ["x", "y"] as const)
    test(`stands there on both sides, turned about ${turn}; what touches the blank keeps touching it`, () => {
      const placed = [
        { name: "fence pin 1", x: 200, y: 50 },
        { name: "block, body end, far side", x: 10, y: 70 },
        { name: "end stop", x: 30, y: 40 },
      ];
      const more = { holding: { ...guitar.holding, turn } };
      const [before, after] = [plan([], more), plan(placed, more)];
      for (const side of ["board", "carve"] as const) {
        const pin = at(after, side, "fence pin 1");
        expect(pin[0]).toBeCloseTo(200, 9);
        expect(pin[1]).toBeCloseTo(at(before, side, "fence pin 1")[1], 9);
        const block = at(after, side, "block, body end, far side");
        expect(block[0]).toBeCloseTo(at(before, side, "block, body end, far side")[0], 9);
        expect(block[1]).toBeCloseTo(70, 9);
        expect(at(after, side, "block, body end, far side, foot")[1]).toBeCloseTo(70, 9);
        expect(at(after, side, "end stop")).toEqual([at(before, side, "end stop")[0], expect.closeTo(40, 9)]);
        // all else stays
        expect(at(after, side, "fence pin 2")).toEqual(at(before, side, "fence pin 2"));
      }
    });

  test("stands there on one side when one is named; the plan then checks what it means", () => {
    const h = plan([{ name: "strip 2a", side: "carve", x: 300, y: 60 }]);
    expect(at(h, "carve", "strip 2a")).toEqual([expect.closeTo(300, 9), expect.closeTo(60, 9)]);
    const inTheWay = planHolding(
      makeNeck({
        ...guitar,
        holding: { ...guitar.holding, screw: { count: 2, head: 8, height: 3 }, placed: [{ name: "screw 1, far side", x: 300, y: 60 }] },
      }),
      machine,
    );
    const named = inTheWay.sides.board.holding.some((s) => s.name === "screw 1, far side");
    expect(inTheWay.findings.map((f) => f.rule)).toContain(named ? "HO-006" : "HO-020");
  });

  test("has to be something that the plan has (HO-020)", () => {
    const [f] = plan([{ name: "clamp 7", x: 1 }]).findings.filter((q) => q.rule === "HO-020");
    expect(f).toMatchObject({ where: "holding.placed.0.name", value: "clamp 7", severity: "stop" });
    expect(f.tryThis).toContain("fence pin 1");
    expect(plan([{ name: "strip 1a", side: "board" }]).findings.some((q) => q.rule === "HO-020")).toBe(true);
  });
});
