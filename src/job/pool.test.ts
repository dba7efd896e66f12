import { readFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import type { Worker } from "node:worker_threads";
import { beforeAll, describe, expect, test } from "vitest";
import { buildCli } from "../../test/cli.ts";
import { root } from "../../test/sources.ts";
import { planHolding } from "../holding/index.ts";
import { makeNeck } from "../neck/index.ts";
import { parseOrder, parseShop } from "../spec/index.ts";
import { digest } from "./cache/digest.ts";
import { Cancelled } from "./errors.ts";
import { jobSides } from "./job-file.ts";
import type { makePool as MakePool, Pool } from "./pool.ts";
import { type ProveSidesInput, proveSides } from "./sides.ts";

/* Real workers, killed under the work: the proof of two short programs by hand. What is looked at is the pool, not the proof. */

let makePool: typeof MakePool;
let input: ProveSidesInput;
beforeAll(async () => {
  // the pool finds its workers beside its own bundle
  const cli = await buildCli("pool", { pool: "src/job/pool.ts" });
  ({ makePool } = (await import(pathToFileURL(join(cli, "..", "pool.mjs")).href)) as { makePool: typeof MakePool });
  const order = parseOrder(readFileSync(join(root, "examples/loan-ukulele.order.json"))).value!;
  const shop = parseShop(readFileSync(join(root, "examples/stiff-router.shop.json"))).value!;
  const rows = Array.from({ length: 60 }, (_, k) => `G1 X${20 + k} Y${k % 2 === 0 ? 60 : 300} Z${(40 - k / 10).toFixed(2)}`);
  const text = new TextEncoder().encode(["G21 G90 G17 G94", "G0 Z60", "F1500", ...rows, "G0 Z60", "M2", ""].join("\n"));
  const cutter = shop.cutters.find((c) => c.shape === "flat")!.number;
  const programs = (["board", "carve"] as const).map((side) => ({ file: `${side}.ngc`, side, cutter, cuts: [], text }));
  const sides = jobSides(planHolding(makeNeck(order), shop.machine));
  input = { order, shop, sides, programs, steps: programs.map((p) => ({ program: p.file })), cusps: {}, cell: 1 };
});

const proved = async (pool: Pool): Promise<string> => digest(await proveSides(input, pool, () => undefined));

describe("the pool", () => {
  /** What one worker that nothing happens to comes to. */
  let whole: string;
  test("gives the same with 1, 2 and 8 workers, and when workers are killed under it; all of them gone when closed", async () => {
    const results: string[] = [];
    for (const count of [1, 2, 8]) {
      const started: Worker[] = [];
      let kills = count === 8 ? 0 : 3;
      const pool = makePool(count, undefined, null, (worker) => {
        started.push(worker);
        // some before they have begun, one in the middle of its work
        if (kills-- > 0) setTimeout(() => void worker.terminate(), kills * 60);
      });
      if (count === 2) {
        // started before there is work, and no more of them when asked again
        pool.warm();
        pool.warm();
        expect(started.length).toBe(2);
      }
      results.push(await proved(pool));
      await pool.close();
      expect(started.every((w) => w.threadId === -1)).toBe(true);
    }
    expect(new Set(results).size).toBe(1);
    whole = results[0];
  });

  test("a task that no worker survives is given up with a reason, and nothing waits for ever", async () => {
    let started = 0;
    const end = (worker: Worker): void => {
      started++;
      void worker.terminate();
    };
    const pool = makePool(2, undefined, null, end, { died: 1, ended: 8 });
    await expect(proved(pool)).rejects.toThrow(/before it had answered/);
    await pool.close();
    expect(started).toBeGreaterThanOrEqual(8);
    // removal and measures of two sides: four tasks, each given up at its eighth worker
    expect(started).toBeLessThanOrEqual(4 * 8);
  });

  test("a task that is ended from outside again and again is done in the end", async () => {
    // more often than a task that dies by itself would be tried, and long enough that the last ones have to wait
    let ends = 14;
    const pool = makePool(1, undefined, null, (worker) => {
      if (ends-- > 0) void worker.terminate();
    });
    expect(await proved(pool)).toBe(whole);
    await pool.close();
    expect(ends).toBeLessThan(0);
  });

  test("a task over which workers die by themselves is given up at the third, with their reason", async () => {
    let started = 0;
    const pool = makePool(1, undefined, null, (worker) => {
      started++;
      // as Node tells of a worker that has used up its memory
      setImmediate(() => {
        worker.emit("error", new Error("used up its memory"));
        void worker.terminate();
      });
    });
    await expect(proved(pool)).rejects.toThrow("used up its memory");
    await pool.close();
    expect(started).toBeGreaterThanOrEqual(3);
    expect(started).toBeLessThanOrEqual(4 * 3);
  });

  test("cancelled, it rejects what runs and what waits, and starts nothing more", async () => {
    const control = new AbortController();
    const started: Worker[] = [];
    const pool = makePool(1, control.signal, null, (worker) => started.push(worker));
    const running = Promise.allSettled([proved(pool), proved(pool)]);
    setTimeout(() => control.abort(), 20);
    const ends = await running;
    expect(ends.map((e) => e.status)).toEqual(["rejected", "rejected"]);
    for (const e of ends) expect((e as PromiseRejectedResult).reason.name).toBe(new Cancelled().name);
    await pool.close();
    expect(started.length).toBe(1);
    expect(started[0].threadId).toBe(-1);
    await expect(proved(pool)).rejects.toThrow();
  });
});
