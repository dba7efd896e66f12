import { makePool, type Pool } from "../src/job/pool.ts";
import type { RemoveInput } from "../src/job/tasks.ts";
import { emptyMap } from "../src/proof/index.ts";

/* What a second thread brings where the wood of one side is cut: its bands, in one worker and in two, by the clock. */

/** Rounds that are measured, the best of them counts; some before warm up. */
const [WARM, ROUNDS] = [4, 5];

/** Programs of one side cut from its blank in `pool`, ms by the clock. */
async function cut(pool: Pool, input: Omit<RemoveInput, "band" | "into">): Promise<number> {
  const [side] = input.sides;
  const { map, bands } = emptyMap(side, input.cell, (bytes) => new SharedArrayBuffer(bytes));
  const t = performance.now();
  await Promise.all(Array.from({ length: bands }, (_, band) => pool.run("remove", { ...input, band, into: map.z })));
  return performance.now() - t;
}

/** Of each side: what its programs take to be cut with one worker, and how many times as quick it is with two. */
export async function removalByWorkers(inputs: readonly Omit<RemoveInput, "band" | "into">[]): Promise<void> {
  const pools = [makePool(1), makePool(2)];
  for (const input of inputs) {
    const best = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
    // in turns, so that a busy moment of the machine does not fall on one of them alone
    for (let turn = -WARM; turn < ROUNDS; turn++)
      for (const [k, pool] of pools.entries()) {
        const ms = await cut(pool, input);
        if (turn >= 0) best[k] = Math.min(best[k], ms);
      }
    const [one, two] = best;
    console.log(
      `removal, ${input.side} side: ${one.toFixed(0)} ms with one worker, ${two.toFixed(0)} with two: ${(one / two).toFixed(2)} x as quick (goal 1.7)`,
    );
  }
  await Promise.all(pools.map((p) => p.close()));
}
