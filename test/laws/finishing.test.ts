/** The back's finishing on what its moves leave of the wood: a smaller ball only where the larger cannot reach, rows across where those are faster. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { clockLimits } from "../../src/cutting/clock-limits.ts";
import { profileOf } from "../../src/cutting/shape.ts";
import { planHolding } from "../../src/holding/index.ts";
import { timeOf } from "../../src/kernel/clock.ts";
import { makeMap } from "../../src/kernel/heightmap.ts";
import { makeStock } from "../../src/kernel/make-stock.ts";
import { makeNeck } from "../../src/neck/index.ts";
import type { Neck } from "../../src/neck/types.ts";
import { carveFinish, carveRest } from "../../src/paths/operations/carve-finish.ts";
import type { Context, Draft, Result } from "../../src/paths/operations/context.ts";
import { inwardRanges, reachOf } from "../../src/paths/operations/reach-map.ts";
import { contextOf } from "../../src/paths/plan.ts";
import { parseOrder, parseShop } from "../../src/spec/index.ts";
import type { ShopSpec } from "../../src/spec/types.ts";
import { root } from "../sources.ts";

const read = (file: string): string => readFileSync(join(root, "examples", file), "utf8");
const must = <T>(value: T | null | undefined): NonNullable<T> => {
  if (value === null || value === undefined) throw new Error("the examples must be readable");
  return value;
};
const guitar = JSON.parse(read("loan-guitar.order.json"));
const stiff = must(parseShop(read("stiff-router.shop.json")).value);
const cutter = (n: number): ShopSpec["cutters"][number] => must(stiff.cutters.find((c) => c.number === n));

function contextFor(heel: object, shop: ShopSpec): Context {
  const order = must(parseOrder(JSON.stringify({ ...guitar, heel: { ...guitar.heel, ...heel } })).value);
  const neck = makeNeck(order);
  return contextOf(neck, planHolding(neck, shop.machine).sides.carve, shop);
}

const draftOf = (r: Result): Draft => must(r.draft);

/** Largest distance along the surface's normal left above it and cut below it, over x = a..b, of the wood that these cuts leave. */
function leftOver(
  ctx: Context,
  cuts: readonly Draft[],
  a: number,
  b: number,
  cell = 0.1,
): { readonly above: number; readonly below: number } {
  const { neck, frame } = ctx;
  const xs = [frame.x(a), frame.x(b)];
  const [lo, hi] = neck.edges((a + b) / 2).map(frame.y);
  const map = makeMap(Math.min(...xs), Math.min(lo, hi) - 6, Math.max(...xs), Math.max(lo, hi) + 6, cell, frame.topZ);
  const wood = makeStock(map);
  for (const d of cuts) wood.cut(profileOf(d.cutter), d.moves, 0, d.moves.count);
  let above = 0;
  let below = 0;
  for (let j = 0; j < map.ny; j++)
    for (let i = 0; i < map.nx; i++) {
      const x = frame.nx(map.x0 + i * cell);
      const y = frame.ny(map.y0 + j * cell);
      const edges = neck.edges(x);
      if (y < edges[0] + 0.03 || y > edges[1] - 0.03) continue;
      // positive where wood stands on the back
      const off = neck.backDistance(x, y, -(map.z[j * map.nx + i] - frame.tz));
      above = Math.max(above, off);
      below = Math.max(below, -off);
    }
  return { above, below };
}

const transition = (neck: Neck): readonly [number, number] => [neck.places.carveEnd, neck.places.heelFront - 0.05];

describe("a heel that rises within a centimetre", () => {
  const small = { ...cutter(5), number: 20, diameter: 4, fluteLength: 20, chip: { min: 0.015, max: 0.07 }, maxDepth: 4 };
  const ctx = contextFor({ transition: 10 }, { ...stiff, cutters: [...stiff.cutters, small] });
  const { neck } = ctx;
  const { cusp } = neck.order.cutting;

  test("a smaller ball takes what the larger leaves, and goes nowhere else", () => {
    const [finish, rest] = [draftOf(carveFinish(ctx)), draftOf(carveRest(ctx))];
    expect([finish.cutter.number, rest.cutter.number]).toEqual([4, 20]);
    const [a, b] = transition(neck);
    const bare = leftOver(ctx, [finish], a, b);
    const both = leftOver(ctx, [finish, rest], a, b);
    // what the map of the plan says is left is left, up to the rows' own cusp
    const said = reachOf(neck, finish.cutter, inwardRanges(neck)).leaves().most;
    expect(said).toBeGreaterThan(0.03);
    expect(bare.above).toBeGreaterThan(said - 0.003);
    expect(bare.above).toBeLessThan(said + cusp + 0.002);
    expect(both.above).toBeLessThanOrEqual(cusp + 0.002);
    for (const w of [bare, both]) expect(w.below).toBeLessThanOrEqual(0.01);
    // never far from where the larger one lifts: within the transition and an overlap
    const { moves } = rest;
    for (let k = 0; k < moves.count; k++) {
      if (moves.kind[k] === 0) continue;
      const x = ctx.frame.nx(moves.x[k]);
      expect(x > a - 4 && x < b + 4).toBe(true);
    }
    const minutes = (d: Draft): number => timeOf(d.moves, clockLimits(stiff.machine)).seconds / 60;
    expect(minutes(rest)).toBeLessThan(minutes(finish) / 10);
  });

  test("one that reaches everywhere has nothing to leave; none that does is a stop", () => {
    const wide = contextFor({}, stiff);
    expect(carveRest(wide).draft).toBeNull();
    expect(draftOf(carveFinish(wide)).cutter.number).toBe(4);
    expect(carveFinish(contextFor({ transition: 5 }, stiff)).findings.map((f) => f.rule)).toEqual(["PA-001"]);
  });
});

describe("rows along or across", () => {
  test("across, with level passes down the edges, where the axis along the neck is slow to speed up; the same cusp", () => {
    const { machine } = stiff;
    const heavy = { ...machine.acceleration, [machine.along]: 10 };
    const shop: ShopSpec = { ...stiff, machine: { ...machine, acceleration: heavy } };
    const ctx = contextFor({}, shop);
    const { neck } = ctx;
    const finish = draftOf(carveFinish(ctx));
    expect(finish.why).toContain("Rows across the neck where it is no steeper than 60 degrees, level passes along its edges");
    const middle = (neck.places.carveStart + neck.places.carveEnd) / 2;
    const w = leftOver(ctx, [finish], middle, middle + 25);
    expect(w.above).toBeLessThanOrEqual(neck.order.cutting.cusp + 0.002);
    expect(w.below).toBeLessThanOrEqual(0.01);
    const seam = leftOver(ctx, [finish], neck.places.carveStart - 4, neck.places.carveStart + 6);
    expect(seam.above).toBeLessThanOrEqual(neck.order.cutting.cusp + 0.002);
    expect(seam.below).toBeLessThanOrEqual(0.01);
    // what the words say of the time is what the clock says of the whole cut
    const [said, along] = [/edges: ([\d.]+) min/, /would take ([\d.]+) for/].map((r) => Number(r.exec(finish.why)?.[1]));
    expect(said).toBeCloseTo(timeOf(finish.moves, clockLimits(shop.machine)).seconds / 60, 1);
    expect(said).toBeLessThan(along);
  });
});
