// The same results everywhere: `node scripts/run.mjs bench/same.ts [--cell 0.8] [--no-jobs]`. One order made with no worker, 1, 2 and 8 of them; planned,
// written, read and cut in Node and in headless Chromium, with the WebAssembly kernels and with the plain ones. Writes a table; ends with 1
// where something is not the same.
import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { build } from "esbuild";
import { chromium } from "playwright-core";
import { sha256 } from "../src/job/hash.ts";
import { makeJob } from "../src/job/make.ts";
import { makePool } from "../src/job/pool.ts";
import { MoveKind, type MoveList } from "../src/kernel/moves.ts";
import { interpretProgram } from "../src/proof/reader/index.ts";
import { type Work, work } from "./same-work.ts";

const at = process.argv.indexOf("--cell");
const cell = at < 0 ? 0.8 : Number(process.argv[at + 1]);
const order = "examples/loan-ukulele.order.json";
const shop = "examples/stiff-router.shop.json";
const source = (path: string): { path: string; bytes: Uint8Array } => ({ path, bytes: readFileSync(path) });
let failed = false;

console.log("| made with | compared with | files of the job |\n|---|---|---|");
let first: string | null = null;
for (const count of process.argv.includes("--no-jobs") ? [] : [0, 1, 2, 8]) {
  const pool = makePool(count);
  const made = await makeJob(source(order), source(shop), { cell, paper: "A4", pool });
  await pool.close();
  const digest = sha256((made.files ?? []).map((f) => `${f.path} ${sha256(f.bytes)}`).join("\n"));
  first ??= digest;
  if (digest !== first) failed = true;
  const name = count === 0 ? "no worker" : `${count} worker${count > 1 ? "s" : ""}`;
  console.log(
    `| ${name} | ${count === 0 ? "" : "no worker"} | ${made.files?.length} files, ${digest === first ? "the same to the byte" : "DIFFERENT"} |`,
  );
}

/** Most by which a map may differ, mm, and a place of a program: what is asked of the plain kernels. */
const MAPS = 2e-6;
const PLACES = 1e-3;

const texts = [order, shop].map((path) => readFileSync(path, "utf8")) as [string, string];
const base = work(...texts, "wasm", cell);

/** The middle of an arc, in its plane; of another move its end. */
function middle(m: MoveList, k: number): readonly [number, number] {
  const axes = ["x", "y", "z"] as const;
  const [u, v] = m.plane[k] === 1 ? [2, 0] : m.plane[k] === 2 ? [1, 2] : [0, 1];
  if (m.kind[k] !== MoveKind.arc || k === 0) return [m[axes[u]][k], m[axes[v]][k]];
  const centre = [m.cx[k], m.cy[k], m.cz[k]];
  const [du, dv] = [m[axes[u]][k - 1] - centre[u], m[axes[v]][k - 1] - centre[v]];
  const [c, s] = [Math.cos(m.sweep[k] / 2), Math.sin(m.sweep[k] / 2)];
  return [centre[u] + du * c - dv * s, centre[v] + du * s + dv * c];
}

function compare(name: string, one: Work): void {
  const same = base.programs.every((p, k) => p.text === one.programs[k]?.text);
  let place = 0;
  for (const [k, p] of base.programs.entries()) {
    if (same) break;
    const a = interpretProgram(p.text).moves;
    const b = interpretProgram(one.programs[k]?.text ?? "").moves;
    if (a.count !== b.count) place = Number.POSITIVE_INFINITY;
    else
      for (let i = 0; i < a.count; i++) {
        for (const axis of ["x", "y", "z"] as const) place = Math.max(place, Math.abs(a[axis][i] - b[axis][i]));
        const [m, n] = [middle(a, i), middle(b, i)];
        place = Math.max(place, Math.hypot(m[0] - n[0], m[1] - n[1]));
      }
  }
  let height = 0;
  base.maps.forEach((z, m) => {
    for (let k = 0; k < z.length; k++) height = Math.max(height, Math.abs(z[k] - one.maps[m][k]));
  });
  const time = Math.max(...base.programs.map((p, k) => Math.abs(one.programs[k].seconds / p.seconds - 1)));
  if (!(place <= PLACES && height <= MAPS && time < 1e-9)) failed = true;
  if (!same) {
    const lines = (w: Work): string[] => w.programs.flatMap((p) => p.text.split("\n").map((l) => `${p.file}: ${l}`));
    const [ours, theirs] = [lines(base), lines(one)];
    const odd = ours.flatMap((l, k) => (l === theirs[k] ? [] : [k]));
    console.error(`${name}: ${odd.length} lines are otherwise, the first "${ours[odd[0]]}" and "${theirs[odd[0]]}"`);
  }
  const says = (v: number, unit: string): string => (v === 0 ? "the same to the bit" : `${v.toExponential(1)} ${unit}`);
  console.log(
    `| ${name}, ${one.kernel} | Node, wasm | ${same ? "the same to the byte" : says(place, "mm")} | ${says(height, "mm")} | ${says(time, "of it")} |`,
  );
}

console.log("\n| made in | compared with | programs | heights | times |\n|---|---|---|---|---|");
compare("Node", work(...texts, "plain", cell));

const executablePath = (process.env.PATH ?? "")
  .split(":")
  .map((d) => join(d, "chromium"))
  .find((f) => existsSync(f));
if (executablePath === undefined) {
  console.log("| Chromium | | it is not here | | |");
  failed = true;
} else {
  const bundle = await build({
    entryPoints: ["bench/same-work.ts"],
    bundle: true,
    write: false,
    format: "iife",
    globalName: "same",
    platform: "browser",
    logLevel: "warning",
  });
  const browser = await chromium.launch({ executablePath, args: ["--no-sandbox"] });
  try {
    const page = await browser.newPage();
    await page.addScriptTag({ content: bundle.outputFiles[0].text });
    for (const kernel of ["wasm", "plain"] as const) {
      const made = await page.evaluate(([o, s, k, c]) => (globalThis as unknown as { same: { work: typeof work } }).same.work(o, s, k, c), [
        ...texts,
        kernel,
        cell,
      ] as [string, string, "wasm" | "plain", number]);
      compare(`Chromium ${browser.version().split(".")[0]}`, made);
    }
  } finally {
    await browser.close();
  }
}
process.exitCode = failed ? 1 : 0;
