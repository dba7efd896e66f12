import { describe, expect, test } from "vitest";
import { MoveBuilder } from "../kernel/moves.ts";
import type { CutterSpec, ShopSpec } from "../spec/types.ts";
import { type CutRow, costOf, cutterUse, lengthBelow } from "./cut-rows.ts";

const cutter = (number: number, more: Partial<CutterSpec> = {}): CutterSpec => ({ number, name: `c${number}`, ...more }) as CutterSpec;
const shop = (cutters: readonly CutterSpec[], costs?: ShopSpec["costs"]): ShopSpec =>
  ({ cutters, ...(costs ? { costs } : {}) }) as unknown as ShopSpec;
const row = (number: number, inWood: number): CutRow => ({
  cut: { cutter: number } as CutRow["cut"],
  conditions: {} as CutRow["conditions"],
  seconds: 1,
  inWood,
});

describe("time, wear and cost", () => {
  test("length in wood counts feed moves that reach below the face, arcs by their arc", () => {
    const b = new MoveBuilder([0, 0, 20]);
    b.rapid(10, 0, 20);
    b.lineTo(10, 0, 15, 5); // above the face
    b.lineTo(10, 0, 8, 5); // through it: all of it counts
    b.lineTo(40, 0, 8, 5);
    b.arcTo(40, 10, 8, 40, 5, 8, Math.PI, 5);
    b.rapid(40, 10, 20);
    expect(lengthBelow(b.list(), 12)).toBeCloseTo(7 + 30 + 5 * Math.PI, 9);
  });

  test("wear is the share of a stated life; cost only from stated rates", () => {
    const cutters = [cutter(1, { life: 200_000, price: 20 }), cutter(2)];
    const rows = [row(1, 30_000), row(2, 5_000), row(1, 20_000)];
    const use = cutterUse(rows, shop(cutters));
    expect(use.map((u) => [u.cutter.number, u.inWood, u.life])).toEqual([
      [1, 50_000, 0.25],
      [2, 5_000, null],
    ]);
    const programs = [{ seconds: 1800 }, { seconds: 1740 }];
    expect(costOf(programs, use, shop(cutters))).toBeNull();
    expect(costOf(programs, use, shop([cutter(2)], { currency: "EUR" }))).toMatchObject({ total: 5 });
    const cost = costOf(programs, use, shop(cutters, { currency: "EUR", machineHour: 30, cutterChange: 30 }));
    expect(cost).toMatchObject({ machine: 30, cutters: 5, total: 35 });
    expect(cost?.says).toContain("35.00 EUR");
    expect(cost?.says).toContain("without T2");
    expect(costOf(programs, [], shop([], { currency: "EUR" }))).toBeNull();
  });
});
