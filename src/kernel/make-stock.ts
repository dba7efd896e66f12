import type { HeightMap } from "./heightmap.ts";
import { MoveKind, type MoveList } from "./moves.ts";
import type { Profile } from "./profile.ts";
import { type BlockMaxima, columnMax, fillBlockMaxima, makeBlockMaxima, maxOf } from "./pyramid.ts";
import type { Stock } from "./stock.ts";
import { contactOffset, heightAt, type Shape, shapeOf } from "./tilt.ts";

/** Largest distance between an arc and the chords that stand for it, where an arc is not swept as such (helices, ZX and YZ arcs). */
export const CHORD_ERROR = 0.0005;

/** Half diagonal of a 16 x 16 block of cell centres, in cells. */
const HALF_DIAGONAL = 7.5 * Math.SQRT2;

/** Makes a stock of a height map; the map's heights are lowered in place by `cut`. See the `Stock` contract. */
export function makeStock(map: HeightMap): Stock {
  return new PlainStock(map);
}

/** The stock in plain TypeScript, in Float64; only the heights are stored as Float32. */
export class PlainStock implements Stock {
  readonly map: HeightMap;
  private readonly maxima: BlockMaxima;
  /** Scratch: per row of the move at hand, the first and last x (in cells) that it can touch. */
  private readonly lo: Float64Array;
  private readonly hi: Float64Array;
  private removed = 0;

  constructor(map: HeightMap) {
    this.map = map;
    this.maxima = makeBlockMaxima(map);
    this.lo = new Float64Array(map.ny);
    this.hi = new Float64Array(map.ny);
  }

  refresh(): void {
    fillBlockMaxima(this.map, this.maxima);
  }

  cut(profile: Profile, moves: MoveList, from: number, to: number): number {
    const shape = shapeOf(profile);
    const R = shape.radius;
    const { kind, x, y, z, cx, cy, cz, sweep, plane, start } = moves;
    const { nx, ny, cell, x0, y0 } = this.map;
    const xLow = x0 - R;
    const xHigh = x0 + (nx - 1) * cell + R;
    const yLow = y0 - R;
    const yHigh = y0 + (ny - 1) * cell + R;
    this.removed = 0;
    let px = from > 0 ? x[from - 1] : start[0];
    let py = from > 0 ? y[from - 1] : start[1];
    let pz = from > 0 ? z[from - 1] : start[2];
    for (let k = from; k < to; k++) {
      const qx = x[k];
      const qy = y[k];
      const qz = z[k];
      if (kind[k] === MoveKind.line) {
        if (!((px < xLow && qx < xLow) || (px > xHigh && qx > xHigh) || (py < yLow && qy < yLow) || (py > yHigh && qy > yHigh)))
          this.line(shape, px, py, pz, qx, qy, qz);
      } else if (kind[k] === MoveKind.arc) {
        this.arc(shape, px, py, pz, qx, qy, qz, cx[k], cy[k], cz[k], sweep[k], plane[k], xLow, xHigh, yLow, yHigh);
      }
      px = qx;
      py = qy;
      pz = qz;
    }
    return this.removed * cell * cell;
  }

  /** One straight move, any direction and slope. */
  private line(s: Shape, ax: number, ay: number, az: number, bx: number, by: number, bz: number): void {
    const { map, maxima, lo, hi } = this;
    const { nx, ny, cell, z } = map;
    const { nbx, rows, blocks } = maxima;
    const R = s.radius;
    const length = Math.hypot(bx - ax, by - ay);
    const upright = length < 1e-9;
    const ux = upright ? 1 : (bx - ax) / length;
    const uy = upright ? 0 : (by - ay) / length;
    const L = upright ? 0 : length;
    const zStart = upright ? Math.min(az, bz) : az;
    const m = upright ? 0 : (bz - az) / length;
    const zMin = Math.min(az, bz);
    // in cells
    const sx = (ax - map.x0) / cell;
    const sy = (ay - map.y0) / cell;
    const j0 = Math.max(0, Math.ceil(Math.min(sy, (by - map.y0) / cell) - R / cell));
    const j1 = Math.min(ny - 1, Math.floor(Math.max(sy, (by - map.y0) / cell) + R / cell));
    if (j0 > j1) return;
    stadiumRows(lo, hi, j0, j1, cell, sx, sy, ux, uy, L, R);
    const slope = Math.abs(m);
    const back = m < 0 ? -1 : 1;
    const { kind } = s;
    const R2 = R * R;
    const reach = HALF_DIAGONAL * cell;
    for (let bj = j0 >> 4; bj <= j1 >> 4; bj++) {
      const ja = Math.max(j0, bj * 16);
      const jb = Math.min(j1, bj * 16 + 15);
      let left = Number.POSITIVE_INFINITY;
      let right = Number.NEGATIVE_INFINITY;
      for (let j = ja; j <= jb; j++) {
        if (lo[j] < left) left = lo[j];
        if (hi[j] > right) right = hi[j];
      }
      const i0 = Math.max(0, Math.ceil(left));
      const i1 = Math.min(nx - 1, Math.floor(right));
      for (let bi = i0 >> 4; bi <= i1 >> 4 && i0 <= i1; bi++) {
        const ex = (bi * 16 + 7.5 - sx) * cell;
        const ey = (bj * 16 + 7.5 - sy) * cell;
        const aMid = ex * ux + ey * uy;
        const off = Math.abs(ey * ux - ex * uy) - reach;
        if (off > R) continue;
        // the axis cannot stand further back (or, going down, further on) than the radius from the block
        const a = m > 0 ? aMid - reach - R : aMid + reach + R;
        const zLow = zStart + m * (a < 0 ? 0 : Math.min(a, L));
        const floor = Math.max(zLow, zMin) + (off > 0 ? heightAt(s, off) : 0);
        if (blocks[bj * nbx + bi] <= floor) continue;
        let any = false;
        for (let j = ja; j <= jb; j++) {
          if (rows[j * nbx + bi] <= floor) continue;
          const ia = Math.max(bi * 16, Math.ceil(lo[j]), 0);
          const ib = Math.min(bi * 16 + 15, Math.floor(hi[j]), nx - 1);
          if (ia > ib) continue;
          let changed = false;
          const dy = (j - sy) * cell;
          let guess = 0;
          for (let i = ia; i <= ib; i++) {
            const dx = (i - sx) * cell;
            const along = dx * ux + dy * uy;
            const b = Math.abs(dy * ux - dx * uy);
            const rim2 = R2 - b * b;
            if (rim2 < 0) continue;
            const rim = Math.sqrt(rim2);
            // u = along - s, for s in [0, L], within the rim
            let uLo = along - L;
            let uHi = along;
            if (uLo < -rim) uLo = -rim;
            if (uHi > rim) uHi = rim;
            if (uLo > uHi) continue;
            let u: number;
            if (kind === "ball") u = (m * rim) / Math.sqrt(1 + m * m);
            else {
              guess = contactOffset(s, b, slope, guess);
              u = back * guess;
            }
            if (u < uLo) u = uLo;
            else if (u > uHi) u = uHi;
            let t = 0;
            if (kind === "ball") {
              const q = rim2 - u * u;
              t = R - Math.sqrt(Math.max(q, 0));
            } else if (kind === "other") t = heightAt(s, Math.sqrt(b * b + u * u));
            const v = zStart + m * (along - u) + t;
            const k = j * nx + i;
            const old = z[k];
            if (v < old) {
              z[k] = v;
              this.removed += old - z[k];
              changed = true;
            }
          }
          if (changed) {
            rows[j * nbx + bi] = maxOf(z, j * nx + bi * 16, j * nx + Math.min(nx, bi * 16 + 16));
            any = true;
          }
        }
        if (any) blocks[bj * nbx + bi] = columnMax(rows, nbx, bi, bj, ny);
      }
    }
  }

  private arc(
    s: Shape,
    ax: number,
    ay: number,
    az: number,
    bx: number,
    by: number,
    bz: number,
    cx: number,
    cy: number,
    cz: number,
    sweep: number,
    plane: number,
    xLow: number,
    xHigh: number,
    yLow: number,
    yHigh: number,
  ): void {
    const rho =
      plane === 0
        ? 0.5 * (Math.hypot(ax - cx, ay - cy) + Math.hypot(bx - cx, by - cy))
        : plane === 1
          ? 0.5 * (Math.hypot(ax - cx, az - cz) + Math.hypot(bx - cx, bz - cz))
          : 0.5 * (Math.hypot(ay - cy, az - cz) + Math.hypot(by - cy, bz - cz));
    // quick reject on the whole circle (and, for the axis that runs straight, on its ends)
    const slack = 1e-6;
    const xa = plane === 2 ? Math.min(ax, bx) : cx - rho;
    const xb = plane === 2 ? Math.max(ax, bx) : cx + rho;
    const ya = plane === 1 ? Math.min(ay, by) : cy - rho;
    const yb = plane === 1 ? Math.max(ay, by) : cy + rho;
    if (xb + slack < xLow || xa - slack > xHigh || yb + slack < yLow || ya - slack > yHigh) return;
    if (plane === 0 && az === bz) {
      this.flatArc(s, ax, ay, bx, by, cx, cy, rho, az, sweep);
      return;
    }
    const half = rho > CHORD_ERROR ? Math.acos(1 - CHORD_ERROR / rho) : Math.PI / 4;
    const n = Math.max(1, Math.ceil(Math.abs(sweep) / (2 * half)));
    let px = ax;
    let py = ay;
    let pz = az;
    const first = plane === 0 ? Math.atan2(ay - cy, ax - cx) : plane === 1 ? Math.atan2(ax - cx, az - cz) : Math.atan2(az - cz, ay - cy);
    for (let k = 1; k <= n; k++) {
      const f = k / n;
      const angle = first + sweep * f;
      const p = rho * Math.cos(angle);
      const q = rho * Math.sin(angle);
      const qx = k === n ? bx : plane === 0 ? cx + p : plane === 1 ? cx + q : ax + (bx - ax) * f;
      const qy = k === n ? by : plane === 0 ? cy + q : plane === 1 ? ay + (by - ay) * f : cy + p;
      const qz = k === n ? bz : plane === 0 ? az + (bz - az) * f : plane === 1 ? cz + p : cz + q;
      if (!((px < xLow && qx < xLow) || (px > xHigh && qx > xHigh) || (py < yLow && qy < yLow) || (py > yHigh && qy > yHigh)))
        this.line(s, px, py, pz, qx, qy, qz);
      px = qx;
      py = qy;
      pz = qz;
    }
  }

  /** An arc in the XY plane at one height: the nearest point of the arc decides. */
  private flatArc(
    s: Shape,
    ax: number,
    ay: number,
    bx: number,
    by: number,
    cx: number,
    cy: number,
    rho: number,
    zc: number,
    sweep: number,
  ): void {
    const { map, maxima } = this;
    const { nx, ny, cell, z } = map;
    const { nbx, rows, blocks } = maxima;
    const R = s.radius;
    const full = Math.abs(sweep) >= 2 * Math.PI - 1e-9;
    // ends as seen counter-clockwise
    const sx = (sweep > 0 ? ax : bx) - cx;
    const sy = (sweep > 0 ? ay : by) - cy;
    const ex = (sweep > 0 ? bx : ax) - cx;
    const ey = (sweep > 0 ? by : ay) - cy;
    const wide = Math.abs(sweep) > Math.PI;
    const box = arcBox(sx, sy, ex, ey, rho, full, wide);
    const j0 = Math.max(0, Math.ceil((cy + box.yMin - R - map.y0) / cell));
    const j1 = Math.min(ny - 1, Math.floor((cy + box.yMax + R - map.y0) / cell));
    const i0 = Math.max(0, Math.ceil((cx + box.xMin - R - map.x0) / cell));
    const i1 = Math.min(nx - 1, Math.floor((cx + box.xMax + R - map.x0) / cell));
    const reach = HALF_DIAGONAL * cell;
    for (let bj = j0 >> 4; bj <= j1 >> 4 && j0 <= j1; bj++) {
      const ja = Math.max(j0, bj * 16);
      const jb = Math.min(j1, bj * 16 + 15);
      for (let bi = i0 >> 4; bi <= i1 >> 4 && i0 <= i1; bi++) {
        if (blocks[bj * nbx + bi] <= zc) continue;
        const mx = map.x0 + (bi * 16 + 7.5) * cell - cx;
        const my = map.y0 + (bj * 16 + 7.5) * cell - cy;
        const off = Math.abs(Math.sqrt(mx * mx + my * my) - rho) - reach;
        if (off > R) continue;
        const floor = zc + (off > 0 ? heightAt(s, off) : 0);
        if (blocks[bj * nbx + bi] <= floor) continue;
        let any = false;
        const ia = Math.max(i0, bi * 16);
        const ib = Math.min(i1, bi * 16 + 15);
        for (let j = ja; j <= jb; j++) {
          if (rows[j * nbx + bi] <= floor) continue;
          const dy = map.y0 + j * cell - cy;
          let changed = false;
          for (let i = ia; i <= ib; i++) {
            const dx = map.x0 + i * cell - cx;
            const fromStart = sx * dy - sy * dx;
            const toEnd = dx * ey - dy * ex;
            const inside = full || (wide ? fromStart >= 0 || toEnd >= 0 : fromStart >= 0 && toEnd >= 0);
            let r: number;
            if (inside) r = Math.abs(Math.sqrt(dx * dx + dy * dy) - rho);
            else {
              const p = (dx - sx) * (dx - sx) + (dy - sy) * (dy - sy);
              const q = (dx - ex) * (dx - ex) + (dy - ey) * (dy - ey);
              r = Math.sqrt(Math.min(p, q));
            }
            if (r > R) continue;
            const v = zc + heightAt(s, r);
            const k = j * nx + i;
            const old = z[k];
            if (v < old) {
              z[k] = v;
              this.removed += old - z[k];
              changed = true;
            }
          }
          if (changed) {
            rows[j * nbx + bi] = maxOf(z, j * nx + bi * 16, j * nx + Math.min(nx, bi * 16 + 16));
            any = true;
          }
        }
        if (any) blocks[bj * nbx + bi] = columnMax(rows, nbx, bi, bj, ny);
      }
    }
  }

  penetration(radius: number, ax: number, ay: number, az: number, bx: number, by: number, bz: number): number {
    const { map, maxima, lo, hi } = this;
    const { nx, ny, cell, z } = map;
    const { nbx, rows, blocks } = maxima;
    const length = Math.hypot(bx - ax, by - ay);
    const upright = length < 1e-9;
    const ux = upright ? 1 : (bx - ax) / length;
    const uy = upright ? 0 : (by - ay) / length;
    const L = upright ? 0 : length;
    const zStart = upright ? Math.min(az, bz) : az;
    const m = upright ? 0 : (bz - az) / length;
    const sx = (ax - map.x0) / cell;
    const sy = (ay - map.y0) / cell;
    const ey = (by - map.y0) / cell;
    const ex = (bx - map.x0) / cell;
    const rc = radius / cell;
    let worst = Number.NEGATIVE_INFINITY;
    if (Math.max(sx, ex) + rc < 0 || Math.min(sx, ex) - rc > nx - 1) return worst;
    const j0 = Math.max(0, Math.ceil(Math.min(sy, ey) - rc));
    const j1 = Math.min(ny - 1, Math.floor(Math.max(sy, ey) + rc));
    if (j0 > j1) return worst;
    stadiumRows(lo, hi, j0, j1, cell, sx, sy, ux, uy, L, radius);
    const reach = HALF_DIAGONAL * cell;
    const zMin = Math.min(az, bz);
    for (let bj = j0 >> 4; bj <= j1 >> 4; bj++) {
      const ja = Math.max(j0, bj * 16);
      const jb = Math.min(j1, bj * 16 + 15);
      let left = Number.POSITIVE_INFINITY;
      let right = Number.NEGATIVE_INFINITY;
      for (let j = ja; j <= jb; j++) {
        if (lo[j] < left) left = lo[j];
        if (hi[j] > right) right = hi[j];
      }
      const i0 = Math.max(0, Math.ceil(left));
      const i1 = Math.min(nx - 1, Math.floor(right));
      for (let bi = i0 >> 4; bi <= i1 >> 4 && i0 <= i1; bi++) {
        const top = blocks[bj * nbx + bi];
        if (top - zMin <= worst) continue;
        const qx = (bi * 16 + 7.5 - sx) * cell;
        const qy = (bj * 16 + 7.5 - sy) * cell;
        const aMid = qx * ux + qy * uy;
        const a = m > 0 ? aMid - reach - radius : aMid + reach + radius;
        const floor = zStart + m * (a < 0 ? 0 : Math.min(a, L));
        if (top - floor <= worst) continue;
        for (let j = ja; j <= jb; j++) {
          if (rows[j * nbx + bi] - floor <= worst) continue;
          const ia = Math.max(bi * 16, Math.ceil(lo[j]), 0);
          const ib = Math.min(bi * 16 + 15, Math.floor(hi[j]), nx - 1);
          const dy = (j - sy) * cell;
          for (let i = ia; i <= ib; i++) {
            const dx = (i - sx) * cell;
            const along = dx * ux + dy * uy;
            const across = dy * ux - dx * uy;
            const rim2 = radius * radius - across * across;
            if (rim2 < 0) continue;
            const rim = Math.sqrt(rim2);
            const first = Math.max(along - rim, 0);
            const last = Math.min(along + rim, L);
            if (first > last) continue;
            const depth = z[j * nx + i] - (zStart + m * (m > 0 ? first : last));
            if (depth > worst) worst = depth;
          }
        }
      }
    }
    return worst;
  }
}

/** For rows j0..j1 the x interval (in cells) of the set of points within R of the segment; empty rows get lo > hi. */
function stadiumRows(
  lo: Float64Array,
  hi: Float64Array,
  j0: number,
  j1: number,
  cell: number,
  sx: number,
  sy: number,
  ux: number,
  uy: number,
  L: number,
  R: number,
): void {
  const rc = R / cell;
  const lc = L / cell;
  const ex = sx + lc * ux;
  const ey = sy + lc * uy;
  const pad = 1e-9 * (1 + rc + lc);
  for (let j = j0; j <= j1; j++) {
    let a = Number.POSITIVE_INFINITY;
    let b = Number.NEGATIVE_INFINITY;
    const d0 = rc * rc - (j - sy) * (j - sy);
    if (d0 >= 0) {
      const w = Math.sqrt(d0);
      a = sx - w;
      b = sx + w;
    }
    const d1 = rc * rc - (j - ey) * (j - ey);
    if (d1 >= 0) {
      const w = Math.sqrt(d1);
      if (ex - w < a) a = ex - w;
      if (ex + w > b) b = ex + w;
    }
    // the rectangle between: 0 <= along <= lc and |across| <= rc
    let p = Number.NEGATIVE_INFINITY;
    let q = Number.POSITIVE_INFINITY;
    const dy = j - sy;
    if (Math.abs(ux) > 1e-12) {
      const u = (-dy * uy) / ux;
      const v = (lc - dy * uy) / ux;
      p = Math.min(u, v);
      q = Math.max(u, v);
    } else if (dy * uy < -pad || dy * uy > lc + pad) {
      p = Number.POSITIVE_INFINITY;
    }
    if (Math.abs(uy) > 1e-12) {
      const u = (dy * ux - rc) / uy;
      const v = (dy * ux + rc) / uy;
      p = Math.max(p, Math.min(u, v));
      q = Math.min(q, Math.max(u, v));
    } else if (Math.abs(dy * ux) > rc + pad) {
      p = Number.POSITIVE_INFINITY;
    }
    if (p <= q) {
      if (sx + p < a) a = sx + p;
      if (sx + q > b) b = sx + q;
    }
    lo[j] = a - pad;
    hi[j] = b + pad;
  }
}

/** Bounding box of a counter-clockwise arc about the origin. */
function arcBox(
  sx: number,
  sy: number,
  ex: number,
  ey: number,
  rho: number,
  full: boolean,
  wide: boolean,
): { xMin: number; xMax: number; yMin: number; yMax: number } {
  const has = (px: number, py: number): boolean => {
    const a = sx * py - sy * px >= 0;
    const b = px * ey - py * ex >= 0;
    return full || (wide ? a || b : a && b);
  };
  return {
    xMin: has(-1, 0) ? -rho : Math.min(sx, ex),
    xMax: has(1, 0) ? rho : Math.max(sx, ex),
    yMin: has(0, -1) ? -rho : Math.min(sy, ey),
    yMax: has(0, 1) ? rho : Math.max(sy, ey),
  };
}
