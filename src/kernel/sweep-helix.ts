import { type Field, renewBlock } from "./field.ts";
import { maxOf } from "./pyramid.ts";
import { HALF_DIAGONAL } from "./sweep-line.ts";

/**
 * Lowers the field under a flat cutter of radius R that goes round (cx, cy) at distance rho and down to height `low`, in closed form. A cell
 * is lowered to where the disc covers it for the last time on the way down: seen from the centre the disc covers the directions within
 * acos((d^2 + rho^2 - R^2) / (2 d rho)) of the cell's own. xMin to yMax: box of the centre's way; (ex, ey): the lower end from the centre; `dir`: +1 when it is reached
 * counter-clockwise; `climb`: height per radian back from it; `turn`: radians of the whole way. A cutter that climbs is one
 * that goes down the other way. Returns the sum of the heights removed.
 */
export function sweepHelix(
  f: Field,
  R: number,
  cx: number,
  cy: number,
  rho: number,
  xMin: number,
  yMin: number,
  xMax: number,
  yMax: number,
  ex: number,
  ey: number,
  low: number,
  climb: number,
  dir: number,
  turn: number,
): number {
  const { nx, ny, cell, z, nbx, rows, blocks } = f;
  const full = 2 * Math.PI;
  const R2 = R * R;
  const rho2 = rho * rho;
  const reach = HALF_DIAGONAL * cell;
  // so near to the centre a cell is covered all the way round
  const within = R - rho;
  const j0 = Math.max(f.first, Math.ceil((yMin - R) / cell) | 0);
  const j1 = Math.min(ny - 1, Math.floor((yMax + R) / cell) | 0);
  const i0 = Math.max(0, Math.ceil((xMin - R) / cell) | 0);
  const i1 = Math.min(nx - 1, Math.floor((xMax + R) / cell) | 0);
  if (j0 > j1 || i0 > i1) return 0;
  let removed = 0;
  for (let bj = j0 >> 4; bj <= j1 >> 4; bj++) {
    const ja = Math.max(j0, bj * 16);
    const jb = Math.min(j1, bj * 16 + 15);
    for (let bi = i0 >> 4; bi <= i1 >> 4; bi++) {
      if (blocks[bj * nbx + bi] <= low) continue;
      const mx = (bi * 16 + 7.5) * cell - cx;
      const my = (bj * 16 + 7.5) * cell - cy;
      if (Math.abs(Math.sqrt(mx * mx + my * my) - rho) - reach > R) continue;
      let any = false;
      const ia = Math.max(i0, bi * 16);
      const ib = Math.min(i1, bi * 16 + 15);
      for (let j = ja; j <= jb; j++) {
        if (rows[j * nbx + bi] <= low) continue;
        const dy = j * cell - cy;
        let changed = false;
        for (let i = ia; i <= ib; i++) {
          const k = j * nx + i;
          const old = z[k];
          if (old <= low) continue;
          const dx = i * cell - cx;
          const d2 = dx * dx + dy * dy;
          let back = 0;
          const px = dx - ex;
          const py = dy - ey;
          if (px * px + py * py > R2) {
            const d = Math.sqrt(d2);
            if (d > within) {
              const q = (d2 + rho2 - R2) / (2 * d * rho);
              if (q > 1) continue;
              if (q > -1) {
                // where the centre stands when it leaves the cell for the last time, and how far before the end that is
                const s = dir * Math.sqrt(1 - q * q);
                const ux = dx * q - dy * s;
                const uy = dx * s + dy * q;
                back = dir * Math.atan2(ux * ey - uy * ex, ux * ex + uy * ey);
                if (back < -1e-9) back += full;
                if (back > turn) continue;
                if (back < 0) back = 0;
              }
            }
          }
          const v = Math.fround(low + climb * back);
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
