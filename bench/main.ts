import { readFileSync } from "node:fs";
import { Worker } from "node:worker_threads";
import { neckBudget } from "../src/holding/budget/neck.ts";
import { planHolding } from "../src/holding/index.ts";
import type { SideName } from "../src/holding/types.ts";
import { sha256 } from "../src/job/hash.ts";
import { cuspsOf, engagementOf } from "../src/job/job-file.ts";
import { type Made, makeJob } from "../src/job/make.ts";
import { papers } from "../src/job/papers.ts";
import { makePool } from "../src/job/pool.ts";
import { groupCuts } from "../src/job/programs.ts";
import { proveSides } from "../src/job/sides.ts";
import { readOrder, readShop, type Source } from "../src/job/source.ts";
import { writePrograms } from "../src/job/write-programs.ts";
import { makeNeck } from "../src/neck/index.ts";
import { planCuts } from "../src/paths/index.ts";
import { interpretProgram } from "../src/proof/reader/index.ts";
import type { SideProof } from "../src/proof/types.ts";
import { runAgainst } from "./against.ts";
import { runChangeBench } from "./change.ts";
import { keepRun } from "./history.ts";
import { runKernelBench, time } from "./kernels.ts";
import { readAlone } from "./text.ts";
import { kernelsByWorkers, removalByWorkers } from "./workers.ts";

/*
 * npm run bench [-- ORDER SHOP CELL]: the input, a checksum of the result, then where the time goes, one stage after the other
 * in one thread; last the whole job as the command does it, on two threads. Times are of this run on this machine, and join bench/history.jsonl.
 * --stress: the multi-scale bass at 0.05 mm. --against REF: the command of this tree beside that of another commit, nothing else.
 */

/** Share of a job's progress at which its papers begin; see job/anew.ts. */
const PAPERS_FROM = 0.93;

/** How much two threads bring on this machine: a loop of arithmetic on a few kilobytes in one thread, then the same in two at once. */
async function twoThreads(): Promise<number> {
  const loop = `
    const { parentPort } = require("node:worker_threads");
    const f = new Float64Array(2048);
    for (let k = 0; k < 300000; k++) for (let i = 0; i < 2048; i++) f[i] = f[i] * 0.999 + i;
    parentPort.postMessage(f[7]);`;
  const one = (): Promise<void> =>
    new Promise((resolve, reject) => {
      const worker = new Worker(loop, { eval: true });
      worker.once("message", () => void worker.terminate().then(() => resolve()));
      worker.once("error", reject);
    });
  const clock = async (n: number): Promise<number> => {
    const t = performance.now();
    await Promise.all(Array.from({ length: n }, one));
    return performance.now() - t;
  };
  let [single, both] = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
  for (let turn = 0; turn < 3; turn++) {
    single = Math.min(single, await clock(1));
    both = Math.min(both, await clock(2));
  }
  return (2 * single) / both;
}

const args = process.argv.slice(2);
const taken = (name: string): string | null => {
  const at = args.indexOf(name);
  return at < 0 ? null : (args.splice(at, 2)[1] ?? "HEAD");
};
// the bench starts itself with this, to time the reader in a process of its own
const alone = taken("--read");
if (alone !== null) {
  console.log(readAlone(alone, time));
  process.exit(0);
}
const against = taken("--against");
const stress = args.includes("--stress");
const plain = args.filter((a) => !a.startsWith("--"));
const [
  orderPath = stress ? "bench/stress.order.json" : "examples/loan-guitar.order.json",
  shopPath = "examples/stiff-router.shop.json",
  cellText = stress ? "0.05" : "0.1",
] = plain;
const cell = Number(cellText);
if (against !== null) {
  runAgainst(against, orderPath, shopPath, cellText);
  process.exit(0);
}
const source = (path: string): Source => ({ path, bytes: readFileSync(path) });

const rows: (readonly [string, number, string])[] = [];
function timed<T>(what: string, f: () => T, says: (value: T) => string = () => ""): T {
  const t = performance.now();
  const value = f();
  rows.push([what, performance.now() - t, says(value)]);
  return value;
}

/** Times between the reports of one stage, by what it said it was doing. */
function stopwatch(prefix: string): { readonly lap: (share: number, says: string) => void; readonly end: () => void } {
  let since = performance.now();
  let doing: string | null = null;
  const sums = new Map<string, number>();
  const close = (): void => {
    const now = performance.now();
    if (doing !== null) sums.set(doing, (sums.get(doing) ?? 0) + now - since);
    since = now;
  };
  return {
    lap: (_share, says) => {
      close();
      doing = says;
    },
    end: () => {
      close();
      for (const [says, ms] of sums) if (ms >= 0.5) rows.push([`  ${prefix}${says.length > 50 ? `${says.slice(0, 49)}…` : says}`, ms, ""]);
    },
  };
}

const orderSource = source(orderPath);
const shopSource = source(shopPath);
console.log(`input     ${orderPath} ${sha256(orderSource.bytes).slice(0, 16)}`);
console.log(`          ${shopPath} ${sha256(shopSource.bytes).slice(0, 16)}`);
console.log(`          cell ${cell} mm`);

// the whole job, nothing kept of it: first in the state a fresh process is in, then again and again, as a server makes one after the other
const JOBS = stress ? 1 : 8;
const pool = makePool(2);
const wholes: { readonly all: number; readonly proved: number }[] = [];
let made: Made | null = null;
for (let k = 0; k < JOBS; k++) {
  const t0 = performance.now();
  let proved = 0;
  const progress = (share: number): void => {
    if (share >= PAPERS_FROM && proved === 0) proved = performance.now() - t0;
  };
  made = await makeJob(orderSource, shopSource, { cell, paper: "A4", pool, progress });
  wholes.push({ all: performance.now() - t0, proved });
}
await pool.close();
if (made === null) throw new Error("no job was made");
const whole = wholes[0].all;
const jobFile = made.files?.find((f) => f.path === "job.json");
if (jobFile === undefined || made.job === null) throw new Error("the order or the shop cannot be read");
console.log(`checksum  ${sha256(jobFile.bytes)} (job.json, which holds the hash of every other file)`);
console.log(`result    ${made.job.programs.length} programs, ${made.findings.length} findings, ${made.blocking.length} of them stop it`);

const order = timed("parse", () => readOrder(orderSource).value)!;
const shop = timed("parse the shop", () => readShop(shopSource).value)!;
const neck = timed(
  "neck",
  () => makeNeck(order),
  (n) => `${n.features.frets.length} frets, ${n.features.tuners.length} tuner bores`,
);
const holding = timed("holding", () => planHolding(neck, shop.machine));
const plans = (["board", "carve"] as const).map((side: SideName) => {
  const watch = stopwatch("");
  return timed(
    `plan, ${side}`,
    () => {
      const plan = planCuts(neck, holding, shop, { sides: [side], progress: watch.lap });
      watch.end();
      return plan;
    },
    (p) => `${p.cuts.reduce((n, c) => n + c.moves.count, 0)} moves`,
  );
});
const plan = {
  cuts: plans.flatMap((p) => p.cuts),
  steps: plans.flatMap((p) => p.steps),
  findings: plans.flatMap((p) => p.findings),
};
const { groups, steps } = groupCuts(plan);
const { programs } = timed(
  "write and check",
  () => writePrograms(groups, order, sha256(orderSource.bytes), shop, holding),
  ({ programs: p }) => `${(p.reduce((n, x) => n + x.text.length, 0) / 1e6).toFixed(2)} MB`,
);
timed(
  "read",
  () => programs.map((p) => interpretProgram(p.text)),
  (r) => `${r.reduce((n, x) => n + x.moves.count, 0)} moves`,
);
const single = makePool(0);
const proofs: SideProof[] = [];
for (const side of ["board", "carve"] as const) {
  const watch = stopwatch("");
  const t = performance.now();
  const one = await proveSides(
    {
      order,
      shop,
      sides: [holding.sides.board, holding.sides.carve],
      programs,
      steps,
      cusps: cuspsOf(plan),
      engagement: engagementOf(plan),
      cell,
    },
    single,
    watch.lap,
    [side],
  );
  const ms = performance.now() - t;
  proofs.push(...one);
  watch.end();
  rows.push([`prove, ${side}`, ms, ""]);
}
const t1 = performance.now();
const sheets = await papers(
  {
    order,
    shop,
    orderHash: sha256(orderSource.bytes),
    neck,
    holding,
    budget: neckBudget(neck, shop.machine).outcomes,
    plan,
    steps,
    programs: made.job.programs,
    proof: { sides: proofs, measures: [], findings: [] },
  },
  { findings: made.findings, blocking: [], overridden: [] },
  "A4",
);
rows.push(["drawings, report and run sheet", performance.now() - t1, `${sheets.files.length} files`]);
const width = Math.max(...rows.map(([what]) => what.length));
console.log("\none thread");
for (const [what, ms, says] of rows) console.log(`${what.padEnd(width)}  ${ms.toFixed(0).padStart(7)} ms  ${says}`.trimEnd());
const seconds = (ms: number): string => `${(ms / 1000).toFixed(2)} s`;
console.log(
  `\ntwo threads, whole job in a fresh process, sheets and pictures included  ${seconds(whole)}; proved after ${seconds(wholes[0].proved)}`,
);
const later = wholes.slice(1);
const median = (v: readonly number[]): number => [...v].sort((a, b) => a - b)[Math.floor(v.length / 2)] ?? Number.NaN;
if (later.length > 0)
  console.log(
    `the same again, nothing kept, median of ${later.length}: proved after ${seconds(median(later.map((w) => w.proved)))} (goal 4.5 s), with sheets and pictures ${seconds(median(later.map((w) => w.all)))} (goal 8 s)`,
  );
console.log(
  `two threads of this machine do twice one thread's arithmetic ${(await twoThreads()).toFixed(2)} x as quick as one thread would`,
);
console.log(`peak memory             ${(process.resourceUsage().maxRSS / 1024).toFixed(0)} MB`);

// how soon work in workers is gone when it is cancelled
const waits: number[] = [];
for (let k = 0; k < 5; k++) {
  const control = new AbortController();
  const cancelled = makePool(2, control.signal);
  const work = makeJob(orderSource, shopSource, { cell, paper: "A4", pool: cancelled, signal: control.signal }).catch(() => undefined);
  await new Promise((resolve) => setTimeout(resolve, 500 + 250 * k));
  const t = performance.now();
  control.abort();
  await work;
  await cancelled.close();
  waits.push(performance.now() - t);
}
console.log(`cancelled after 0.5 to 1.5 s, gone after ${Math.max(...waits).toFixed(0)} ms at most (goal 100 ms)`);

// the same proof with one worker and with two, by the clock
const clock: number[] = [];
for (const workers of [1, 2]) {
  const some = makePool(workers);
  const t = performance.now();
  await proveSides(
    {
      order,
      shop,
      sides: [holding.sides.board, holding.sides.carve],
      programs,
      steps,
      cusps: cuspsOf(plan),
      engagement: engagementOf(plan),
      cell,
    },
    some,
    () => undefined,
  );
  clock.push(performance.now() - t);
  await some.close();
}
console.log(
  `proof with two workers ${(clock[0] / clock[1]).toFixed(2)} x as quick as with one (${clock.map((ms) => (ms / 1000).toFixed(2)).join(" and ")} s, starting them included)`,
);

await removalByWorkers(
  ([holding.sides.board, holding.sides.carve] as const).map((side) => {
    const mine = programs.filter((p) => p.side === side.name);
    return {
      order,
      side: side.name,
      machine: shop.machine,
      cutters: shop.cutters.filter((c) => mine.some((p) => p.cutter === c.number)),
      sides: [side],
      programs: mine,
      steps: steps.filter((s) => ("program" in s ? mine.some((p) => p.file === s.program) : s.side === side.name)),
      cell,
    };
  }),
);

runChangeBench();
console.log("\nkernels");
const kernels = await runKernelBench(shop);
await kernelsByWorkers(shop, sideInC(kernels));
keepRun({
  input: { order: sha256(orderSource.bytes).slice(0, 16), shop: sha256(shopSource.bytes).slice(0, 16), cell },
  checksum: sha256(jobFile.bytes),
  seconds: Number((whole / 1000).toFixed(2)),
  ...(later.length > 0 && {
    warm: { proved: Math.round(median(later.map((w) => w.proved))), all: Math.round(median(later.map((w) => w.all))) },
  }),
  peak: Math.round(process.resourceUsage().maxRSS / 1024),
  stages: Object.fromEntries(rows.filter(([what]) => !what.startsWith(" ")).map(([what, ms]) => [what, Math.round(ms)])),
  kernels,
});

/** One side without clearing in C: three maps of drops, its program read back, its wood removed, its time planned; null without the yardstick. */
function sideInC(rows: readonly { readonly what: string; readonly ms: number; readonly c: number | null }[]): number | null {
  const c = (start: string): number => {
    const row = rows.find((r) => r.what.startsWith(start));
    return row === undefined || row.c === null ? Number.NaN : row.ms / row.c;
  };
  const drops = ["ball", "flat", "bull"].reduce((sum, name) => sum + c(`drop, 440 passes, ${name} on neck, WebAssembly`), 0);
  // the reader's file is 60 MB, a program's 22
  const ms = drops + c("sweep, WebAssembly") + (22.2 / 60) * c("reader") + c("planner of speeds");
  return Number.isNaN(ms) ? null : ms;
}
