// Mirrors src/kernel/sweep-chain.ts, with the same arithmetic in the same order.
import { BLOCKS, CELL, FIRST, f4, f8, hmax, LO, NBX, NX, NY, renewBlock, ROWS, rowMax, sum4, Z } from "./field";

/** min(old, c + step * i) for the 4 cells from i, in Float64, stored as Float32. */
// @ts-ignore: decorator
@inline function plane(c: v128, step: v128, i: v128): v128 {
  const a = f64x2.add(c, f64x2.mul(step, i));
  const b = f64x2.add(c, f64x2.mul(step, f64x2.add(i, f64x2.splat(2))));
  return i8x16.shuffle(f32x4.demote_f64x2_zero(a), f32x4.demote_f64x2_zero(b), 0, 1, 2, 3, 4, 5, 6, 7, 16, 17, 18, 19, 20, 21, 22, 23);
}

export function chain(flat: i32, R: f64, xs: usize, zs: usize, n: i32, y: f64): f64 {
  const cell = CELL, nx = NX, nbx = NBX, z = Z, rows = ROWS, rho = LO;
  const j0 = max(FIRST, <i32>Math.ceil((y - R) / cell));
  const j1 = min(NY - 1, <i32>Math.floor((y + R) / cell));
  if (j0 > j1) return 0;
  for (let j = j0; j <= j1; j++) {
    const b = <f64>j * cell - y;
    const q = R * R - b * b;
    store<f64>(f8(LO, j), q > 0 ? Math.sqrt(q) : 0);
  }
  const axis = y / cell;
  const per = 1 / cell;
  const lane = f64x2(0, 1);
  const lanes0 = i32x4(0, 1, 2, 3);
  let removed: f64 = 0;
  for (let k = 0; k + 1 < n; k++) {
    const x0 = load<f64>(f8(xs, k)), x1 = load<f64>(f8(xs, k), 8);
    const z0 = load<f64>(f8(zs, k)), z1 = load<f64>(f8(zs, k), 8);
    const m = (z1 - z0) / (x1 - x0);
    const sec = Math.sqrt(1 + m * m);
    const sin: f64 = flat ? (m > 0 ? 1 : m < 0 ? -1 : 0) : m / sec;
    const first = k == 0, last = k + 2 == n;
    let next = sin;
    if (!last) {
      const m2 = (load<f64>(f8(zs, k), 16) - z1) / (load<f64>(f8(xs, k), 16) - x1);
      next = flat ? (m2 > 0 ? 1 : m2 < 0 ? -1 : 0) : m2 / Math.sqrt(1 + m2 * m2);
    }
    const reach = next > sin ? next : sin;
    const left = first ? x0 - R : x0 + min(0, R * sin);
    const right = last ? x1 + R : x1 + max(0, R * reach);
    const i0 = max(0, <i32>Math.ceil(left * per));
    const i1 = min(nx - 1, <i32>Math.floor(right * per));
    if (i0 > i1) continue;
    const zMin = min(z0, z1);
    const step = m * cell;
    const steps = f64x2.splat(step);
    for (let bj = j0 >> 4; bj <= j1 >> 4; bj++) {
      const ja = max(j0, bj * 16), jb = min(j1, bj * 16 + 15);
      const widest = axis >= <f64>ja && axis <= <f64>jb ? R : max(load<f64>(f8(LO, ja)), load<f64>(f8(LO, jb)));
      for (let bi = i0 >> 4; bi <= i1 >> 4; bi++) {
        const base = flat ? zMin : z0 + m * (<f64>(m > 0 ? bi * 16 : bi * 16 + 15) * cell - x0) + R;
        if (<f64>load<f32>(f4(BLOCKS, bj * nbx + bi)) <= (flat ? base : base - widest * sec)) continue;
        const ca = max(i0, bi * 16), cb = min(i1, bi * 16 + 15);
        const column = f64x2.add(f64x2.splat(<f64>(bi * 16)), lane);
        const lanes = i32x4.add(i32x4.splat(bi * 16), lanes0);
        let any = false;
        for (let j = ja; j <= jb; j++) {
          const w = load<f64>(f8(rho, j));
          const at = f4(rows, j * nbx + bi);
          if (<f64>load<f32>(at) <= (flat ? base : base - w * sec)) continue;
          const row = f4(z, j * nx);
          const before = removed;
          const ia = max(ca, <i32>Math.ceil((x0 + w * sin) * per));
          const ib = min(cb, <i32>Math.floor((x1 + w * sin) * per));
          const c = (flat ? z0 - m * w * sin : z0 + R - w * sec) - m * x0;
          if (ib - ia == 15) {
            // a whole block: no masks, and its maximum straight from the registers
            const p = row + (<usize>bi << 6);
            let v0: v128, v1: v128, v2: v128, v3: v128;
            if (step == 0) {
              v0 = f32x4.splat(<f32>c);
              v1 = v0;
              v2 = v0;
              v3 = v0;
            } else {
              const vc = f64x2.splat(c);
              v0 = plane(vc, steps, column);
              v1 = plane(vc, steps, f64x2.add(column, f64x2.splat(4)));
              v2 = plane(vc, steps, f64x2.add(column, f64x2.splat(8)));
              v3 = plane(vc, steps, f64x2.add(column, f64x2.splat(12)));
            }
            const o0 = v128.load(p), o1 = v128.load(p, 16), o2 = v128.load(p, 32), o3 = v128.load(p, 48);
            v0 = f32x4.pmin(o0, v0);
            v1 = f32x4.pmin(o1, v1);
            v2 = f32x4.pmin(o2, v2);
            v3 = f32x4.pmin(o3, v3);
            v128.store(p, v0);
            v128.store(p, v1, 16);
            v128.store(p, v2, 32);
            v128.store(p, v3, 48);
            const gone = f32x4.add(f32x4.add(f32x4.sub(o0, v0), f32x4.sub(o1, v1)), f32x4.add(f32x4.sub(o2, v2), f32x4.sub(o3, v3)));
            if (v128.any_true(gone)) {
              removed += sum4(gone);
              store<f32>(at, hmax(f32x4.pmax(f32x4.pmax(v0, v1), f32x4.pmax(v2, v3))));
              any = true;
            }
            continue;
          }
          if (ia <= ib) {
            const vc = f64x2.splat(c);
            let gone = f32x4.splat(0);
            const qa = (ia - bi * 16) >> 2, qb = (ib - bi * 16) >> 2;
            // a level piece has one height, which needs no Float64
            const level = f32x4.splat(<f32>c);
            for (let q = qa; q <= qb; q++) {
              const p = row + (<usize>(bi * 16 + q * 4) << 2);
              const old = v128.load(p);
              const v = step == 0 ? level : plane(vc, steps, f64x2.add(column, f64x2.splat(<f64>(q * 4))));
              let lower = f32x4.lt(v, old);
              if (q == qa || q == qb) {
                const i = i32x4.add(lanes, i32x4.splat(q * 4));
                lower = v128.and(lower, v128.and(i32x4.ge_s(i, i32x4.splat(ia)), i32x4.le_s(i, i32x4.splat(ib))));
              }
              v128.store(p, v128.bitselect(v, old, lower));
              gone = f32x4.add(gone, v128.and(f32x4.sub(old, v), lower));
            }
            removed += sum4(gone);
          }
          if (last || next > sin) {
            const wa = max(ca, <i32>Math.floor((x1 + w * sin) * per) + 1);
            const wb = min(cb, <i32>Math.floor((x1 + (last ? w : w * next)) * per));
            removed += cap(flat, R, row, wa, wb, x1, z1, w, cell);
          }
          if (first) {
            const fa = max(ca, <i32>Math.ceil((x0 - w) * per));
            const fb = min(cb, <i32>Math.ceil((x0 + w * sin) * per) - 1);
            removed += cap(flat, R, row, fa, fb, x0, z0, w, cell);
          }
          if (removed != before) {
            store<f32>(at, rowMax(j, bi));
            any = true;
          }
        }
        if (any) renewBlock(bi, bj);
      }
    }
  }
  return removed;
}

/** Cells a..b of one row under the tool standing at x, half chord w. */
function cap(flat: i32, R: f64, row: usize, a: i32, b: i32, x: f64, z: f64, w: f64, cell: f64): f64 {
  let removed: f64 = 0;
  for (let i = a; i <= b; i++) {
    const d = <f64>i * cell - x;
    const q = w * w - d * d;
    if (q < 0) continue;
    const v = <f32>(flat ? z : z + R - Math.sqrt(q));
    const p = f4(row, i);
    const old = load<f32>(p);
    if (v < old) {
      store<f32>(p, v);
      removed += <f64>old - <f64>v;
    }
  }
  return removed;
}
