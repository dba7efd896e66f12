import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { planHolding } from "../../src/holding/index.ts";
import { makeNeck } from "../../src/neck/index.ts";
import { planCuts } from "../../src/paths/index.ts";
import { parseOrder, parseShop } from "../../src/spec/index.ts";
import { root } from "../sources.ts";

/**
 * On a board whose end curves in, the rows that cut the step under the overhang were only as long as the curve is wide there,
 * and left the step's corners standing. They must run past the shaft's own width.
 */
test("rows under a curved overhang run past the shaft's edges", () => {
  const order = parseOrder(readFileSync(join(root, "examples/loan-guitar-left.order.json"))).value;
  const shop = parseShop(readFileSync(join(root, "examples/stiff-router.shop.json"))).value;
  if (!order || !shop) throw new Error("the examples must be readable");
  const neck = makeNeck(order);
  const holding = planHolding(neck, shop.machine);
  const flats = planCuts(neck, holding, shop, { sides: ["carve"] }).cuts.find((c) => c.id === "carve-back-flats");
  if (!flats) throw new Error("the plan has no flats");
  const t = holding.sides.carve.neckToProgram;
  const floor = t[11];
  const ys: number[] = [];
  for (let k = 0; k < flats.moves.count; k++) if (Math.abs(flats.moves.z[k] - floor) < 1e-6) ys.push(flats.moves.y[k]);
  const [lo, hi] = neck.boardEdges(neck.places.shaftEnd);
  expect(ys.length).toBeGreaterThan(2);
  expect(Math.max(...ys) - Math.min(...ys)).toBeGreaterThan(hi - lo);
});
