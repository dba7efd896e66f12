import type { HeightMap } from "./heightmap.ts";
import { type BlockMaxima, columnMax } from "./pyramid.ts";

/**
 * What the sweeps work on: a height map, its block maxima and scratch rows. Positions given to the sweeps are
 * millimetres from the centre of cell (0, 0); heights are the map's own.
 */
export interface Field extends BlockMaxima {
  readonly nx: number;
  /** Rows first..ny - 1 stand; others are never looked at. */
  readonly first: number;
  readonly ny: number;
  readonly cell: number;
  readonly z: Float32Array;
  /** Scratch, one value per row of the map: first and last x (in cells) that a move can touch, or a half chord. */
  readonly lo: Float64Array;
  readonly hi: Float64Array;
}

/** Bound of an empty row interval: beyond any cell, and still a 32-bit integer (the loops count in those). */
export const EMPTY = 1e9;

/** The field of a map of which rows `first` to `end` - 1 stand. */
export function makeField(map: HeightMap, maxima: BlockMaxima, first: number, end: number): Field {
  const { nx, ny, cell, z } = map;
  return { nx, first, ny: end, cell, z, ...maxima, lo: new Float64Array(ny), hi: new Float64Array(ny) };
}

/** Renews the block maximum after its rows have been lowered. */
export function renewBlock(f: Field, bi: number, bj: number): void {
  f.blocks[bj * f.nbx + bi] = columnMax(f.rows, f.nbx, bi, bj, f.ny);
}

/**
 * For rows j0..j1 the x interval (in cells, in f.lo and f.hi) of the points within R of the segment from (ax, ay) along the unit
 * vector (ux, uy) for L, that also lie between `from` and `to` along it. Slightly wide, never narrow; empty rows get lo > hi.
 */
export function stadiumRows(
  f: Field,
  j0: number,
  j1: number,
  ax: number,
  ay: number,
  ux: number,
  uy: number,
  L: number,
  R: number,
  from: number,
  to: number,
): void {
  const { lo, hi, cell } = f;
  const r = R / cell;
  const l = L / cell;
  const sx = ax / cell;
  const sy = ay / cell;
  const ex = sx + l * ux;
  const ey = sy + l * uy;
  const pad = 1e-9 * (1 + r + l);
  const slab = from > -R || to < L + R;
  const a0 = from / cell - pad;
  const a1 = to / cell + pad;
  const steepX = Math.abs(ux) > 1e-12;
  const steepY = Math.abs(uy) > 1e-12;
  for (let j = j0; j <= j1; j++) {
    const dy = j - sy;
    let a = EMPTY;
    let b = -EMPTY;
    const d0 = r * r - dy * dy;
    if (d0 >= 0) {
      const w = Math.sqrt(d0);
      a = sx - w;
      b = sx + w;
    }
    const d1 = r * r - (j - ey) * (j - ey);
    if (d1 >= 0) {
      const w = Math.sqrt(d1);
      if (ex - w < a) a = ex - w;
      if (ex + w > b) b = ex + w;
    }
    // the rectangle between: 0 <= along <= l and |across| <= r
    let p = Number.NEGATIVE_INFINITY;
    let q = Number.POSITIVE_INFINITY;
    if (steepX) {
      const u = (-dy * uy) / ux;
      const v = (l - dy * uy) / ux;
      p = Math.min(u, v);
      q = Math.max(u, v);
    } else if (dy * uy < -pad || dy * uy > l + pad) p = Number.POSITIVE_INFINITY;
    if (steepY) {
      const u = (dy * ux - r) / uy;
      const v = (dy * ux + r) / uy;
      const low = Math.min(u, v);
      const high = Math.max(u, v);
      if (low > p) p = low;
      if (high < q) q = high;
    } else if (Math.abs(dy * ux) > r + pad) p = Number.POSITIVE_INFINITY;
    if (p <= q) {
      if (sx + p < a) a = sx + p;
      if (sx + q > b) b = sx + q;
    }
    if (slab) {
      if (steepX) {
        const u = (a0 - dy * uy) / ux + sx;
        const v = (a1 - dy * uy) / ux + sx;
        const low = Math.min(u, v);
        const high = Math.max(u, v);
        if (low > a) a = low;
        if (high < b) b = high;
      } else if (dy * uy < a0 || dy * uy > a1) b = -EMPTY;
    }
    lo[j] = a - pad;
    hi[j] = b + pad;
  }
}
