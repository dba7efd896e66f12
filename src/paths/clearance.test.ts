import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { planKept } from "../../test/kept.ts";
import { CLEAR } from "../holding/extent.ts";
import { planHolding } from "../holding/plan.ts";
import type { Holding, Solid } from "../holding/types.ts";
import { MoveBuilder } from "../kernel/moves.ts";
import { makeNeck } from "../neck/neck.ts";
import { parseOrder, parseShop } from "../spec/index.ts";
import type { OrderSpec, ShopSpec } from "../spec/types.ts";
import { checkClear, sideClearances } from "./clearance.ts";
import type { Cut } from "./types.ts";

const order = parseOrder(readFileSync("examples/loan-ukulele.order.json")).value as OrderSpec;
const shop = parseShop(readFileSync("examples/stiff-router.shop.json")).value as ShopSpec;

describe("how far what holds stands from what turns", () => {
  const neck = makeNeck(order);
  const plan = planHolding(neck, shop.machine);
  const [cutter] = shop.cutters.filter((c) => c.shape === "flat");
  const cutOf = (make: (b: MoveBuilder) => void): Cut => {
    const b = new MoveBuilder([0, 0, 200]);
    make(b);
    return {
      id: "board-x",
      title: "",
      side: "board",
      cutter: cutter.number,
      moves: b.list(),
      why: "",
      cusp: null,
      conditions: {} as Cut["conditions"],
    };
  };
  const holdingOf = (solid: Solid): Holding => ({
    ...plan,
    sides: { ...plan.sides, board: { ...plan.sides.board, safeZ: 100, holding: [solid] } },
  });
  const block: Solid = { kind: "box", name: "b", role: "block", min: [0, 0, 0], max: [20, 10, 30] };
  const mm = (cut: Cut, s: Solid): number | undefined => sideClearances(holdingOf(s), [cut], shop.cutters)[0]?.standing?.mm;

  it("is the cutter's distance beside it, the holder's above it, and that of the nearest place of an arc", () => {
    const r = cutter.diameter / 2;
    const beside = cutOf((b) => {
      b.lineTo(-50, 10 + r + 3.25, 20, 1);
      b.lineTo(70, 10 + r + 3.25, 20, 1);
    });
    // the holder passes over the block's top: reach above the tip
    const wide = cutter.holder[0].diameter / 2;
    const deep = 30 - cutter.reach + 1.5;
    const above = cutOf((b) => {
      b.lineTo(10, 10 + wide - 1, deep, 1);
    });
    const over = sideClearances(holdingOf(block), [above], shop.cutters)[0].standing;
    expect(mm(beside, block)).toBeCloseTo(3.25, 1);
    expect(over?.part).toBe("holder");
    expect(over?.mm).toBeCloseTo(1.5, 1);
    // half a turn about (10, 40) at radius 20 comes down to y 20 at its lowest
    const round = cutOf((b) => {
      b.lineTo(-10, 40, 20, 1);
      b.arcTo(30, 40, 20, 10, 40, 20, Math.PI, 1);
    });
    expect(mm(round, block)).toBeCloseTo(20 - 10 - r, 1);
    // at the safe height nothing is in the way
    const high = cutOf((b) => {
      b.lineTo(5, 5, 100, 1);
      b.lineTo(15, 5, 100, 1);
    });
    expect(mm(high, block)).toBeUndefined();
  });

  it("a screw put by hand into a cutter's way is told by how much it has to move, and there it is clear", () => {
    const screw = { count: 2, head: 8, height: 3 };
    const { cuts } = planKept(neck, plan, shop);
    const { name, y } = { name: "screw 2, far side", y: 76 };
    const held = (placed: NonNullable<OrderSpec["holding"]["placed"]>): { readonly says: string; readonly rules: readonly string[] } => {
      const n = makeNeck({ ...order, holding: { ...order.holding, screw, placed } });
      const found = checkClear(planHolding(n, shop.machine), cuts, shop.cutters);
      return { rules: found.map((f) => f.where), says: found.map((f) => f.tryThis).join("\n") };
    };
    expect(held([]).rules).toEqual([]);
    const wrong = held([{ name, y }]);
    expect(wrong.rules).toEqual([`board side, ${name}`, `carve side, ${name}`]);
    const told = [
      ...wrong.says.matchAll(/Move it ([\d.]+) mm away from the datum edge's line \(holding.placed, "screw 2, far side", y ([\d.]+)\)/g),
    ];
    expect(told.length).toBe(2);
    const furthest = Math.max(...told.map((t) => Number(t[2])));
    expect(Number(told[0][1])).toBeGreaterThan(0);
    expect(held([{ name, y: furthest }]).rules).toEqual([]);
    // and not one step less
    expect(held([{ name, y: furthest - 0.6 }]).rules.length).toBeGreaterThan(0);
    expect(CLEAR).toBe(2);
  });

  it("what is in the way and clear of nothing is said too", () => {
    const inside = cutOf((b) => b.lineTo(10, 5, 10, 1));
    const [f] = checkClear(holdingOf(block), [inside], shop.cutters);
    expect(f).toMatchObject({ rule: "PA-017", severity: "stop", value: 0, limit: CLEAR });
  });
});
