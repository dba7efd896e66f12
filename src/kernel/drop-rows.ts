import { type DropKernel, plainDropKernel } from "./drop-kernel.ts";
import { type HeightMap, NOTHING } from "./heightmap.ts";
import { heightAt, type Shape } from "./tilt.ts";
import { FIRST_FREE, type KernelKind, openArena } from "./wasm/load.ts";

/** Maps with fewer cells are not worth a copy. */
const SMALL = 16384;
/** Columns worked on together, so that the rows under the cutter stay in the processor's cache. */
const STRIP = 512;
/** Tables kept, one per phase. */
const TABLES = 6;

/** Cutter location along rows of a map at the spacing of its cells. */
export interface RowDrops {
  /**
   * Samples at (fi + k, fj[r]) in cells, k = 0 .. n - 1, for every r: out[r * n + k]. Any phase, on or off the map.
   */
  rows(fj: ArrayLike<number>, fi: number, n: number, out: Float32Array | Float64Array): void;
}

interface Table {
  readonly fx: number;
  readonly fy: number;
  readonly rev: number;
  readonly b1: number;
  readonly b2: number;
}

/** A padded copy of the map for one cutter, for either kernel; null when the map is too small for it to pay or too large. */
export function openRows(map: HeightMap, shape: Shape, kernel: KernelKind): RowDrops | null {
  const { nx, ny, cell, z } = map;
  if (nx * ny < SMALL) return null;
  const rc = shape.radius / cell;
  const K = Math.ceil(rc);
  const n = 2 * K + 2;
  const vlo = -K;
  const ND = (K + 16) >> 4;
  const H = 16 * ND + 32;
  const NG = ((((n + 6) >> 3) + 1 + 15) >> 4) << 4;
  const padX = ((K + 1 + 16 * ND + 46) >> 4) << 4;
  const padY = ((2 * K + 10) >> 3) << 3;
  const S = ((nx + 2 * padX + 15) >> 4) << 4;
  const rows = ny + 2 * padY;
  const nbx = S >> 4;
  const lp1 = ((rows + 47) >> 4) << 4;
  const lp2 = ((((rows + 7) >> 3) + NG + 15) >> 4) << 4;
  let top = FIRST_FREE;
  const take = (floats: number): number => {
    const at = top;
    top += (floats * 4 + 63) & ~63;
    return at;
  };
  const pP = take(S * rows + 64);
  const pL1 = take(lp1 * nbx);
  const pL2 = take(lp2 * nbx);
  const pOut = take(S);
  const size1 = (2 * ND + 1) * (n + 16);
  const size2 = 8 * (2 * ND + 1) * NG;
  const tables: Table[] = Array.from({ length: TABLES }, () => ({
    fx: Number.NaN,
    fy: Number.NaN,
    rev: take(n * 2 * H + 32),
    b1: take(size1),
    b2: take(size2),
  }));
  if (!Number.isSafeInteger(top) || top > 2 ** 31) return null;
  const arena = kernel === "wasm" ? openArena(top - FIRST_FREE) : null;
  const buffer = arena ? arena.buffer : new ArrayBuffer(top);
  const kernels: DropKernel = arena ? arena.kernels : plainDropKernel(new Float32Array(buffer));
  const padded = new Float32Array(buffer, pP, S * rows + 64).fill(NOTHING);
  for (let j = 0; j < ny; j++) padded.set(z.subarray(j * nx, (j + 1) * nx), (j + padY) * S + padX);
  kernels.dropField(pP, pL1, pL2, S, rows, lp1, lp2);
  const result = new Float32Array(buffer, pOut, S);
  const rim = rc * rc * (1 + 1e-12);

  const fill = (t: Table, fx: number, fy: number): Table => {
    const rev = new Float32Array(buffer, t.rev, n * 2 * H).fill(NOTHING);
    const b1 = new Float32Array(buffer, t.b1, size1).fill(NOTHING);
    const b2 = new Float32Array(buffer, t.b2, size2).fill(NOTHING);
    for (let v = 0; v < n; v++) {
      const dy2 = (vlo + v - fy) * (vlo + v - fy);
      for (let u = -K; u <= K + 1; u++) {
        const d2 = dy2 + (u - fx) * (u - fx);
        if (d2 > rim) continue;
        const h = Math.fround(-heightAt(shape, Math.sqrt(d2) * cell));
        rev[v * 2 * H + H - u] = h;
        // block columns whose 16 samples can see this offset: 16 d - 15 <= u <= 16 d + 15
        const d = (u + 15) >> 4;
        raise(b1, (d + ND) * (n + 16) + v, h);
        if (16 * d - 1 >= u) raise(b1, (d - 1 + ND) * (n + 16) + v, h);
      }
    }
    for (let ph = 0; ph < 8; ph++)
      for (let d = 0; d <= 2 * ND; d++)
        for (let v = 0; v < n; v++) raise(b2, (ph * (2 * ND + 1) + d) * NG + ((ph + v) >> 3), b1[d * (n + 16) + v]);
    return { ...t, fx, fy };
  };

  /** The table of a phase; the oldest makes room. */
  const tableOf = (fx: number, fy: number): Table => {
    const at = tables.findIndex((t) => Math.abs(t.fx - fx) < 1e-10 && Math.abs(t.fy - fy) < 1e-10);
    const t = at < 0 ? fill(tables[TABLES - 1], fx, fy) : tables[at];
    tables.splice(at < 0 ? TABLES - 1 : at, 1);
    tables.unshift(t);
    return t;
  };

  return {
    rows(fj, fi, count, out) {
      const I = Math.floor(fi + 1e-10);
      const fx = Math.max(0, fi - I);
      // columns where the cutter can touch the map, in padded cells
      const first = Math.max(I, -K - 1);
      const last = Math.min(I + count - 1, nx + K);
      out.fill(NOTHING, 0, fj.length * count);
      if (first > last) return;
      const p = (first + padX) & ~15;
      const q = (last + padX + 16) & ~15;
      const phases = new Set<number>();
      for (let r = 0; r < fj.length; r++) phases.add(Math.round((fj[r] - Math.floor(fj[r])) * 1e9));
      // strips would build the tables of many phases again and again
      const strip = phases.size > TABLES ? S : STRIP;
      for (let xa = p; xa < q; xa += strip) {
        const xb = Math.min(q, xa + strip);
        const from = Math.max(xa - padX, first);
        const to = Math.min(xb - padX - 1, last);
        for (let r = 0; r < fj.length; r++) {
          const J = Math.floor(fj[r] + 1e-10);
          if (J < -K - 1 || J > ny + K) continue;
          const t = tableOf(fx, Math.max(0, fj[r] - J));
          kernels.dropRow(t.rev, t.b1, t.b2, n, H, ND, NG, vlo, J + padY, xa, xb, pOut);
          // samples over nothing come out as NOTHING exactly: -1e9 less a profile height is -1e9 in Float32
          if (from <= to) out.set(result.subarray(from + padX - xa, to + 1 + padX - xa), r * count + from - I);
        }
      }
    },
  };
}

function raise(a: Float32Array, k: number, v: number): void {
  if (v > a[k]) a[k] = v;
}
