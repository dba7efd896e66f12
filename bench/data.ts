import { makeDropper } from "../src/kernel/drop.ts";
import type { HeightMap } from "../src/kernel/heightmap.ts";
import { MoveKind, type MoveList } from "../src/kernel/moves.ts";
import { ballProfile, flatProfile } from "../src/kernel/profile.ts";

/** 700 x 110 mm at 0.1 mm: 30.8 MB of heights. */
export const NX = 7000;
export const NY = 1100;
export const CELL = 0.1;

function map(f: (x: number, j: number) => number): HeightMap {
  const z = new Float32Array(NX * NY);
  for (let j = 0, k = 0; j < NY; j++) for (let i = 0; i < NX; i++, k++) z[k] = f((i + 0.5) * CELL, j);
  return { nx: NX, ny: NY, cell: CELL, x0: CELL / 2, y0: CELL / 2, z };
}

/** A plain board: a cylinder of radius 241.3 along x. */
export function cylinderMap(): HeightMap {
  return map((_x, j) => {
    const y = (j - (NY - 1) / 2) * CELL;
    return Math.sqrt(241.3 * 241.3 - y * y) - 241.3 + 10;
  });
}

/** The back of a neck: D section, volute, heel, headstock; its sides are vertical. */
export function neckMap(): HeightMap {
  const ease = (a: number, b: number, x: number): number => {
    const t = Math.min(1, Math.max(0, (x - a) / (b - a)));
    return t * t * t * (t * (6 * t - 15) + 10);
  };
  const softMax = (a: number, b: number, k: number): number => {
    const d = Math.max(0, 1 - Math.abs(a - b) / k);
    return Math.max(a, b) + k * d * d * 0.25;
  };
  return map((x, j) => {
    const y = (j - (NY - 1) / 2) * CELL;
    const t = Math.min(1, Math.max(0, (x - 190) / 450));
    const s = ease(165, 200, x);
    const w = (33 + 6 * Math.sin(x / 35)) * (1 - s) + (21.5 + 6.5 * t) * s;
    const r = Math.abs(y) / w;
    if (r >= 1) return -2;
    const h = ease(585, 640, x);
    const section = (20 + 3 * t) * (1 - r ** 2.4) ** (1 / 2.4);
    const volute = softMax(section, 17 * Math.exp(-((x - 196) * (x - 196)) / 200) * Math.sqrt(1 - r * r) + 6, 3);
    const body = (24 + 14 * ease(600, 640, x)) * (1 - r ** 8) ** (1 / 8);
    return Math.max(-2, 14 * (1 - s) + (volute * (1 - h) + body * h) * s);
  });
}

/** Single precision and three decimals, as the yardstick reads it. */
const round = (v: number): number => Math.fround(Math.round(v * 1000) / 1000);

/**
 * The stress program on the neck: about 49 000 roughing moves (8 mm flat, levels of 3 mm) and 1.5 million finishing moves
 * (8 mm ball, 440 passes, steps of 0.1 to 0.31 mm). Returns where finishing begins.
 */
export function stressProgram(neck: HeightMap): { readonly moves: MoveList; readonly roughing: number } {
  const xs: number[] = [];
  const ys: number[] = [];
  const zs: number[] = [];
  const kinds: number[] = [];
  const push = (x: number, y: number, z: number, kind: number): void => {
    xs.push(round(x));
    ys.push(round(y));
    zs.push(round(z));
    kinds.push(kind);
  };
  let seed = 12345;
  const random = (): number => {
    seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
    return seed / 4294967296;
  };
  const out = new Float64Array(NX);
  const rows = (radius: "flat" | "ball", at: readonly number[]): Float64Array[] => {
    const d = makeDropper(neck, radius === "flat" ? flatProfile(8) : ballProfile(8));
    return at.map((y) => {
      d.dropRow(y, CELL / 2, CELL, NX, out);
      return out.slice();
    });
  };
  const roughY = Array.from({ length: Math.ceil(NY / 30) }, (_, k) => (k * 30 + 0.5) * CELL);
  const rough = rows("flat", roughY);
  let dir = 1;
  push(0, 0, 60, MoveKind.rapid);
  for (let level = 36; level >= -2; level -= 3) {
    for (let k = 0; k < roughY.length; k++) {
      for (let s = 0; s <= 100; s++) {
        const x = dir > 0 ? s * 7 : (100 - s) * 7;
        const i = Math.min(NX - 1, Math.max(0, Math.round(x / CELL - 0.5)));
        let top = -9;
        for (let q = Math.max(0, i - 70); q <= Math.min(NX - 1, i + 70); q += 5) top = Math.max(top, rough[k][q]);
        push(x, roughY[k], Math.max(level, top + 0.3), MoveKind.line);
      }
      dir = -dir;
    }
    push(dir > 0 ? 0 : 700, NY * CELL, 60, MoveKind.rapid);
    push(dir > 0 ? 0 : 700, 0, 60, MoveKind.rapid);
  }
  const roughing = xs.length;
  push(0, 0, 60, MoveKind.rapid);
  const fineY = Array.from({ length: 440 }, (_, k) => (k * 2.5 + 0.5) * CELL);
  const fine = rows("ball", fineY);
  dir = 1;
  for (let k = 0; k < 440; k++) {
    let x = dir > 0 ? 0.05 : 699.95;
    for (;;) {
      const f = x / CELL - 0.5;
      const i = Math.min(NX - 2, Math.max(0, Math.floor(f)));
      const t = Math.min(1, Math.max(0, f - i));
      push(x, fineY[k], fine[k][i] * (1 - t) + fine[k][i + 1] * t, MoveKind.line);
      if (dir > 0 ? x >= 699.95 : x <= 0.05) break;
      x = Math.min(699.95, Math.max(0.05, x + dir * (0.1 + 0.21 * random())));
    }
    dir = -dir;
  }
  const n = xs.length;
  const none = new Float64Array(n);
  const moves: MoveList = {
    count: n,
    start: [0, 0, 60],
    kind: Uint8Array.from(kinds),
    x: Float64Array.from(xs),
    y: Float64Array.from(ys),
    z: Float64Array.from(zs),
    feed: none,
    cx: none,
    cy: none,
    cz: none,
    sweep: none,
    plane: new Uint8Array(n),
    cut: new Uint16Array(n),
    line: new Uint32Array(n),
  };
  return { moves, roughing };
}

/** The program as the yardstick reads it: two int32 (moves, roughing moves), 8 spare bytes, x, y, z as float32, kinds as bytes. */
export function programBytes(moves: MoveList, roughing: number): Uint8Array {
  const n = moves.count;
  const bytes = new Uint8Array(16 + 13 * n);
  new Int32Array(bytes.buffer, 0, 2).set([n, roughing]);
  [moves.x, moves.y, moves.z].forEach((a, k) => {
    new Float32Array(bytes.buffer, 16 + 4 * n * k, n).set(a);
  });
  bytes.set(moves.kind, 16 + 12 * n);
  return bytes;
}
