import { type Field, renewBlock } from "./field.ts";
import { maxOf } from "./pyramid.ts";
import { HALF_DIAGONAL } from "./sweep-line.ts";
import { heightAt, type Shape } from "./tilt.ts";

/**
 * Lowers the field under a cutter that follows an arc in the XY plane at one height `zc`, about (cx, cy) with radius rho from
 * (ax, ay) to (bx, by) through `sweep` (counter-clockwise positive): the nearest point of the arc decides. Exact at every
 * cell centre; returns the sum of the heights removed.
 */
export function sweepArc(
  f: Field,
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
): number {
  const { nx, ny, cell, z, nbx, rows, blocks } = f;
  let removed = 0;
  const R = s.radius;
  const full = Math.abs(sweep) >= 2 * Math.PI - 1e-9;
  // ends as seen counter-clockwise
  const sx = (sweep > 0 ? ax : bx) - cx;
  const sy = (sweep > 0 ? ay : by) - cy;
  const ex = (sweep > 0 ? bx : ax) - cx;
  const ey = (sweep > 0 ? by : ay) - cy;
  const wide = Math.abs(sweep) > Math.PI;
  const box = arcBox(sx, sy, ex, ey, rho, full, wide);
  const j0 = Math.max(f.first, Math.ceil((cy + box.yMin - R) / cell) | 0);
  const j1 = Math.min(ny - 1, Math.floor((cy + box.yMax + R) / cell) | 0);
  const i0 = Math.max(0, Math.ceil((cx + box.xMin - R) / cell) | 0);
  const i1 = Math.min(nx - 1, Math.floor((cx + box.xMax + R) / cell) | 0);
  const reach = HALF_DIAGONAL * cell;
  for (let bj = j0 >> 4; bj <= j1 >> 4 && j0 <= j1; bj++) {
    const ja = Math.max(j0, bj * 16);
    const jb = Math.min(j1, bj * 16 + 15);
    for (let bi = i0 >> 4; bi <= i1 >> 4 && i0 <= i1; bi++) {
      if (blocks[bj * nbx + bi] <= zc) continue;
      const mx = (bi * 16 + 7.5) * cell - cx;
      const my = (bj * 16 + 7.5) * cell - cy;
      const off = Math.abs(Math.sqrt(mx * mx + my * my) - rho) - reach;
      if (off > R) continue;
      const floor = zc + (off > 0 ? heightAt(s, off) : 0);
      if (blocks[bj * nbx + bi] <= floor) continue;
      let any = false;
      const ia = Math.max(i0, bi * 16);
      const ib = Math.min(i1, bi * 16 + 15);
      for (let j = ja; j <= jb; j++) {
        if (rows[j * nbx + bi] <= floor) continue;
        const dy = j * cell - cy;
        let changed = false;
        for (let i = ia; i <= ib; i++) {
          const dx = i * cell - cx;
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
          const v = Math.fround(zc + heightAt(s, r));
          const k = j * nx + i;
          const old = z[k];
          if (v < old) {
            z[k] = v;
            removed += old - v;
            changed = true;
          }
        }
        if (changed) {
          rows[j * nbx + bi] = maxOf(z, j * nx + bi * 16, j * nx + Math.min(nx, bi * 16 + 16));
          any = true;
        }
      }
      if (any) renewBlock(f, bi, bj);
    }
  }
  return removed;
}

/** Bounding box of a counter-clockwise arc about the origin. */
export function arcBox(
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
