// Workers killed at random under whole jobs: `node scripts/run.mjs bench/kills.ts --kills 200 --seed 1`. No job may be lost, none may come
// out otherwise than without kills, no folder and no kept result may be half written; cancelling must take less than 100 ms.
import { mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Worker } from "node:worker_threads";
import { type CacheOptions, openCache } from "../src/job/cache/store.ts";
import { parseJobFile } from "../src/job/files.ts";
import { sha256 } from "../src/job/hash.ts";
import { makeJob } from "../src/job/make.ts";
import { makePool } from "../src/job/pool.ts";
import { writeFolder } from "../src/job/write.ts";
import { numbers } from "../src/kernel/brute.ts";

const option = (name: string, fallback: number): number => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? fallback : Number(process.argv[at + 1]);
};
const wanted = option("kills", 200);
const random = numbers(option("seed", 1));
const source = (path: string): { path: string; bytes: Uint8Array } => ({ path, bytes: readFileSync(path) });
const order = source("examples/loan-ukulele.order.json");
const shop = source("examples/stiff-router.shop.json");
const dir = mkdtempSync(join(tmpdir(), "neckwright-kills-"));
const folder = join(dir, "job");
const failures: string[] = [];

/** Hash of every file of the folder, after a look whether it is what its job.json says. */
function digestOf(path: string): string {
  const job = parseJobFile(readFileSync(join(path, "job.json"), "utf8"), "job.json");
  for (const f of job.files) if (sha256(readFileSync(join(path, f.file))) !== f.sha256) failures.push(`${f.file} is half written`);
  return sha256(readFileSync(join(path, "job.json")));
}

async function make(cache: CacheOptions | null, onStart?: (worker: Worker) => void): Promise<void> {
  const pool = makePool(2, undefined, cache, onStart);
  try {
    const made = await makeJob(order, shop, { cell: 0.8, paper: "A4", pool });
    await writeFolder(folder, made.files ?? [], { replace: true });
  } finally {
    await pool.close();
  }
}

const begun = performance.now();
await make(null);
/** On the clock; about three kills fall into a job of this length, so that no task dies again and again for want of time. */
let usual = performance.now() - begun;
const was = digestOf(folder);
let kills = 0;
let jobs = 0;
let lost = 0;
while (kills < wanted) {
  // a new cache for each job: everything is computed, whatever its workers have kept before they died is taken again
  const cache: CacheOptions = { folder: join(dir, `cache-${jobs}`), limit: 1e9 };
  const alive = new Set<Worker>();
  const since = performance.now();
  const timer = setInterval(() => {
    const all = [...alive];
    if (kills >= wanted || all.length === 0 || random() > 0.1) return;
    kills++;
    void all[Math.floor(random() * all.length)].terminate();
  }, usual / 30);
  try {
    await make(cache, (worker) => {
      alive.add(worker);
      worker.on("exit", () => alive.delete(worker));
    });
    if (digestOf(folder) !== was) failures.push(`job ${jobs} came out otherwise`);
  } catch (error) {
    lost++;
    failures.push(`job ${jobs} was lost: ${error instanceof Error ? error.message : String(error)}`);
    console.error(failures.at(-1));
  }
  clearInterval(timer);
  // the first job also pays for the engine's warming up
  usual = Math.min(usual, performance.now() - since);
  const kept = openCache(cache);
  for (const name of readdirSync(cache.folder, { recursive: true, encoding: "utf8" })) {
    const key = name.split(/[\\/]/).at(-1) ?? "";
    if (/^[0-9a-f]{64}$/.test(key) && kept.get(key) === null) failures.push(`a kept result of job ${jobs} is half written`);
  }
  rmSync(cache.folder, { recursive: true, force: true });
  jobs++;
  console.log(`${jobs} jobs, ${kills} of ${wanted} workers killed, ${lost} lost, ${failures.length} failures`);
}

// cancelled at some moment of the work, the pool must be gone at once
const waits: number[] = [];
for (let k = 0; k < 10; k++) {
  const control = new AbortController();
  const pool = makePool(2, control.signal);
  const work = makeJob(order, shop, { cell: 0.2, paper: "A4", pool, signal: control.signal }).catch(() => undefined);
  await new Promise((resolve) => setTimeout(resolve, 300 + 1500 * random()));
  const t = performance.now();
  control.abort();
  await work;
  await pool.close();
  waits.push(performance.now() - t);
}
console.log(`cancelled ${waits.length} times: gone after ${Math.max(...waits).toFixed(0)} ms at most`);
rmSync(dir, { recursive: true, force: true });
for (const f of failures.slice(0, 10)) console.error(f);
console.log(`${jobs} jobs under ${kills} kills: ${lost} lost, ${failures.length} failures`);
process.exitCode = failures.length > 0 ? 1 : 0;
