import { describe, expect, it } from "vitest";
import { guitar } from "../../neck/fixture.test-data.ts";
import { makeNeck } from "../../neck/neck.ts";
import { machine } from "../holding.test-data.ts";
import { budgetOf } from "./budget.ts";
import { neckBudget } from "./neck.ts";
import { draw, uniform, variance } from "./random.ts";
import type { Contributor, Outcome } from "./types.ts";

const c = (id: string, spread: Contributor["spread"], mean = 0): Contributor => ({ id, says: id, spread, mean, source: "test" });
const o = (sensitivity: Record<string, number>, limit = 1): Outcome => ({ id: "y", says: "y", unit: "mm", limit, sensitivity });

describe("draws against closed forms", () => {
  it.each([
    { kind: "uniform", half: 2 },
    { kind: "triangular", half: 3 },
    { kind: "normal", sigma: 0.7 },
  ] as const)("$kind has mean 0 and its variance", (spread) => {
    const next = uniform(7);
    const n = 200_000;
    let s = 0;
    let q = 0;
    for (let k = 0; k < n; k++) {
      const v = draw(spread, next);
      s += v;
      q += v * v;
    }
    const sigma = Math.sqrt(variance(spread));
    // four standard errors
    expect(Math.abs(s / n)).toBeLessThan((4 * sigma) / Math.sqrt(n));
    expect(Math.abs(q / n / variance(spread) - 1)).toBeLessThan(4 * Math.sqrt(2 / n));
  });
  it("the generator is the minimal standard: the 10,000th number after 1 is 399268537 with the multiplier 48271", () => {
    let x = 1;
    for (let k = 0; k < 10_000; k++) x = (48271 * x) % 2147483647;
    expect(x).toBe(399268537);
  });
});

describe("a linear budget", () => {
  const parts = [
    c("a", { kind: "uniform", half: 0.3 }),
    c("b", { kind: "normal", sigma: 0.2 }, 0.05),
    c("d", { kind: "triangular", half: 0.4 }),
  ];
  const [b] = budgetOf(parts, [o({ a: 2, b: -1, d: 0.5 })], 100_000, 3);
  it("adds variances, worst cases and means", () => {
    expect(b.sigma).toBeCloseTo(Math.sqrt((4 * 0.09) / 3 + 0.04 + (0.25 * 0.16) / 6), 12);
    expect(b.worst).toBeCloseTo(0.05 + 0.6 + 0.6 + 0.2, 12);
    expect(b.mean).toBeCloseTo(-0.05, 12);
    expect(b.shares.reduce((s, p) => s + p.share, 0)).toBeCloseTo(1, 12);
    expect(b.shares[0].id).toBe("a");
  });
  it("is met by the trials, the same with the same seed", () => {
    expect(Math.abs(b.drawn.sigma / b.sigma - 1)).toBeLessThan(4 / Math.sqrt(200_000));
    expect(Math.abs(b.drawn.mean - b.mean)).toBeLessThan((4 * b.sigma) / Math.sqrt(100_000));
    expect(budgetOf(parts, [o({ a: 2, b: -1, d: 0.5 })], 100_000, 3)[0]).toEqual(b);
  });
  it("of one uniform error has its quantiles, of one normal error its tail", () => {
    const [u] = budgetOf([c("a", { kind: "uniform", half: 1 })], [o({ a: 1 }, 0.9)], 100_000);
    expect(u.drawn.within99).toBeCloseTo(0.99, 2);
    expect(Math.abs(u.drawn.beyond - 0.1)).toBeLessThan(0.005);
    const [n] = budgetOf([c("a", { kind: "normal", sigma: 1 })], [o({ a: 1 }, 1.959964)], 100_000);
    expect(Math.abs(n.drawn.beyond - 0.05)).toBeLessThan(0.003);
    expect(n.drawn.within99).toBeCloseTo(2.5758, 1);
  });
});

describe("the budget of a neck", () => {
  const neck = makeNeck(guitar);
  it("says what contributes most, and finds nothing likely to break where the figures are good", () => {
    const fine = neckBudget(neck, machine, { scale: 0.05, square: 0.02, zero: 0.02, edge: 0.02, blankThickness: 0.03 }, 4000);
    expect(fine.outcomes.map((x) => x.id)).toEqual(expect.arrayContaining(["margin", "step", "thickness", "fret", "cents"]));
    expect(fine.findings).toEqual([]);
    for (const x of fine.outcomes) expect(x.drawn.within99).toBeLessThanOrEqual(x.worst);
  });
  it("a note's cents follow from the scale: the first order of the exact ratio", () => {
    const one = neckBudget(neck, { ...machine, repeat: 1e-9 }, { scale: 1, square: 0 }, 2000).outcomes.find((x) => x.id === "cents");
    const d = neck.fretAt(12);
    const exact = 1200 * Math.log2((guitar.scale - d) / (guitar.scale - 1.001 * d));
    expect(one?.worst).toBeGreaterThan(exact * 0.995);
    expect(one?.worst).toBeLessThan(exact * 1.005);
  });
  it("turned on pins through the waste, neither the datum edge nor the first side's zero enters the step between the sides", () => {
    const pinned = makeNeck({ ...guitar, holding: { ...guitar.holding, way: "waste-pins" } });
    const known = { edge: 0.2, zero: 0.15 };
    const worst = (n: typeof neck, id: string): number => neckBudget(n, machine, known, 100).outcomes.find((x) => x.id === id)?.worst ?? 0;
    expect(worst(neck, "step") - worst(pinned, "step")).toBeCloseTo(0.2 + 0.15 * (Math.SQRT2 - 1), 9);
    expect(worst(neck, "margin")).toBe(worst(pinned, "margin"));
  });
  it("HO-017: a machine far out of square is said to break a limit, and what to measure first", () => {
    const { findings } = neckBudget(neck, machine, { square: 5, scale: 3 }, 4000);
    expect(findings.map((f) => f.rule)).toContain("HO-017");
    expect(findings.find((f) => f.where.includes("step"))?.tryThis).toMatch(/squareness/);
  });
});
