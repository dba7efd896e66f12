import { describe, expect, it } from "vitest";
import { guitar } from "../neck/fixture.test-data.ts";
import { makeNeck } from "../neck/neck.ts";
import { parseOrder } from "../spec/index.ts";
import type { PressSpec } from "../spec/types.ts";
import { writeOrder } from "../spec/write.ts";
import { planningForce } from "./bow.ts";
import { machine } from "./holding.test-data.ts";
import { planHolding } from "./plan.ts";
import { bears, restingOn } from "./press.ts";

const plan = (press: PressSpec, board: Partial<typeof guitar.board> = {}) =>
  planHolding(
    makeNeck({
      ...guitar,
      board: { ...guitar.board, ...board },
      holding: { ...guitar.holding, screw: { count: 0, head: 8, height: 3 }, press },
    }),
    machine,
  );
const rules = (press: PressSpec): string[] => plan(press).findings.map((f) => f.rule);
const under = { kind: "vacuum", friction: 0.3, side: "board" } as const;

describe("held from below", () => {
  it("a bar of air on a square metre is a hundred kilonewton: 50 kPa on 100 cm2 are 500 N, and friction's share sideways", () => {
    expect(bears({ kind: "vacuum", kPa: 50, friction: 0.3 }, 10_000)).toEqual({ sideways: 150, upward: 500 });
    expect(bears({ kind: "tape", kPa: 50, friction: 0.3 }, 10_000)).toEqual({ sideways: 500, upward: 500 });
  });
  it("has no blocks on the side that is pressed, and pins and stop as ever", () => {
    const { sides, findings } = plan({ ...under, kPa: 80 });
    expect(findings.filter((f) => f.severity === "stop")).toEqual([]);
    expect(sides.board.holding.map((s) => s.role).sort()).toEqual(["end stop", "fence pin", "fence pin"]);
    expect(sides.carve.holding.filter((s) => s.role === "block").length).toBeGreaterThan(4);
    // nothing stands above the pins or the wood any more
    expect(sides.board.safeZ).toBeCloseTo(sides.board.stock.max[2] + machine.clearance, 9);
  });
  it("HO-024: just enough draws, a little less does not; strips alone never do", () => {
    const area = guitar.blank.length * guitar.blank.width;
    const enough = (2 * planningForce(machine) * 1000) / (0.3 * area);
    expect(rules({ ...under, kPa: enough * 1.001 })).not.toContain("HO-024");
    expect(rules({ ...under, kPa: enough * 0.999 })).toContain("HO-024");
    const both = plan({ kind: "vacuum", friction: 0.3, kPa: enough * 1.001 });
    expect(both.findings.filter((f) => f.rule === "HO-024").map((f) => f.where)).toEqual(["carve side, holding.press"]);
    expect(restingOn(both.sides.carve)).toBeLessThan(area / 20);
  });
  it("reads back from the file that it is written to", () => {
    const rod = { ...guitar.rod, depth: 9 };
    const order = {
      ...guitar,
      rod,
      holding: { ...guitar.holding, press: { kind: "tape", kPa: 70, friction: 0.4, side: "carve" } as const },
    };
    expect(parseOrder(JSON.stringify(writeOrder(order))).value?.holding.press).toEqual(order.holding.press);
  });
});
