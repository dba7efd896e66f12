/** The numbers that every neck must hold, on the proof's own figures, for every order that is cut and both shops. */
import { describe, expect, test } from "vitest";
import { gapOf, waysOf } from "../src/holding/sweep.ts";
import { leastGaps } from "./clearing.ts";
import { CUT_ORDERS, planned, plannedFor, SHOPS } from "./jobs.ts";
import { proveKept } from "./kept.ts";

describe("numbers to hold", () => {
  // the demo in both shops, the others in turn in one of them; `npm run figures` makes and proves all of them in all shops
  const both = CUT_ORDERS.flatMap((o, k) => SHOPS.filter((_, j) => k === 0 || (k + j) % 2 === 0).map((s) => [o, s] as const));
  // the same neck as the loan guitar but for its headstock: one shop shows it
  test.each([...both, ["loan-guitar-drawn", "stiff-router"] as const])("%s on %s", (order, shop) => {
    const { input, findings, plan } = plannedFor(order, shop, 0.25);
    const proof = proveKept(input);
    const stops = [...findings, ...proof.findings].filter((f) => f.severity === "stop").map((f) => `${f.rule} ${f.where}: ${f.says}`);
    expect(stops).toEqual([]);
    const measures = proof.sides.flatMap((s) => s.measures);
    const worst = (what: RegExp): number =>
      Math.max(...measures.filter((m) => what.test(m.what)).map((m) => Math.abs(m.measured - m.ordered)));
    // a fretless board may have lines; every example has slots
    expect(worst(/^centreline in the program/)).toBeLessThanOrEqual(0.005);
    expect(worst(/^centreline in the wood/)).toBeLessThanOrEqual(0.02);
    expect(worst(/wall|diameter|centre/)).toBeLessThanOrEqual(0.02);
    const cusp = input.neck.order.cutting.cusp;
    // what rows finish comes down to their cusp; the rest is the arcs' and the text's share
    const rowed = ["board", "ramp", "carve", "head transition", "heel transition"];
    const surfaces = ["board", "ramp", "headstock face", "carve", "head transition", "heel transition", "headstock back", "heel"];
    const regions = proof.sides.flatMap((s) => s.regions);
    for (const name of surfaces) {
      const r = regions.find((q) => q.region === name);
      expect(r?.cells, name).toBeGreaterThan(100);
      expect(r?.worstBelow, name).toBeLessThanOrEqual(0.01);
      expect(r?.worstAbove, name).toBeLessThanOrEqual(cusp + (rowed.includes(name) ? 0.002 : 0.02));
    }
    expect(proof.findings.filter((f) => f.rule === "PF-231" || f.rule === "PF-232")).toEqual([]);
    // nothing that holds stands nearer than 2 mm to what turns, and the plan says how near: seen here from the programs' text
    for (const side of input.sides) {
      const gaps = leastGaps(input, side.name);
      const said = plan.clear?.find((c) => c.side === side.name);
      // and what was reckoned before any cut was planned promised no more
      const ways = waysOf(input.neck, input.cutters, side.name, side.neckToProgram, side.stock.max[2]);
      const promised = Math.min(...side.holding.filter((s) => s.role !== "support").map((s) => gapOf(s, side.neckToProgram, ways)));
      expect(promised).toBeLessThanOrEqual(gaps.standing + 0.01);
      for (const [roles, stated] of [
        [gaps.standing, said?.standing?.mm],
        [gaps.under, said?.under?.mm],
      ] as const) {
        expect(roles).toBeGreaterThan(2);
        expect(Math.abs(roles - Math.min(60, stated ?? 60))).toBeLessThan(0.6);
      }
    }
  });

  // on the light router it takes three times as long and shows nothing else
  test("the demo, both sides roughed, rested, finished: the plan as a whole", () => {
    const { input, findings } = planned("loan-guitar", "stiff-router", 0.4, undefined, { plan: "rest" });
    const first = input.programs.map((p) => p.side);
    expect(first.filter((s, k) => k > 0 && s !== first[k - 1]).length).toBe(3);
    const proof = proveKept(input);
    expect([...findings, ...proof.findings].filter((f) => f.severity === "stop").map((f) => `${f.rule} ${f.where}: ${f.says}`)).toEqual([]);
  });
});
