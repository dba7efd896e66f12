import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { planHolding } from "../../holding/index.ts";
import { makeNeck } from "../../neck/index.ts";
import { parseOrder, parseShop } from "../../spec/index.ts";
import type { OrderSpec } from "../../spec/types.ts";
import { jobSides } from "../job-file.ts";
import type { Pool } from "../pool.ts";
import { proveSides } from "../sides.ts";
import { TASKS } from "../tasks.ts";
import { digest } from "./digest.ts";
import type { Keeper, Kept } from "./keeper.ts";

const example = (name: string): Uint8Array => readFileSync(new URL(`../../../examples/${name}`, import.meta.url));
const order: OrderSpec = parseOrder(example("loan-ukulele.order.json")).value!;
const shop = parseShop(example("stiff-router.shop.json")).value!;
const cutter = shop.cutters.find((c) => c.shape === "flat")!.number;
const text = (depth: number): Uint8Array => {
  const rows = Array.from({ length: 40 }, (_, k) => `G1 X${20 + k} Y${k % 2 === 0 ? 60 : 300} Z${(depth - k / 10).toFixed(2)}`);
  return new TextEncoder().encode(["G21 G90 G17 G94", "G0 Z60", "F1500", ...rows, "G0 Z60", "M2", ""].join("\n"));
};

/** In memory; says what was put. */
class Memory implements Keeper {
  readonly map = new Map<string, unknown>();
  puts: Kept[] = [];
  get<T>(kind: Kept, inputs: string): T | null {
    return (this.map.get(`${kind} ${inputs}`) as T | undefined) ?? null;
  }
  put(kind: Kept, inputs: string, value: unknown): void {
    if (kind !== "asked") this.puts.push(kind);
    this.map.set(`${kind} ${inputs}`, structuredClone(value));
  }
}

async function proved(keeper: Keeper | null, asked: OrderSpec, boardDepth = 40): Promise<string> {
  const pool: Pool = {
    keeper,
    warm: () => undefined,
    run: (name, input) =>
      Promise.resolve((TASKS[name] as unknown as (i: unknown, p: () => void, k: Keeper | null) => never)(input, () => undefined, keeper)),
    close: async () => undefined,
  };
  const programs = (["board", "carve"] as const).map((side) => ({
    file: `${side}.ngc`,
    side,
    cutter,
    cuts: [],
    text: text(side === "board" ? boardDepth : 40),
  }));
  const sides = jobSides(planHolding(makeNeck(asked), shop.machine));
  const steps = programs.map((p) => ({ program: p.file }));
  return digest(await proveSides({ order: asked, shop, sides, programs, steps, cusps: {}, cell: 1 }, pool, () => undefined));
}

test("a side whose programs and whose features are what they were is not cut and compared anew for a change on the other; what comes out is the same", async () => {
  const memory = new Memory();
  expect(await proved(memory, order)).toBe(await proved(null, order));
  const all = memory.puts.splice(0);
  expect(all.filter((k) => k === "removed").length).toBe(4);
  expect(await proved(memory, structuredClone(order))).toBe(await proved(null, order));
  expect(memory.puts).toEqual([]);

  // another bore: the board side's text is another, and what is looked at on it
  const { tuners } = order.headstock;
  const wider: OrderSpec = { ...order, headstock: { ...order.headstock, tuners: { ...tuners, post: tuners.post + 0.2 } } };
  expect(await proved(memory, wider, 39.9)).toBe(await proved(null, wider, 39.9));
  // of both sides' bands, and of their parts, only the board side's
  expect(memory.puts.filter((k) => k === "removed").length).toBe(2);
  expect(memory.puts.filter((k) => k === "compared").length).toBe(all.filter((k) => k === "compared").length / 2);
});
