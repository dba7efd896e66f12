// Random orders through everything: `npm run soak -- --count 20 --seed 1 [--cell 0.3] [--brief]`
// Each sound order is made and proved in both example shops, twice, and the folder proved again; what must always hold is checked:
// docs/plans.md is compared with what its command would write now;
// no crash, the same bytes twice, a proof without a stop when the plan had none. The same count and seed give the same run.
// --from N leaves out the first N, to go on with a run that was ended.
// --brief: each order in one of the shops in turn and made once, for long runs; what is only seen when made twice is not looked at.
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import fc from "fast-check";
import { clockLimits } from "../src/cutting/clock-limits.ts";
import { planHolding } from "../src/holding/index.ts";
import { sha256 } from "../src/job/hash.ts";
import { type Made, makeJob } from "../src/job/make.ts";
import { makePool } from "../src/job/pool.ts";
import { groupCuts } from "../src/job/programs.ts";
import { proveFolder } from "../src/job/prove-folder.ts";
import { writeFolder } from "../src/job/write.ts";
import { writePrograms } from "../src/job/write-programs.ts";
import { timeOf } from "../src/kernel/clock.ts";
import { makeNeck } from "../src/neck/index.ts";
import { planCuts } from "../src/paths/index.ts";
import { interpretProgram } from "../src/proof/index.ts";
import { parseOrder, parseShop } from "../src/spec/index.ts";
import { writeOrder } from "../src/spec/write.ts";
import { soundOrder } from "../test/arbitrary.ts";
import { integrate } from "../test/laws/slow-clock.ts";
import { PLANS_FILE, PLANS_ORDER, PLANS_SHOPS, plansText } from "./plans-text.ts";

function option(name: string, fallback: number, least = 1e-9): number {
  const at = process.argv.indexOf(`--${name}`);
  if (at < 0) return fallback;
  const value = Number(process.argv[at + 1]);
  if (Number.isFinite(value) && value >= least) return value;
  console.error(`--${name} wants a number above 0, not ${process.argv[at + 1]}`);
  process.exit(2);
}
const count = option("count", 20);
const seed = option("seed", 1);
const cell = option("cell", 0.3);
const from = option("from", 0, 0);
const brief = process.argv.includes("--brief");
const shops = ["light-router", "stiff-router"].map((name) => ({ path: name, bytes: readFileSync(`examples/${name}.shop.json`) }));

const pool = makePool(2);
const dir = mkdtempSync(join(tmpdir(), "neckwright-soak-"));
const keeping = makePool(2, undefined, { folder: join(dir, "cache"), limit: 5e8 });
const stops = new Map<string, number>();
const failures: string[] = [];
/** Said at once too: a run that is ended early has told what it found. */
const fail = (says: string): void => {
  failures.push(says);
  console.error(says);
};
let proved = 0;
let stopped = 0;
const digest = (made: Made): string => sha256((made.files ?? []).map((f) => `${f.path} ${sha256(f.bytes)}`).join("\n"));

if (readFileSync(`docs/${PLANS_FILE}`, "utf8") !== plansText(PLANS_ORDER, PLANS_SHOPS, (path) => readFileSync(path)))
  fail("docs/plans.md is not what npm run plans writes now: run it");

// the clock beside a slow integration in steps of 0.1 ms, on the demo neck's programs of up to ten minutes
const MOST_SECONDS = 600;
const guitar = parseOrder(readFileSync("examples/loan-guitar.order.json")).value!;
for (const { path: shop, bytes } of shops) {
  const value = parseShop(bytes).value!;
  const neck = makeNeck(guitar);
  const holding = planHolding(neck, value.machine);
  const { programs } = writePrograms(groupCuts(planCuts(neck, holding, value)).groups, guitar, "0".repeat(64), value, holding);
  const limits = clockLimits(value.machine);
  let worst = 0;
  let n = 0;
  for (const p of programs) {
    const { moves } = interpretProgram(p.text);
    const { seconds } = timeOf(moves, limits);
    if (seconds > MOST_SECONDS) continue;
    n++;
    const off = Math.abs(seconds / integrate(moves, limits, 1e-4) - 1);
    worst = Math.max(worst, off);
    if (off > 0.01) fail(`${p.file} on ${shop}: the clock is ${(100 * off).toFixed(2)} % off a slow integration`);
  }
  console.log(`clock on ${shop}: ${(100 * worst).toFixed(3)} % off a slow integration at most, ${n} programs`);
}

/** Memory of the whole process after every tenth order, MB: flat when warm. */
const memory: number[] = [];
/** What the last fifth may hold more than the second one. */
const GROWTH = 1.25;

const orders = fc.sample(soundOrder(), { numRuns: count, seed });
for (const [k, order] of orders.entries()) {
  if (k < from) continue;
  const text = JSON.stringify(writeOrder(order), null, 2);
  const source = { path: `order ${k}`, bytes: new TextEncoder().encode(text) };
  for (const shop of brief ? [shops[k % shops.length]] : shops) {
    const name = `order ${k} in ${shop.path}`;
    try {
      const made = await makeJob(source, shop, { cell, paper: "A4", pool });
      if (made.files === null) throw new Error(`an order that was written from a value cannot be read: ${made.findings[0]?.says}`);
      if (!brief) {
        // the second time with what the orders before it have left in a cache
        const again = await makeJob(source, shop, { cell, paper: "A4", pool: keeping });
        if (digest(made) !== digest(again)) fail(`${name}: other bytes the second time, with a cache`);
      }
      for (const f of new Set(made.blocking.map((b) => b.rule))) stops.set(f, (stops.get(f) ?? 0) + 1);
      const unexpected = made.blocking.filter((f) => /^(PR|PF|SH|JB)-/.test(f.rule));
      if (unexpected.length > 0) {
        fail(`${name}: planned without a stop, but ${unexpected[0].rule} at ${unexpected[0].where}: ${unexpected[0].says}\n${text}`);
      }
      if (made.blocking.length > 0) {
        stopped++;
        continue;
      }
      proved++;
      const folder = join(dir, "job");
      await writeFolder(folder, made.files, { replace: true });
      const result = await proveFolder(folder, { cell: null, pool });
      if (result.blocking.length > 0 || JSON.stringify(result.proof) !== JSON.stringify(made.proof)) {
        fail(`${name}: the folder proves otherwise than it was made`);
      }
    } catch (error) {
      fail(`${name}: ${error instanceof Error ? error.stack : String(error)}\n${text}`);
    }
  }
  if ((k + 1) % 10 === 0 || k + 1 === count) {
    memory.push(process.memoryUsage.rss() / 1e6);
    console.log(
      `${k + 1} of ${count} orders: ${proved} proved, ${stopped} stopped, ${failures.length} failures, ${memory.at(-1)?.toFixed(0)} MB`,
    );
  }
}
if (memory.length >= 10) {
  const fifth = Math.floor(memory.length / 5);
  const mean = (v: readonly number[]): number => v.reduce((a, b) => a + b, 0) / v.length;
  const [warm, last] = [mean(memory.slice(fifth, 2 * fifth)), mean(memory.slice(-fifth))];
  console.log(`memory: ${warm.toFixed(0)} MB when warm, ${last.toFixed(0)} MB at the end`);
  if (last > GROWTH * warm) fail(`memory grew from ${warm.toFixed(0)} to ${last.toFixed(0)} MB`);
}
await pool.close();
await keeping.close();
rmSync(dir, { recursive: true, force: true });
for (const [rule, n] of [...stops].sort((a, b) => b[1] - a[1])) console.log(`stopped by ${rule}: ${n}`);
console.log(`${proved + stopped} made, ${proved} proved, ${failures.length} failures (count ${count}, seed ${seed}, cell ${cell} mm)`);
process.exitCode = failures.length > 0 ? 1 : 0;
