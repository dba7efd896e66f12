/** Feeds along every cut of a whole plan. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { planHolding } from "../../src/holding/index.ts";
import { MoveKind } from "../../src/kernel/moves.ts";
import { makeNeck } from "../../src/neck/index.ts";
import { parseOrder, parseShop } from "../../src/spec/index.ts";
import { SHOPS } from "../jobs.ts";
import { planKept } from "../kept.ts";
import { root } from "../sources.ts";

describe.each(SHOPS)("feeds along the cuts of a ukulele's neck on the %s", (name) => {
  const order = parseOrder(readFileSync(join(root, "examples/loan-ukulele.order.json"))).value!;
  const shop = parseShop(readFileSync(join(root, `examples/${name}.shop.json`))).value!;
  const neck = makeNeck(order);
  const plan = planKept(neck, planHolding(neck, shop.machine), shop);
  const { acceleration } = shop.machine;
  // whole mm/min, and the last bit of a move's length
  const rounding = 1 / 60 + 1e-6;

  test("are never above the cut's own, point no more than the plunge feed straight down, and keep arcs within the acceleration", () => {
    expect(plan.cuts.length).toBeGreaterThan(10);
    for (const { id, moves: m, conditions: c } of plan.cuts) {
      let [px, py, pz] = m.start;
      for (let k = 0; k < m.count; k++) {
        const kind = m.kind[k];
        const length = Math.hypot(m.x[k] - px, m.y[k] - py, m.z[k] - pz);
        if (kind === MoveKind.line || kind === MoveKind.arc) {
          const v = m.feed[k];
          expect(v, id).toBeGreaterThan(0);
          // a fret slot's last way cuts nothing and only carries the chips out of it, at twice the feed
          const most = id === "board-fret-slots" && Math.abs(v - 2 * c.feed) < rounding ? 2 : 1;
          expect(v, `${id}, move ${k}`).toBeLessThanOrEqual(most * c.feed + rounding);
          if (kind === MoveKind.line && pz > m.z[k] + 1e-9)
            expect((v * (pz - m.z[k])) / length, `${id}, move ${k}`).toBeLessThanOrEqual(c.plunge + rounding);
          if (kind === MoveKind.arc && m.plane[k] === 0) {
            const r = Math.hypot(px - m.cx[k], py - m.cy[k]);
            expect((v * v) / r, `${id}, move ${k}`).toBeLessThanOrEqual(Math.min(acceleration.x, acceleration.y) * 1.01 + 0.2);
          }
        }
        [px, py, pz] = [m.x[k], m.y[k], m.z[k]];
      }
    }
  });

  test("no cut waits in the wood", () => {
    for (const { id, moves } of plan.cuts) expect(moves.kind.includes(MoveKind.dwell), id).toBe(false);
  });
});
