import { fileURLToPath } from "node:url";
import { Worker } from "node:worker_threads";
import { makePool, type Pool } from "../src/job/pool.ts";
import type { RemoveInput } from "../src/job/tasks.ts";
import { bandsOf } from "../src/kernel/make-stock.ts";
import { emptyMap } from "../src/proof/index.ts";
import type { ShopSpec } from "../src/spec/types.ts";
import { NY } from "./data.ts";
import type { Told } from "./worker.ts";

/* What a second thread brings: the same work in one thread and in two, in turns, by the clock; the best turn of each counts. */

const [WARM, TURNS] = [3, 5];

async function best(ways: readonly (() => Promise<unknown>)[]): Promise<number[]> {
  const least = ways.map(() => Number.POSITIVE_INFINITY);
  for (let turn = -WARM; turn < TURNS; turn++)
    for (const [k, way] of ways.entries()) {
      const t = performance.now();
      await way();
      if (turn >= 0) least[k] = Math.min(least[k], performance.now() - t);
    }
  return least;
}

const told = (what: string, one: number, two: number): void =>
  console.log(`${what}: ${one.toFixed(0)} ms in one thread, ${two.toFixed(0)} in two: ${(one / two).toFixed(2)} x as quick (goal 1.7)`);

/** Programs of one side cut from its blank. */
async function cut(pool: Pool, input: Omit<RemoveInput, "band" | "into">): Promise<void> {
  const { map, bands } = emptyMap(input.sides[0], input.cell, (bytes) => new SharedArrayBuffer(bytes));
  await Promise.all(Array.from({ length: bands }, (_, band) => pool.run("remove", { ...input, band, into: map.z })));
}

/** The wood of each side of a job, in the proof's own workers. */
export async function removalByWorkers(inputs: readonly Omit<RemoveInput, "band" | "into">[]): Promise<void> {
  const pools = [makePool(1), makePool(2)];
  for (const input of inputs) {
    const [one, two] = await best(pools.map((pool) => () => cut(pool, input)));
    told(`removal, ${input.side} side of the job, reading and contact in it`, one, two);
  }
  await Promise.all(pools.map((p) => p.close()));
}

/**
 * The kernels in threads of their own: the wood of the stress program in two bands, in one thread and in two; then two sides without clearing, one
 * in each thread. `theirs`: ms of one such side in C, without the writing, which theirs has not.
 */
export async function kernelsByWorkers(shop: ShopSpec, theirs: number | null): Promise<void> {
  const file = fileURLToPath(new URL("./bench-worker.mjs", import.meta.url));
  const threads = [new Worker(file), new Worker(file)];
  const ask = (thread: Worker, message: Told): Promise<void> =>
    new Promise((resolve, reject) => {
      thread.once("error", reject);
      thread.once("message", () => {
        thread.off("error", reject);
        resolve();
      });
      thread.postMessage(message);
    });
  await Promise.all(threads.map((t) => ask(t, { what: "ready" })));
  const bands = bandsOf(NY, 2);
  const [one, two] = await best([
    () => ask(threads[0], { what: "remove", bands }),
    () => Promise.all(threads.map((t, k) => ask(t, { what: "remove", bands: [bands[k]] }))),
  ]);
  told("removal kernel, the stress program in two bands", one, two);
  const [sides] = await best([() => Promise.all(threads.map((t) => ask(t, { what: "side", shop })))]);
  const c =
    theirs === null
      ? ""
      : `; in C, one after the other and without the writing, ${(2 * theirs).toFixed(0)} ms: ${(sides / (2 * theirs)).toFixed(2)} x (goal 1.3)`;
  console.log(`two sides without clearing, one in each thread: ${sides.toFixed(0)} ms${c}`);
  await Promise.all(threads.map((t) => t.terminate()));
}
