import { openRows, type RowDrops } from "./drop-rows.ts";
import { type HeightMap, NOTHING } from "./heightmap.ts";
import type { Profile } from "./profile.ts";
import { heightAt, type Shape, shapeOf } from "./tilt.ts";
import { type KernelKind, kernelInUse } from "./wasm/load.ts";

/**
 * Cutter location: the height of a cutter's tip when it is let down at (x, y) until it touches the map, that is
 * max over cells of z(cell) - t(distance), over the cells whose centre lies within the radius. `NOTHING` where there is none.
 */
export interface Dropper {
  readonly map: HeightMap;
  readonly profile: Profile;
  dropAt(x: number, y: number): number;
  /** Samples anywhere; neighbours in the list should be neighbours in the plane (the search starts from the last contact). */
  dropAlong(xs: ArrayLike<number>, ys: ArrayLike<number>, out: Float64Array): void;
  /** n samples x0, x0 + dx, ... at constant y. */
  dropRow(y: number, x0: number, dx: number, n: number, out: Float64Array): void;
  /** The same for several y at once, out[r * n + k]; quicker than row by row because the map is worked on in strips. */
  dropRows(ys: ArrayLike<number>, x0: number, dx: number, n: number, out: Float64Array): void;
  /** The whole map at its own cell centres. */
  dropMap(): HeightMap;
}

export interface DropOptions {
  /**
   * Estimate the contact between the cells by a parabola through the best cell and its neighbours. Takes the sampling
   * error of smooth parts from about 1 um to well below 0.1 um at 0.1 mm; parts that are not smooth are left alone.
   */
  readonly refine?: boolean;
}

/** Block maxima of a map for drops: 4 x 1, 4 x 4 and 16 x 16 cells. Make it once per map and share it between cutters. */
export interface DropMaxima {
  readonly n4: number;
  readonly m1: Float32Array;
  readonly m4: Float32Array;
  readonly n16: number;
  readonly m16: Float32Array;
}

export function makeDropMaxima(map: HeightMap): DropMaxima {
  const { nx, ny, z } = map;
  const n4 = (nx + 3) >> 2;
  const r4 = (ny + 3) >> 2;
  const n16 = (nx + 15) >> 4;
  const r16 = (ny + 15) >> 4;
  const m1 = new Float32Array(n4 * ny);
  const m4 = new Float32Array(n4 * r4).fill(NOTHING);
  const m16 = new Float32Array(n16 * r16).fill(NOTHING);
  for (let j = 0; j < ny; j++) {
    const low = j * n4;
    const up = (j >> 2) * n4;
    for (let b = 0; b < n4; b++) {
      const end = j * nx + Math.min(nx, b * 4 + 4);
      let m = NOTHING;
      for (let k = j * nx + b * 4; k < end; k++) if (z[k] > m) m = z[k];
      m1[low + b] = m;
      if (m > m4[up + b]) m4[up + b] = m;
    }
  }
  for (let j = 0, k = 0; j < r4; j++) {
    const row = (j >> 2) * n16;
    for (let i = 0; i < n4; i++, k++) if (m4[k] > m16[row + (i >> 2)]) m16[row + (i >> 2)] = m4[k];
  }
  return { n4, m1, m4, n16, m16 };
}

/** Bins of squared distance in the table of lower bounds of the profile height. */
const BINS = 8192;

/** A second difference of the surface above this (mm per cell squared, times cell squared) is an edge, not a curve of radius >= 1 mm. */
const SMOOTH = 1;

/**
 * Prepares drops of one cutter on one map; the map must not change while the dropper lives. Throws RangeError for a
 * profile that is not convex. Rows at the cells' own spacing and whole maps are worked out 16 samples at a time, in WebAssembly
 * where it is in use (Float32: within half a unit in the last place of the exact maximum); everything else is Float64.
 */
export function makeDropper(
  map: HeightMap,
  profile: Profile,
  options: DropOptions = {},
  maxima: DropMaxima = makeDropMaxima(map),
): Dropper {
  return new PlainDropper(map, profile, options.refine === true, maxima);
}

class PlainDropper implements Dropper {
  readonly map: HeightMap;
  readonly profile: Profile;
  private readonly shape: Shape;
  private readonly maxima: DropMaxima;
  private readonly refine: boolean;
  /** low[k] <= t at every squared distance in bin k; one spare bin at the end. */
  private readonly low: Float64Array;
  private readonly perBin: number;
  /** The last contact, where the next search starts; -1 for none. */
  private ci = -1;
  private cj = -1;
  private readonly kernel: KernelKind;
  /** Undefined until first needed. */
  private rows: RowDrops | null | undefined;
  private di = 0;
  private dj = 0;

  constructor(map: HeightMap, profile: Profile, refine: boolean, maxima: DropMaxima) {
    this.map = map;
    this.profile = profile;
    this.shape = shapeOf(profile);
    this.maxima = maxima;
    this.refine = refine;
    this.kernel = kernelInUse();
    const R = this.shape.radius;
    this.perBin = BINS / ((R / map.cell) * (R / map.cell));
    this.low = new Float64Array(BINS + 2);
    for (let k = 1; k < BINS + 2; k++) this.low[k] = heightAt(this.shape, R * Math.sqrt(Math.min(1, Math.max(0, k - 1e-6) / BINS)));
  }

  dropAt(x: number, y: number): number {
    const { map } = this;
    return this.drop((x - map.x0) / map.cell, (y - map.y0) / map.cell);
  }

  dropAlong(xs: ArrayLike<number>, ys: ArrayLike<number>, out: Float64Array): void {
    const { x0, y0, cell } = this.map;
    for (let k = 0; k < xs.length; k++) out[k] = this.drop((xs[k] - x0) / cell, (ys[k] - y0) / cell);
  }

  dropRow(y: number, x0: number, dx: number, n: number, out: Float64Array): void {
    this.dropRows([y], x0, dx, n, out);
  }

  dropRows(ys: ArrayLike<number>, x0: number, dx: number, n: number, out: Float64Array): void {
    const { map } = this;
    const { cell } = map;
    const fi = (x0 - map.x0) / cell;
    const step = dx / cell;
    const quick = n > 15 && step > 0 ? this.fast() : null;
    // samples stand at `parts` phases between the cells, each phase at a whole number of cells
    let parts = 1;
    while (parts < 5 && Math.abs(step * parts - Math.round(step * parts)) > 1e-9 * parts) parts++;
    const stride = Math.round(step * parts);
    if (!quick || parts === 5 || stride < 1 || stride > 4 * parts) {
      for (let r = 0, k = 0; r < ys.length; r++) {
        const fj = (ys[r] - map.y0) / cell;
        for (let i = 0; i < n; i++, k++) out[k] = this.drop(fi + i * step, fj);
      }
      return;
    }
    const fj = Float64Array.from(ys, (y) => (y - map.y0) / cell);
    if (stride === 1 && parts === 1) {
      quick.rows(fj, fi, n, out);
      return;
    }
    for (let part = 0; part < parts; part++) {
      const count = Math.ceil((n - part) / parts);
      if (count < 1) break;
      const width = (count - 1) * stride + 1;
      const row = new Float32Array(width * ys.length);
      quick.rows(fj, fi + part * step, width, row);
      for (let r = 0; r < ys.length; r++) for (let i = 0; i < count; i++) out[r * n + part + i * parts] = row[r * width + i * stride];
    }
  }

  dropMap(): HeightMap {
    const { nx, ny, cell, x0, y0 } = this.map;
    const z = new Float32Array(nx * ny);
    const quick = this.fast();
    if (quick) {
      quick.rows(
        Float64Array.from({ length: ny }, (_, j) => j),
        0,
        nx,
        z,
      );
      return { nx, ny, cell, x0, y0, z };
    }
    for (let j = 0; j < ny; j++) {
      // to and fro, so that the last contact stays near
      for (let i = 0; i < nx; i++) {
        const c = j & 1 ? nx - 1 - i : i;
        z[j * nx + c] = this.drop(c, j);
      }
    }
    return { nx, ny, cell, x0, y0, z };
  }

  /** Rows of 16 samples at a time, opened when first needed; null where they do not pay. They do not refine. */
  private fast(): RowDrops | null {
    if (this.refine) return null;
    if (this.rows === undefined) this.rows = openRows(this.map, this.shape, this.kernel);
    return this.rows;
  }

  /** Branch and bound over the block maxima; (fi, fj) in cells. */
  private drop(fi: number, fj: number): number {
    const { map, maxima, shape, low, perBin } = this;
    const { nx, ny, cell, z } = map;
    const { n4, m1, m4, n16, m16 } = maxima;
    const rc = shape.radius / cell;
    // a cell centre exactly on the rim counts
    const rc2 = rc * rc * (1 + 1e-12);
    const i0 = Math.max(0, Math.ceil(fi - rc) | 0);
    const i1 = Math.min(nx - 1, Math.floor(fi + rc) | 0);
    const j0 = Math.max(0, Math.ceil(fj - rc) | 0);
    const j1 = Math.min(ny - 1, Math.floor(fj + rc) | 0);
    if (i0 > i1 || j0 > j1) return NOTHING;
    const flat = shape.kind === "flat";
    let best = NOTHING;
    let ci = -1;
    let cj = -1;
    // first guesses: under the axis, the cell the last sample touched, and the cell as far from the axis as it was then
    for (let g = 0; g < 3; g++) {
      const i = g === 0 ? Math.round(fi) | 0 : g === 1 ? this.ci : Math.round(fi + this.di) | 0;
      const j = g === 0 ? Math.round(fj) | 0 : g === 1 ? this.cj : Math.round(fj + this.dj) | 0;
      if (i < i0 || i > i1 || j < j0 || j > j1) continue;
      const h = z[j * nx + i];
      if (h <= best) continue;
      const d2 = (i - fi) * (i - fi) + (j - fj) * (j - fj);
      if (d2 > rc2) continue;
      const v = flat ? h : h - heightAt(shape, Math.sqrt(d2) * cell);
      if (v > best) {
        best = v;
        ci = i;
        cj = j;
      }
    }
    // climb to the top of the hill it stands on, in strides that halve
    for (let stride = 8; stride >= 1 && ci >= 0; ) {
      const pi = ci;
      const pj = cj;
      for (let g = 0; g < 4; g++) {
        const i = g === 0 ? pi - stride : g === 1 ? pi + stride : pi;
        const j = g === 2 ? pj - stride : g === 3 ? pj + stride : pj;
        if (i < i0 || i > i1 || j < j0 || j > j1) continue;
        const h = z[j * nx + i];
        if (h <= best) continue;
        const d2 = (i - fi) * (i - fi) + (j - fj) * (j - fj);
        if (d2 > rc2 || h - low[(d2 * perBin) | 0] <= best) continue;
        const v = flat ? h : h - heightAt(shape, Math.sqrt(d2) * cell);
        if (v > best) {
          best = v;
          ci = i;
          cj = j;
        }
      }
      if (ci === pi && cj === pj) stride >>= 1;
    }
    for (let bj = j0 >> 4; bj <= j1 >> 4; bj++) {
      const ly = bj * 16 > fj ? bj * 16 - fj : bj * 16 + 15 < fj ? fj - bj * 16 - 15 : 0;
      for (let bi = i0 >> 4; bi <= i1 >> 4; bi++) {
        const top = m16[bj * n16 + bi];
        if (top <= best) continue;
        const lx = bi * 16 > fi ? bi * 16 - fi : bi * 16 + 15 < fi ? fi - bi * 16 - 15 : 0;
        const d2 = lx * lx + ly * ly;
        if (d2 > rc2 || top - low[(d2 * perBin) | 0] <= best) continue;
        const sjEnd = Math.min(bj * 4 + 3, j1 >> 2);
        const siEnd = Math.min(bi * 4 + 3, i1 >> 2);
        for (let sj = Math.max(bj * 4, j0 >> 2); sj <= sjEnd; sj++) {
          const my = sj * 4 > fj ? sj * 4 - fj : sj * 4 + 3 < fj ? fj - sj * 4 - 3 : 0;
          for (let si = Math.max(bi * 4, i0 >> 2); si <= siEnd; si++) {
            const peak = m4[sj * n4 + si];
            if (peak <= best) continue;
            const mx = si * 4 > fi ? si * 4 - fi : si * 4 + 3 < fi ? fi - si * 4 - 3 : 0;
            const e2 = mx * mx + my * my;
            if (e2 > rc2 || peak - low[(e2 * perBin) | 0] <= best) continue;
            const jEnd = Math.min(sj * 4 + 3, j1);
            const iEnd = Math.min(si * 4 + 3, i1);
            for (let j = Math.max(sj * 4, j0); j <= jEnd; j++) {
              const crest = m1[j * n4 + si];
              if (crest <= best) continue;
              const y2 = (j - fj) * (j - fj);
              const c2 = y2 + mx * mx;
              if (c2 > rc2 || crest - low[(c2 * perBin) | 0] <= best) continue;
              for (let i = Math.max(si * 4, i0); i <= iEnd; i++) {
                const h = z[j * nx + i];
                if (h <= best) continue;
                const r2 = y2 + (i - fi) * (i - fi);
                if (r2 > rc2 || h - low[(r2 * perBin) | 0] <= best) continue;
                const v = flat ? h : h - heightAt(shape, Math.sqrt(r2) * cell);
                if (v > best) {
                  best = v;
                  ci = i;
                  cj = j;
                }
              }
            }
          }
        }
      }
    }
    this.ci = ci;
    this.cj = cj;
    this.di = ci - fi;
    this.dj = cj - fj;
    if (best <= 0.5 * NOTHING) return NOTHING;
    return this.refine ? best + this.between(fi, fj, ci, cj, best) : best;
  }

  /** How much higher the summit of the parabola through the contact cell (ci, cj) and its neighbours stands; 0 where the surface is not smooth. */
  private between(fi: number, fj: number, ci: number, cj: number, best: number): number {
    const { map, shape } = this;
    const { nx, ny, cell, z } = map;
    if (shape.kind === "flat" || ci < 1 || cj < 1 || ci > nx - 2 || cj > ny - 2) return 0;
    const k = cj * nx + ci;
    const limit = SMOOTH * cell * cell;
    if (Math.abs(z[k - 1] - 2 * z[k] + z[k + 1]) > limit || Math.abs(z[k - nx] - 2 * z[k] + z[k + nx]) > limit) return 0;
    const at = (di: number, dj: number): number => {
      const r = Math.sqrt((ci + di - fi) ** 2 + (cj + dj - fj) ** 2) * cell;
      return r > shape.radius ? Number.NaN : z[k + dj * nx + di] - heightAt(shape, r) - best;
    };
    const w = at(-1, 0);
    const e = at(1, 0);
    const s = at(0, -1);
    const n = at(0, 1);
    const gx = (e - w) / 2;
    const gy = (n - s) / 2;
    const hxx = e + w;
    const hyy = n + s;
    const hxy = (at(1, 1) - at(-1, 1) - at(1, -1) + at(-1, -1)) / 4;
    const det = hxx * hyy - hxy * hxy;
    // NaN (a neighbour outside the cutter) fails every comparison
    if (!(det > 0 && hxx < 0)) return 0;
    const du = (hxy * gy - hyy * gx) / det;
    const dv = (hxy * gx - hxx * gy) / det;
    if (!(Math.abs(du) <= 1 && Math.abs(dv) <= 1)) return 0;
    const rise = 0.5 * (gx * du + gy * dv);
    return Math.max(rise, 0);
  }
}
