/** A neck on a bed shorter than itself: the simulated machine against the seam's budget, and the proof of all sections as one piece. */
import { describe, expect, test } from "vitest";
import { planHolding } from "../src/holding/index.ts";
import type { SectionPlan } from "../src/holding/sections/types.ts";
import { readOrder } from "../src/job/source.ts";
import { makeNeck } from "../src/neck/index.ts";
import { proveBoth, proveSide } from "../src/proof/index.ts";
import type { ProofInput } from "../src/proof/types.ts";
import { parseShop } from "../src/spec/index.ts";
import { orderSource } from "./examples.ts";
import { planned } from "./jobs.ts";
import { proveSideKept } from "./kept.ts";
import { seamTrials } from "./seam-trials.ts";
import { read } from "./sources.ts";

const shop = parseShop(read("examples/small-router.shop.json")).value!;

describe("the demo neck on a bed of 400 x 300 mm", () => {
  const neck = makeNeck(readOrder(orderSource("examples/loan-guitar.order.json")).value!);
  const holding = planHolding(neck, shop.machine);

  test("its seam stays within its limits in 99 of 100 trials of the simulated machine, and spreads as the budget says", () => {
    const plan = holding.sections as SectionPlan;
    expect(plan.count).toBe(2);
    const r = seamTrials(neck, holding, shop.machine, 400, 20260101);
    expect(r.within).toBeGreaterThanOrEqual(0.99);
    for (const [id, s] of Object.entries(r.sigma)) {
      expect(Math.abs(s.found / s.said - 1), id).toBeLessThan(0.12);
      expect(s.worst, id).toBeLessThan(plan.budget.find((o) => o.id === id)?.worst ?? 0);
    }
  });

  test("with its pins over a grid of holes, askew, the seam spreads as the budget says then, scale and squareness counted", () => {
    const grid = { holes: "plain", pitch: 20, first: { x: 12, y: 12 }, diameter: 6 } as const;
    const machine = { ...shop.machine, grid };
    const askew = makeNeck({ ...neck.order, blank: { ...neck.order.blank, rotation: 0.014 } });
    const plan = planHolding(askew, machine);
    const r = seamTrials(askew, plan, machine, 1000, 20260101);
    for (const [id, s] of Object.entries(r.sigma)) {
      expect(Math.abs(s.found / s.said - 1), id).toBeLessThan(0.12);
      expect(s.worst, id).toBeLessThan(plan.sections?.budget.find((o) => o.id === id)?.worst ?? 0);
    }
  });

  test("a machine that comes back five times worse breaks them, and the budget had said so", () => {
    const poor = { ...shop.machine, repeat: 0.1 };
    const plan = planHolding(neck, poor);
    expect(plan.findings.map((f) => f.rule)).toContain("HO-019");
    expect(seamTrials(neck, plan, poor, 200, 20260101).within).toBeLessThan(0.99);
  });
});

describe("a ukulele's neck in two sections, proved as a whole", () => {
  const { input, findings } = planned("loan-ukulele", "small-router", 0.5);
  const stops = (i: ProofInput, side: "board" | "carve"): string[] =>
    proveSide(i, side)
      .findings.filter((f) => f.severity === "stop")
      .map((f) => f.rule);

  test("nothing stops it: no contact, no gouge, nothing left, every program within the travel, the pins in their holes", () => {
    expect(findings.filter((f) => f.severity === "stop")).toEqual([]);
    const sides = (["board", "carve"] as const).map((side) => proveSideKept(input, side));
    const both = proveBoth(input, sides);
    expect([...sides.flatMap((s) => s.findings), ...both.findings].filter((f) => f.severity === "stop")).toEqual([]);
    expect(new Set(input.programs.map((p) => `${p.side} ${p.section}`))).toEqual(new Set(["board 1", "board 2", "carve 1", "carve 2"]));
  });

  test("without its index holes, without the word of a shift, or in another section's setting the proof stops it", () => {
    const bores = input.programs.find((p) => p.cuts.includes("board-index-2"))!;
    // the programs up to the second section's first, that is what the rule looks at
    const second = input.programs.findIndex((p) => p.side === "board" && p.section === 2);
    const few = (programs: ProofInput["programs"], steps = input.steps): ProofInput => ({
      ...input,
      programs,
      steps: steps.filter((s) => !("program" in s) || programs.some((p) => p.file === s.program)),
    });
    const early = input.programs.slice(0, 1).concat(input.programs[second]);
    expect(stops(few(early), "board")).toContain("PF-262");
    expect(early).not.toContain(bores);
    const noHand = few(
      early,
      input.steps.filter((s) => "program" in s),
    );
    expect(stops(noHand, "board")).toContain("PF-206");
    const wrong = early.map((p) => ({ ...p, section: 3 }));
    expect(stops(few(wrong), "board")).toContain("PF-206");
  });
});
