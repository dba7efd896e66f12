import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { profileOf } from "../../cutting/shape.ts";
import { planHolding } from "../../holding/plan.ts";
import { makeMap } from "../../kernel/heightmap.ts";
import { makeStock } from "../../kernel/make-stock.ts";
import { makeNeck } from "../../neck/neck.ts";
import { parseOrder, parseShop } from "../../spec/index.ts";
import type { ShopSpec } from "../../spec/types.ts";
import { contextOf } from "../plan.ts";
import { boardRadius, stepShares } from "./board.ts";

const read = <T>(r: { readonly value?: T | null | undefined }): NonNullable<T> => {
  if (!r.value) throw new Error("the examples must be readable");
  return r.value;
};
const stiff = read(parseShop(readFileSync("examples/stiff-router.shop.json")));
// a board whose radius varies along it
const neck = makeNeck(read(parseOrder(readFileSync("examples/loan-bass-fretless.order.json"))));
const { cusp } = neck.order.cutting;

function withCutters(prefers: ShopSpec["boardRadius"]): ReturnType<typeof contextOf> {
  const text = JSON.parse(readFileSync("examples/stiff-router.shop.json", "utf8"));
  const bull = { ...text.cutters[0], number: 21, name: "8 mm bull", shape: "bull", cornerRadius: 2 };
  const shop = read(parseShop(JSON.stringify({ ...text, cutters: [...text.cutters, bull], ...(prefers ? { boardRadius: prefers } : {}) })));
  return contextOf(neck, planHolding(neck, shop.machine).sides.board, shop);
}

describe("the board's radius", () => {
  test.each([undefined, "bull", "flat"] as const)("by the shop's %s: the same cusp, nothing below the surface", (prefers) => {
    const ctx = withCutters(prefers);
    const { draft, findings } = boardRadius(ctx);
    if (!draft) throw new Error(findings.map((f) => f.says).join(" "));
    expect(draft.cutter.shape).toBe(prefers ?? "ball");
    if (prefers) expect(draft.why).toMatch(/\d+ rows of .* a ball as wide needs \d+/);
    const { frame } = ctx;
    const p = neck.places;
    for (const at of [p.boardFront + 3, p.boardEnd - 6]) {
      const cell = 0.05;
      const xs = [frame.x(at), frame.x(at + 1)].sort((a, b) => a - b);
      const map = makeMap(xs[0], frame.stock.min[1], xs[1], frame.stock.max[1], cell, frame.topZ);
      makeStock(map).cut(profileOf(draft.cutter), draft.moves, 0, draft.moves.count);
      let above = 0;
      let below = 0;
      for (let j = 0; j < map.ny; j++)
        for (let i = 0; i < map.nx; i++) {
          const x = frame.nx(map.x0 + i * cell);
          const y = frame.ny(map.y0 + j * cell);
          const [lo, hi] = neck.boardEdges(x);
          if (y < lo || y > hi) continue;
          const off = map.z[j * map.nx + i] - frame.z(neck.boardTop(x, y));
          above = Math.max(above, off);
          below = Math.max(below, -off);
        }
      expect(above).toBeLessThanOrEqual(cusp + 0.002);
      expect(above).toBeGreaterThan(cusp / 3);
      expect(below).toBeLessThanOrEqual(0.005);
    }
  });

  test("a shop without the kind it prefers is told so", () => {
    const neckless = contextOf(neck, planHolding(neck, stiff.machine).sides.board, { ...stiff, boardRadius: "bull" });
    expect(boardRadius(neckless).findings.map((f) => f.rule)).toEqual(["PA-001"]);
  });

  test("steps of an edge are all as high, none higher than the cusp", () => {
    const shares = stepShares(2.19, 0.01, 1.2);
    expect(shares[shares.length - 1]).toBeCloseTo(1.2, 12);
    for (let k = 1; k < shares.length; k++) {
      const step = (2.19 * (shares[k] ** 2 - shares[k - 1] ** 2)) / 1.44;
      expect(step).toBeCloseTo(2.19 / 219, 9);
    }
  });
});
