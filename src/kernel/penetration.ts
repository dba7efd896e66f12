import { EMPTY, type Field, stadiumRows } from "./field.ts";
import { HALF_DIAGONAL } from "./sweep-line.ts";

/**
 * The largest of (field height - height of the lower face) over the cells under a flat disc of `radius` moved straight from
 * a to b; -Infinity when it covers no cell. Block maxima first: most rapids never look at a cell.
 */
export function penetrationOf(f: Field, radius: number, ax: number, ay: number, az: number, bx: number, by: number, bz: number): number {
  const { nx, ny, cell, z, nbx, rows, blocks, lo, hi } = f;
  const length = Math.hypot(bx - ax, by - ay);
  const upright = length < 1e-9;
  const ux = upright ? 1 : (bx - ax) / length;
  const uy = upright ? 0 : (by - ay) / length;
  const L = upright ? 0 : length;
  const zStart = upright ? Math.min(az, bz) : az;
  const m = upright ? 0 : (bz - az) / length;
  const sx = ax / cell;
  const sy = ay / cell;
  const ey = by / cell;
  const ex = bx / cell;
  const rc = radius / cell;
  let worst = Number.NEGATIVE_INFINITY;
  if (Math.max(sx, ex) + rc < 0 || Math.min(sx, ex) - rc > nx - 1) return worst;
  const j0 = Math.max(f.first, Math.ceil(Math.min(sy, ey) - rc) | 0);
  const j1 = Math.min(ny - 1, Math.floor(Math.max(sy, ey) + rc) | 0);
  if (j0 > j1) return worst;
  stadiumRows(f, j0, j1, ax, ay, ux, uy, L, radius, -radius, L + radius);
  const reach = HALF_DIAGONAL * cell;
  const zMin = Math.min(az, bz);
  for (let bj = j0 >> 4; bj <= j1 >> 4; bj++) {
    const ja = Math.max(j0, bj * 16);
    const jb = Math.min(j1, bj * 16 + 15);
    let left = EMPTY;
    let right = -EMPTY;
    for (let j = ja; j <= jb; j++) {
      if (lo[j] < left) left = lo[j];
      if (hi[j] > right) right = hi[j];
    }
    const i0 = Math.max(0, Math.ceil(left) | 0);
    const i1 = Math.min(nx - 1, Math.floor(right) | 0);
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
        const ia = Math.max(bi * 16, Math.ceil(lo[j]) | 0, 0);
        const ib = Math.min(bi * 16 + 15, Math.floor(hi[j]) | 0, nx - 1);
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
