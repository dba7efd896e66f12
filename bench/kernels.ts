import { spawnSync } from "node:child_process";
import { existsSync, mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { bruteDropNear, numbers } from "../src/kernel/brute.ts";
import { makeDropper } from "../src/kernel/drop.ts";
import { type HeightMap, makeMap } from "../src/kernel/heightmap.ts";
import { makeStock } from "../src/kernel/make-stock.ts";
import type { MoveList } from "../src/kernel/moves.ts";
import { ballProfile, bullProfile, flatProfile, type Profile } from "../src/kernel/profile.ts";
import { useKernel } from "../src/kernel/wasm/load.ts";
import type { ShopSpec } from "../src/spec/types.ts";
import { clearingFigures } from "./clearing.ts";
import { CELL, cylinderMap, NX, NY, neckMap, programBytes, stressProgram } from "./data.ts";
import type { KernelFigure } from "./history.ts";
import { textFigures } from "./text.ts";

const CUTTERS = { ball: ballProfile(8), flat: flatProfile(8), bull: bullProfile(8, 1) } as const;
const FLAGS = ["-O3", "-march=native", "-ffast-math", "-Wno-unused-result"];

/** Processor time of the best of some runs, ms: a shared machine does not stretch it as it does the clock. The yardstick does the same. */
export function time(f: () => void, times = 1): number {
  let best = Number.POSITIVE_INFINITY;
  for (let k = 0; k < times; k++) {
    const t = process.cpuUsage();
    f();
    const spent = process.cpuUsage(t);
    best = Math.min(best, (spent.user + spent.system) / 1000);
  }
  return best;
}

/** Builds one file of the yardstick; null, with a word why, when that is not possible. */
function build(dir: string, name: string): string | null {
  const target = join(dir, name);
  const gcc = spawnSync("gcc", [...FLAGS, "-o", target, join("bench", "yardstick", `${name}.c`), "-lm"], { encoding: "utf8" });
  if (gcc.status === 0) return target;
  console.log(`no yardstick (${name}): ${gcc.error ? "gcc is not here" : gcc.stderr.split("\n")[0]}`);
  return null;
}

function run(file: string, args: readonly string[]): string {
  const r = spawnSync(file, args, { encoding: "utf8", maxBuffer: 1 << 26, env: { ...process.env, QUICK: "1" } });
  if (r.status !== 0) throw new Error(`${file} ended with ${r.status}: ${r.stderr}`);
  return r.stdout;
}

const figures: KernelFigure[] = [];

const line = (what: string, ms: number, copy: number, c: number | null): void => {
  figures.push({ what, ms: Number(ms.toFixed(2)), copies: Number((ms / copy).toFixed(2)), c: c ? Number((ms / c).toFixed(3)) : null });
  console.log(
    `${what.padEnd(44)} ${ms.toFixed(0).padStart(7)} ms  ${(ms / copy).toFixed(0).padStart(5)} x copy${c ? `  ${(ms / c).toFixed(2).padStart(6)} x C` : ""}`,
  );
};

/** Fails loudly: a fast wrong kernel is not worth a figure. */
function same(what: string, ours: number, theirs: number, limit: number): void {
  const d = Math.abs(ours - theirs);
  if (!(d <= limit)) throw new Error(`${what}: ours ${ours}, theirs ${theirs}, ${d} apart, limit ${limit}`);
}

/** Kernels against the C yardstick (built when gcc is here), the brute oracle and a copy of the map. Results are compared before times. */
export async function runKernelBench(shop: ShopSpec): Promise<readonly KernelFigure[]> {
  const dir = join("dist", "bench");
  mkdirSync(dir, { recursive: true });
  const neck = neckMap();
  const spare = new Float32Array(neck.z.length);
  const copy = time(() => spare.set(neck.z), 7);
  console.log(`kernels on a map of ${NX} x ${NY} cells of ${CELL} mm (30.8 MB); copying it takes ${copy.toFixed(2)} ms`);
  const dilate = build(dir, "a_dilate");
  for (const [name, map] of [
    ["neck", neck],
    ["cylinder", cylinderMap()],
  ] as const)
    drops(dir, name, map, dilate, copy);
  const moves = sweeps(dir, neck, build(dir, "b_zmap"), copy);
  clearingFigures(dir, time, build(dir, "d_engage"), run, (what, ms, c) => line(what, ms, copy, c));
  console.log("programs as text, and their clock");
  textFigures(dir, moves, shop, time, build, run, (what, ms, c) => line(what, ms, copy, c));
  return figures;
}

/** Turns taken by theirs and ours, so that a busy moment of the machine does not fall on one of them alone. */
const TURNS = 3;

function drops(dir: string, name: string, map: HeightMap, dilate: string | null, copy: number): void {
  const file = join(dir, `${name}.bin`);
  if (dilate) writeFileSync(file, new Uint8Array(map.z.buffer, map.z.byteOffset, map.z.byteLength));
  const ys = Float64Array.from({ length: 440 }, (_, k) => CELL / 2 + k * 2.5 * CELL);
  const few = Float64Array.from({ length: 44 }, (_, k) => CELL / 2 + k * 25 * CELL);
  const out = new Float64Array(NX * ys.length);
  const random = numbers(1);
  const cutters = Object.entries(CUTTERS).map(([cutter, profile]) => {
    const fast = makeDropper(map, profile);
    fast.dropRows(ys, CELL / 2, CELL, NX, out);
    for (let k = 0; k < 300; k++) {
      const i = Math.floor(random() * NX);
      const r = Math.floor(random() * ys.length);
      same(`drop of the ${cutter} on the ${name}`, out[r * NX + i], bruteDropNear(map, profile, CELL / 2 + i * CELL, ys[r]), 2e-6);
    }
    let sum = 0;
    for (let k = 0; k < out.length; k++) sum += out[k];
    useKernel("plain");
    const slow = makeDropper(map, profile);
    useKernel("wasm");
    return {
      cutter,
      fast,
      slow,
      mean: sum / out.length,
      ms: Number.POSITIVE_INFINITY,
      plain: Number.POSITIVE_INFINITY,
      c: Number.POSITIVE_INFINITY,
    };
  });
  for (let turn = 0; turn < TURNS; turn++) {
    const theirs = dilate ? [...run(dilate, [file]).matchAll(/B&B 440 passes ([\d.]+) ms .*?mean (-?[\d.]+)/g)] : [];
    cutters.forEach((q, at) => {
      if (theirs[at]) {
        same(`mean of the ${q.cutter}'s passes on the ${name}`, q.mean, Number(theirs[at][2]), 1e-6);
        q.c = Math.min(q.c, Number(theirs[at][1]));
      }
      q.ms = Math.min(
        q.ms,
        time(() => q.fast.dropRows(ys, CELL / 2, CELL, NX, out), 2),
      );
      q.plain = Math.min(q.plain, 10 * time(() => q.slow.dropRows(few, CELL / 2, CELL, NX, out)));
    });
  }
  for (const q of cutters) {
    const c = dilate ? q.c : null;
    line(`drop, 440 passes, ${q.cutter} on ${name}, WebAssembly`, q.ms, copy, c);
    line(`drop, 440 passes, ${q.cutter} on ${name}, plain (from 44)`, q.plain, copy, c);
  }
}

function sweeps(dir: string, neck: HeightMap, zmap: string | null, copy: number): MoveList {
  const { moves, roughing } = stressProgram(neck);
  console.log(`sweeps of ${roughing} roughing moves (8 mm flat) and ${moves.count - roughing} finishing moves (8 mm ball)`);
  const file = join(dir, "program.bin");
  if (zmap) writeFileSync(file, programBytes(moves, roughing));
  // the yardstick's radius: a multiple of the cell would leave cells on the rim to the last bit
  const flat = flatProfile(8.0014);
  const ball = ballProfile(8.0014);
  const best = { c: Number.POSITIVE_INFINITY, wasm: Number.POSITIVE_INFINITY, plain: Number.POSITIVE_INFINITY };
  for (let turn = 0; turn < TURNS; turn++) {
    let mean: number | null = null;
    if (zmap) {
      const words = run(zmap, [file, String(CELL)]);
      best.c = Math.min(best.c, Number(/whole proof sweep rough\+finish ([\d.]+) ms/.exec(words)?.[1]));
      mean = Number(/mean height after merge 1 um (-?[\d.]+)/.exec(words)?.[1]);
    }
    for (const kernel of ["wasm", "plain"] as const) {
      useKernel(kernel);
      const map: HeightMap = { ...neck, z: new Float32Array(NX * NY).fill(40) };
      const stock = makeStock(map);
      const ms = time(() => {
        stock.cut(flat, moves, 0, roughing);
        stock.cut(ball, moves, roughing, moves.count);
      });
      best[kernel] = Math.min(best[kernel], ms);
      let sum = 0;
      for (const z of map.z) sum += z;
      // both merge within 1 um, each in its own way
      if (mean !== null) same(`mean height after the program, ${kernel}`, sum / map.z.length, mean, 2e-4);
    }
  }
  useKernel("wasm");
  const c = zmap ? best.c : null;
  line("sweep, WebAssembly", best.wasm, copy, c);
  line("sweep, plain", best.plain, copy, c);
  grown(flat, ball, moves, roughing);
  return moves;
}

/** What the sweeps cost when the cell is halved, and when every move is split in two; one after the other in turns. */
function grown(flat: Profile, ball: Profile, moves: MoveList, roughing: number): void {
  const twice = split(moves);
  const cut = (cell: number, m: MoveList, rough: number): number => {
    const map = makeMap(0, 0, NX * CELL, NY * CELL, cell, 40);
    const stock = makeStock(map);
    return time(() => {
      stock.cut(flat, m, 0, rough);
      stock.cut(ball, m, rough, m.count);
    });
  };
  const least = { whole: Number.POSITIVE_INFINITY, fine: Number.POSITIVE_INFINITY, split: Number.POSITIVE_INFINITY };
  for (let turn = 0; turn < TURNS; turn++) {
    least.whole = Math.min(least.whole, cut(CELL, moves, roughing));
    least.fine = Math.min(least.fine, cut(CELL / 2, moves, roughing));
    least.split = Math.min(least.split, cut(CELL, twice, 2 * roughing));
  }
  console.log(
    `sweep with half the cell ${(least.fine / least.whole).toFixed(2)} x (goal 3.5), with every move in two ${(least.split / least.whole).toFixed(2)} x (goal 1.3)`,
  );
}

/** Every move in two halves. */
function split(m: MoveList): MoveList {
  const n = 2 * m.count;
  const halves = (a: Float64Array, first: number): Float64Array =>
    Float64Array.from({ length: n }, (_, k) => (k & 1 ? a[k >> 1] : (a[k >> 1] + (k > 0 ? a[(k >> 1) - 1] : first)) / 2));
  const none = new Float64Array(n);
  return {
    ...m,
    count: n,
    kind: Uint8Array.from({ length: n }, (_, k) => m.kind[k >> 1]),
    x: halves(m.x, m.start[0]),
    y: halves(m.y, m.start[1]),
    z: halves(m.z, m.start[2]),
    feed: none,
    cx: none,
    cy: none,
    cz: none,
    sweep: none,
    plane: new Uint8Array(n),
    cut: new Uint16Array(n),
    line: new Uint32Array(n),
  };
}

if (!existsSync(join("bench", "yardstick"))) throw new Error("run the bench from the project's root folder");
