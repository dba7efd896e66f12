// Mirrors src/kernel/sweep-helix.ts, with the same arithmetic in the same order.
import { BLOCKS, CELL, FIRST, f4, NBX, NX, NY, renewBlock, ROWS, rowMax, Z } from "./field";

/** See sweepHelix. */
export function helix(R: f64, cx: f64, cy: f64, rho: f64, xMin: f64, yMin: f64, xMax: f64, yMax: f64, ex: f64, ey: f64, low: f64, climb: f64, dir: f64, turn: f64): f64 {
  const cell = CELL, nx = NX, nbx = NBX;
  const full = 2 * Math.PI;
  const R2 = R * R, rho2 = rho * rho;
  const reach = 7.5 * Math.SQRT2 * cell;
  const within = R - rho;
  const j0 = max(FIRST, <i32>Math.ceil((yMin - R) / cell));
  const j1 = min(NY - 1, <i32>Math.floor((yMax + R) / cell));
  const i0 = max(0, <i32>Math.ceil((xMin - R) / cell));
  const i1 = min(nx - 1, <i32>Math.floor((xMax + R) / cell));
  if (j0 > j1 || i0 > i1) return 0;
  let removed: f64 = 0;
  for (let bj = j0 >> 4; bj <= j1 >> 4; bj++) {
    const ja = max(j0, bj * 16), jb = min(j1, bj * 16 + 15);
    for (let bi = i0 >> 4; bi <= i1 >> 4; bi++) {
      if (<f64>load<f32>(f4(BLOCKS, bj * nbx + bi)) <= low) continue;
      const mx = (<f64>(bi * 16) + 7.5) * cell - cx, my = (<f64>(bj * 16) + 7.5) * cell - cy;
      if (Math.abs(Math.sqrt(mx * mx + my * my) - rho) - reach > R) continue;
      let any = false;
      const ia = max(i0, bi * 16), ib = min(i1, bi * 16 + 15);
      for (let j = ja; j <= jb; j++) {
        const at = f4(ROWS, j * nbx + bi);
        if (<f64>load<f32>(at) <= low) continue;
        const dy = <f64>j * cell - cy;
        let changed = false;
        for (let i = ia; i <= ib; i++) {
          const p = f4(Z, j * nx + i);
          const old = load<f32>(p);
          if (<f64>old <= low) continue;
          const dx = <f64>i * cell - cx;
          const d2 = dx * dx + dy * dy;
          let back: f64 = 0;
          const px = dx - ex, py = dy - ey;
          if (px * px + py * py > R2) {
            const d = Math.sqrt(d2);
            if (d > within) {
              const q = (d2 + rho2 - R2) / (2 * d * rho);
              if (q > 1) continue;
              if (q > -1) {
                const s = dir * Math.sqrt(1 - q * q);
                const ux = dx * q - dy * s, uy = dx * s + dy * q;
                back = dir * Math.atan2(ux * ey - uy * ex, ux * ex + uy * ey);
                if (back < -1e-9) back += full;
                if (back > turn) continue;
                if (back < 0) back = 0;
              }
            }
          }
          const v = <f32>(low + climb * back);
          if (v < old) {
            store<f32>(p, v);
            removed += <f64>old - <f64>v;
            changed = true;
          }
        }
        if (changed) {
          store<f32>(at, rowMax(j, bi));
          any = true;
        }
      }
      if (any) renewBlock(bi, bj);
    }
  }
  return removed;
}
