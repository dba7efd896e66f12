import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { profileOf } from "../../cutting/shape.ts";
import { planHolding } from "../../holding/plan.ts";
import { makeMap } from "../../kernel/heightmap.ts";
import { makeStock } from "../../kernel/make-stock.ts";
import { MoveKind } from "../../kernel/moves.ts";
import { makeNeck } from "../../neck/neck.ts";
import { parseOrder, parseShop } from "../../spec/index.ts";
import type { ShopSpec } from "../../spec/types.ts";
import { contextOf } from "../plan.ts";
import { boardRadius, boardRough, stepShares } from "./board.ts";
import { conditions } from "./context.ts";

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

describe("roughing of the board", () => {
  test.each(["stiff-router", "light-router"])(
    "on the %s one side of every row is open, but for openings as deep as a slot may be",
    (name) => {
      const shop = read(parseShop(readFileSync(`examples/${name}.shop.json`)));
      const ctx = contextOf(neck, planHolding(neck, shop.machine).sides.board, shop);
      const { draft } = boardRough(ctx);
      if (!draft?.engagement) throw new Error("a radiused board is roughed, and says what it meets");
      const { cutter, moves: m, conditions: c } = draft;
      const slot = conditions(ctx, cutter, { step: cutter.diameter, kind: "slot", depth: c.depth, wood: { grain: 0 } });
      const { frame } = ctx;
      for (const at of [neck.places.boardFront + 5, (neck.places.boardFront + neck.places.boardEnd) / 2, neck.places.boardEnd - 5]) {
        const seen: { readonly y: number; readonly z: number }[] = [];
        let openings = 0;
        let deepest = frame.topZ;
        for (let k = 1; k < m.count; k++) {
          if (m.kind[k] !== MoveKind.line) continue;
          const [a, b] = [frame.nx(m.x[k - 1]), frame.nx(m.x[k])];
          if (a === b || Math.min(a, b) > at || Math.max(a, b) <= at) continue;
          const t = (at - a) / (b - a);
          const y = frame.ny(m.y[k - 1] + t * (m.y[k] - m.y[k - 1]));
          const z = m.z[k - 1] + t * (m.z[k] - m.z[k - 1]);
          deepest = Math.min(deepest, z);
          const here = Math.min(frame.topZ, ...seen.filter((p) => Math.abs(p.y - y) < c.step / 4).map((p) => p.z));
          const before = seen.slice();
          seen.push({ y, z });
          if (z > here - 1e-3) continue;
          expect(here - z).toBeLessThanOrEqual(c.depth + 0.02);
          // the fall of the board between two rows comes on top
          const beside = before.some((p) => Math.abs(Math.abs(p.y - y) - c.step) < c.step / 2 && p.z < z + c.depth / 2);
          if (beside) continue;
          openings++;
          // beside the crown a row without a neighbour is one where the layer comes down into wood: no deeper than the board falls over a row and a half
          const inner = y - 1.5 * Math.sign(y) * c.step;
          const fall = neck.boardTop(at, inner) - neck.boardTop(at, y);
          expect(here - z).toBeLessThanOrEqual(Math.abs(y) < c.step ? slot.depth + 0.02 : fall + 0.02);
        }
        expect(openings).toBeGreaterThan(0);
        expect(deepest).toBeLessThan(frame.topZ - 0.2);
      }
    },
  );
});
