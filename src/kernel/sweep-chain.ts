import { type Field, renewBlock } from "./field.ts";
import { maxOf } from "./pyramid.ts";

/**
 * Lowers the field under a ball or flat cutter that follows a chain of straight pieces along +x at constant y: points (xs[k], zs[k]),
 * k < n, xs ascending. Every cell is visited only where its minimum can be: over the piece whose contact lies strictly
 * inside it, over the wedge at a vertex to which both neighbours point, and under the caps at the chain's ends.
 *
 * On a piece of slope m a cell at half chord rho is touched from u = rho * sin (ball; sin = m / sqrt(1 + m^2)) or from the
 * leading rim u = rho * sign(m) (flat) behind it, and the surface is linear in x. Returns the sum of the heights removed.
 */
export function sweepChain(f: Field, flat: boolean, R: number, xs: Float64Array, zs: Float64Array, n: number, y: number): number {
  const { nx, ny, cell, z, nbx, rows, blocks, lo: rho } = f;
  const j0 = Math.max(f.first, Math.ceil((y - R) / cell) | 0);
  const j1 = Math.min(ny - 1, Math.floor((y + R) / cell) | 0);
  if (j0 > j1) return 0;
  for (let j = j0; j <= j1; j++) {
    const b = j * cell - y;
    const q = R * R - b * b;
    rho[j] = q > 0 ? Math.sqrt(q) : 0;
  }
  const axis = y / cell;
  const per = 1 / cell;
  let removed = 0;
  for (let k = 0; k + 1 < n; k++) {
    const x0 = xs[k];
    const x1 = xs[k + 1];
    const z0 = zs[k];
    const z1 = zs[k + 1];
    const m = (z1 - z0) / (x1 - x0);
    const sec = Math.sqrt(1 + m * m);
    const sin = flat ? Math.sign(m) : m / sec;
    const first = k === 0;
    const last = k + 2 === n;
    let next = sin;
    if (!last) {
      const m2 = (zs[k + 2] - z1) / (xs[k + 2] - x1);
      next = flat ? Math.sign(m2) : m2 / Math.sqrt(1 + m2 * m2);
    }
    const reach = Math.max(next, sin);
    const left = first ? x0 - R : x0 + Math.min(0, R * sin);
    const right = last ? x1 + R : x1 + Math.max(0, R * reach);
    const i0 = Math.max(0, Math.ceil(left * per) | 0);
    const i1 = Math.min(nx - 1, Math.floor(right * per) | 0);
    if (i0 > i1) continue;
    const zMin = Math.min(z0, z1);
    for (let bj = j0 >> 4; bj <= j1 >> 4; bj++) {
      const ja = Math.max(j0, bj * 16);
      const jb = Math.min(j1, bj * 16 + 15);
      const widest = axis >= ja && axis <= jb ? R : Math.max(rho[ja], rho[jb]);
      for (let bi = i0 >> 4; bi <= i1 >> 4; bi++) {
        // a plane that no part of the tool dips below in this block (at half chord 0)
        const base = flat ? zMin : z0 + m * ((m > 0 ? bi * 16 : bi * 16 + 15) * cell - x0) + R;
        if (blocks[bj * nbx + bi] <= (flat ? base : base - widest * sec)) continue;
        const ca = Math.max(i0, bi * 16);
        const cb = Math.min(i1, bi * 16 + 15);
        let any = false;
        for (let j = ja; j <= jb; j++) {
          const w = rho[j];
          const at = j * nbx + bi;
          if (rows[at] <= (flat ? base : base - w * sec)) continue;
          const row = j * nx;
          const before = removed;
          const ia = Math.max(ca, Math.ceil((x0 + w * sin) * per) | 0);
          const ib = Math.min(cb, Math.floor((x1 + w * sin) * per) | 0);
          const c = (flat ? z0 - m * w * sin : z0 + R - w * sec) - m * x0;
          const step = m * cell;
          for (let i = ia; i <= ib; i++) {
            const v = Math.fround(c + step * i);
            const old = z[row + i];
            if (v < old) {
              z[row + i] = v;
              removed += old - v;
            }
          }
          const wa = Math.max(ca, (Math.floor((x1 + w * sin) * per) | 0) + 1);
          const wb = Math.min(cb, last ? Math.floor((x1 + w) * per) | 0 : next > sin ? Math.floor((x1 + w * next) * per) | 0 : -1);
          for (let i = wa; i <= wb; i++) {
            const d = i * cell - x1;
            const q = w * w - d * d;
            if (q < 0) continue;
            const v = Math.fround(flat ? z1 : z1 + R - Math.sqrt(q));
            const old = z[row + i];
            if (v < old) {
              z[row + i] = v;
              removed += old - v;
            }
          }
          if (first) {
            const fa = Math.max(ca, Math.ceil((x0 - w) * per) | 0);
            const fb = Math.min(cb, (Math.ceil((x0 + w * sin) * per) | 0) - 1);
            for (let i = fa; i <= fb; i++) {
              const d = i * cell - x0;
              const q = w * w - d * d;
              if (q < 0) continue;
              const v = Math.fround(flat ? z0 : z0 + R - Math.sqrt(q));
              const old = z[row + i];
              if (v < old) {
                z[row + i] = v;
                removed += old - v;
              }
            }
          }
          if (removed !== before) {
            rows[at] = maxOf(z, row + bi * 16, row + Math.min(nx, bi * 16 + 16));
            any = true;
          }
        }
        if (any) renewBlock(f, bi, bj);
      }
    }
  }
  return removed;
}
