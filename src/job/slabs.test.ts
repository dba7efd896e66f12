import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { planHolding } from "../holding/index.ts";
import { makeNeck } from "../neck/index.ts";
import { planCuts } from "../paths/index.ts";
import { parseOrder, parseShop } from "../spec/index.ts";
import { inProcess, type Pool } from "./pool.ts";
import { planBothSides } from "./sides.ts";

const order = parseOrder(readFileSync("examples/loan-ukulele.order.json")).value!;
const shop = parseShop(readFileSync("examples/light-router.shop.json")).value!;

test("a clearing in many slabs comes out the same with its slabs as tasks of their own", async () => {
  const ran: string[] = [];
  const pool = inProcess();
  const watched: Pool = {
    ...pool,
    run(name, input, progress, soon) {
      ran.push(name);
      // as through another thread: plain data both ways
      return pool.run(name, structuredClone(input), progress, soon).then((output) => structuredClone(output));
    },
  };
  const apart = await planBothSides(order, shop, watched, () => undefined);
  expect(ran.filter((n) => n === "slab").length).toBeGreaterThanOrEqual(2);
  const neck = makeNeck(order);
  const together = planCuts(neck, planHolding(neck, shop.machine, shop.cutters), shop);
  expect(apart.cuts.map((c) => c.id)).toEqual(together.cuts.map((c) => c.id));
  apart.cuts.forEach((c, k) => {
    for (const name of ["kind", "x", "y", "z", "feed", "sweep"] as const)
      expect(Buffer.compare(bytes(c.moves[name]), bytes(together.cuts[k].moves[name])), `${c.id} ${name}`).toBe(0);
  });
  expect(apart.findings).toEqual(together.findings);
});

const bytes = (a: Float64Array | Uint8Array): Buffer => Buffer.from(a.buffer, a.byteOffset, a.byteLength);
