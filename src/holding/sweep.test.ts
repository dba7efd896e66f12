import { readFileSync } from "node:fs";
import { isDeepStrictEqual } from "node:util";
import { expect, it } from "vitest";
import { makeNeck } from "../neck/neck.ts";
import { parseOrder, parseShop } from "../spec/index.ts";
import type { OrderSpec, ShopSpec } from "../spec/types.ts";
import { CLEAR } from "./extent.ts";
import { planHolding } from "./plan.ts";
import { gapOf, waysOf } from "./sweep.ts";
import type { SideName, Solid } from "./types.ts";

const bass = parseOrder(readFileSync("examples/loan-bass.order.json")).value as OrderSpec;
const shop = parseShop(readFileSync("examples/stiff-router.shop.json")).value as ShopSpec;

/** Blocks that grip so far in that headstock and board end would be cut beneath them: 10 mm off the outline, and in the cutters' way. */
const greedy = (placed: OrderSpec["holding"]["placed"] = []): OrderSpec => ({
  ...bass,
  holding: { ...bass.holding, block: { ...bass.holding.block, width: 18, grip: 26, length: 46 }, placed },
});

it("blocks in a cutter's way are put beside it, each at the nearest free place of its row; what the order has put stays", () => {
  const neck = makeNeck(greedy());
  const before = planHolding(neck, shop.machine);
  const after = planHolding(neck, shop.machine, shop.cutters);
  const gap = (s: Solid, name: SideName, t = after.sides[name]): number =>
    gapOf(s, t.neckToProgram, waysOf(neck, shop.cutters, name, t.neckToProgram, t.stock.max[2]));
  for (const name of ["board", "carve"] as const) {
    const was = before.sides[name].holding;
    const is = after.sides[name].holding;
    expect(was.filter((s) => s.role === "block" && gap(s, name) < CLEAR).length).toBeGreaterThan(0);
    // on the carve side a wider cutter may cut the heel's flat: what finds no place there stays, and the planned moves decide
    const found = is.filter((s) => s.role !== "support" && (name === "board" || !was.some((q) => isDeepStrictEqual(q, s))));
    expect(found.length).toBeGreaterThan(0);
    for (const s of found) expect(gap(s, name)).toBeGreaterThanOrEqual(CLEAR);
    // along the row only, nose and foot together, on the blank
    for (const s of is) {
      const w = was.find((q) => q.name === s.name);
      if (s.kind !== "box" || w?.kind !== "box") continue;
      expect([s.min[0], s.max[0]]).toEqual([w.min[0], w.max[0]]);
      if (s.role !== "block") continue;
      const [lo, hi] = [after.sides[name].stock.min[1], after.sides[name].stock.max[1]];
      expect(s.min[1]).toBeGreaterThanOrEqual(lo);
      expect(s.max[1]).toBeLessThanOrEqual(hi);
      const foot = is.find((q) => q.name === `${s.name}, foot`);
      if (foot?.kind === "box") expect(foot.min[1]).toBe(s.min[1]);
      // one step back toward where it was wanted, it would be in the way
      const moved = s.min[1] - w.min[1];
      if (moved !== 0 && !s.name.endsWith(", foot")) {
        const back = {
          ...s,
          min: [s.min[0], s.min[1] - Math.sign(moved), s.min[2]],
          max: [s.max[0], s.max[1] - Math.sign(moved), s.max[2]],
        } as Solid;
        expect(gap(back, name)).toBeLessThan(CLEAR);
      }
    }
  }
  const mine = "block, body end, far side";
  const kept = makeNeck(greedy([{ name: mine, y: 95 }]));
  const held = planHolding(kept, shop.machine, shop.cutters).sides.board.holding.find((s) => s.name === mine);
  expect(held?.kind === "box" && (held.min[1] + held.max[1]) / 2).toBeCloseTo(95, 9);
});

it("where nothing is in the way, the shop's cutters move nothing", () => {
  const neck = makeNeck({ ...bass, holding: { ...bass.holding, screw: { count: 2, head: 8, height: 3 } } });
  expect(planHolding(neck, shop.machine, shop.cutters)).toEqual(planHolding(neck, shop.machine));
});
