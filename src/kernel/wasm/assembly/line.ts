// Mirrors src/kernel/sweep-line.ts (ball and flat) and stadiumRows of field.ts, with the same arithmetic in the same order.
import { BLOCKS, CELL, FIRST, f4, f8, HI, LO, NBX, NX, NY, renewBlock, ROWS, rowMax, sum4, Z } from "./field";

const EMPTY: f64 = 1e9;

/** LO and HI: the x interval (in cells) of each row that the move between `from` and `to` can touch. */
function stadiumRows(j0: i32, j1: i32, ax: f64, ay: f64, ux: f64, uy: f64, L: f64, R: f64, from: f64, to: f64): void {
  const cell = CELL;
  const r = R / cell, l = L / cell, sx = ax / cell, sy = ay / cell;
  const ex = sx + l * ux, ey = sy + l * uy;
  const pad = 1e-9 * (1 + r + l);
  const slab = from > -R || to < L + R;
  const a0 = from / cell - pad, a1 = to / cell + pad;
  const steepX = Math.abs(ux) > 1e-12, steepY = Math.abs(uy) > 1e-12;
  for (let j = j0; j <= j1; j++) {
    const dy = <f64>j - sy;
    let a = EMPTY, b = -EMPTY;
    const d0 = r * r - dy * dy;
    if (d0 >= 0) {
      const w = Math.sqrt(d0);
      a = sx - w;
      b = sx + w;
    }
    const d1 = r * r - (<f64>j - ey) * (<f64>j - ey);
    if (d1 >= 0) {
      const w = Math.sqrt(d1);
      a = min(a, ex - w);
      b = max(b, ex + w);
    }
    let p: f64 = -Infinity, q: f64 = Infinity;
    if (steepX) {
      const u = (-dy * uy) / ux, v = (l - dy * uy) / ux;
      p = min(u, v);
      q = max(u, v);
    } else if (dy * uy < -pad || dy * uy > l + pad) p = Infinity;
    if (steepY) {
      const u = (dy * ux - r) / uy, v = (dy * ux + r) / uy;
      p = max(p, min(u, v));
      q = min(q, max(u, v));
    } else if (Math.abs(dy * ux) > r + pad) p = Infinity;
    if (p <= q) {
      a = min(a, sx + p);
      b = max(b, sx + q);
    }
    if (slab) {
      if (steepX) {
        const u = (a0 - dy * uy) / ux + sx, v = (a1 - dy * uy) / ux + sx;
        a = max(a, min(u, v));
        b = min(b, max(u, v));
      } else if (dy * uy < a0 || dy * uy > a1) b = -EMPTY;
    }
    store<f64>(f8(LO, j), a - pad);
    store<f64>(f8(HI, j), b + pad);
  }
}

/** What a cell at `along` with room r2 = R^2 - across^2 is lowered to by the flat cutter; infinity where the move does not touch it. */
// @ts-ignore: decorator
@inline function underFlat(along: v128, r2: v128, vL: v128, vzA: v128, vm: v128, m: f64): v128 {
  const rim = f64x2.sqrt(f64x2.pmax(r2, f64x2.splat(0)));
  const uLo = f64x2.pmax(f64x2.sub(along, vL), f64x2.neg(rim));
  const uHi = f64x2.pmin(along, rim);
  const ok = v128.and(f64x2.ge(r2, f64x2.splat(0)), f64x2.le(uLo, uHi));
  return v128.bitselect(f64x2.add(vzA, f64x2.mul(vm, f64x2.sub(along, m > 0 ? uHi : uLo))), f64x2.splat(Infinity), ok);
}

/** The same for the ball. */
// @ts-ignore: decorator
@inline function underBall(along: v128, r2: v128, vL: v128, vzA: v128, vm: v128, vR: v128, vsine: v128, vsec: v128): v128 {
  const zero = f64x2.splat(0);
  const rim = f64x2.sqrt(f64x2.pmax(r2, zero));
  const uLo = f64x2.pmax(f64x2.sub(along, vL), f64x2.neg(rim));
  const uHi = f64x2.pmin(along, rim);
  const ok = v128.and(f64x2.ge(r2, zero), f64x2.le(uLo, uHi));
  const u = f64x2.mul(vsine, rim);
  const c = f64x2.pmin(f64x2.pmax(u, uLo), uHi);
  let v = f64x2.sub(f64x2.add(f64x2.add(vzA, f64x2.mul(vm, along)), vR), f64x2.mul(rim, vsec));
  const clamped = f64x2.ne(c, u);
  if (v128.any_true(v128.and(clamped, ok))) {
    const q = f64x2.sqrt(f64x2.pmax(f64x2.sub(r2, f64x2.mul(c, c)), zero));
    v = v128.bitselect(f64x2.sub(f64x2.add(f64x2.add(vzA, f64x2.mul(vm, f64x2.sub(along, c))), vR), q), v, clamped);
  }
  return v128.bitselect(v, f64x2.splat(Infinity), ok);
}

export function line(flat: i32, R: f64, ax: f64, ay: f64, az: f64, bx: f64, by: f64, bz: f64, from: f64, to: f64): f64 {
  const cell = CELL, nx = NX, nbx = NBX;
  const length = Math.sqrt((bx - ax) * (bx - ax) + (by - ay) * (by - ay));
  const upright = length < 1e-9;
  const ux: f64 = upright ? 1 : (bx - ax) / length;
  const uy: f64 = upright ? 0 : (by - ay) / length;
  const L: f64 = upright ? 0 : length;
  const zMin = min(az, bz);
  const zA = upright ? zMin : az;
  const m: f64 = upright ? 0 : (bz - az) / length;
  const j0 = max(FIRST, <i32>Math.ceil((min(ay, by) - R) / cell));
  const j1 = min(NY - 1, <i32>Math.floor((max(ay, by) + R) / cell));
  if (j0 > j1) return 0;
  stadiumRows(j0, j1, ax, ay, ux, uy, L, R, from, to);
  const slope = Math.abs(m);
  const sec = Math.sqrt(1 + m * m);
  const sine = m / sec;
  const R2 = R * R;
  // half of a block of cell centres along the move, and across it
  const reach = 7.5 * cell * (Math.abs(ux) + Math.abs(uy));
  const vux = f64x2.splat(ux), vuy = f64x2.splat(uy), vcell = f64x2.splat(cell), vax = f64x2.splat(ax);
  const vm = f64x2.splat(m), vzA = f64x2.splat(zA), vR = f64x2.splat(R), vR2 = f64x2.splat(R2), vL = f64x2.splat(L);
  const vsine = f64x2.splat(sine), vsec = f64x2.splat(sec);
  const lane = f64x2(0, 1), two = f64x2.splat(2);
  const lanes = i32x4(0, 1, 2, 3);
  let removed: f64 = 0;
  for (let bj = j0 >> 4; bj <= j1 >> 4; bj++) {
    const ja = max(j0, bj * 16), jb = min(j1, bj * 16 + 15);
    let left = EMPTY, right = -EMPTY;
    for (let j = ja; j <= jb; j++) {
      left = min(left, load<f64>(f8(LO, j)));
      right = max(right, load<f64>(f8(HI, j)));
    }
    const i0 = max(0, <i32>Math.ceil(left));
    const i1 = min(nx - 1, <i32>Math.floor(right));
    if (i0 > i1) continue;
    for (let bi = i0 >> 4; bi <= i1 >> 4; bi++) {
      const peak = <f64>load<f32>(f4(BLOCKS, bj * nbx + bi));
      if (peak <= zMin) continue;
      const ex = (<f64>(bi * 16) + 7.5) * cell - ax;
      const ey = (<f64>(bj * 16) + 7.5) * cell - ay;
      const aMid = ex * ux + ey * uy;
      const off = Math.abs(ey * ux - ex * uy) - reach;
      if (off > R) continue;
      const a = m > 0 ? aMid - reach - R : aMid + reach + R;
      const zLow = zA + m * (a < 0 ? 0 : a > L ? L : a);
      const chord = off > 0 ? Math.sqrt(R2 - off * off) : R;
      let floor = max(zLow, zMin) + (flat ? 0 : R - chord);
      if (!flat) floor = max(floor, zA + m * aMid - slope * reach + R - sec * chord);
      if (peak <= floor) continue;
      let any = false;
      for (let j = ja; j <= jb; j++) {
        const at = f4(ROWS, j * nbx + bi);
        if (<f64>load<f32>(at) <= floor) continue;
        const ia = max(bi * 16, <i32>Math.ceil(load<f64>(f8(LO, j))));
        const ib = min(min(bi * 16 + 15, nx - 1), <i32>Math.floor(load<f64>(f8(HI, j))));
        if (ia > ib) continue;
        const dy = <f64>j * cell - ay;
        // the lowest that the cutter on the endless line comes to over these cells
        const da = <f64>ia * cell - ax, db = <f64>ib * cell - ax;
        const sideA = dy * ux - da * uy, sideB = dy * ux - db * uy;
        const near = sideA * sideB <= 0 ? 0 : min(Math.abs(sideA), Math.abs(sideB));
        const chordLeft = R2 - near * near;
        if (chordLeft < 0) continue;
        const half = Math.sqrt(chordLeft);
        const alongA = da * ux + dy * uy, alongB = db * ux + dy * uy;
        let least: f64;
        if (flat) {
          const s = m > 0 ? min(alongA, alongB) - half : max(alongA, alongB) + half;
          least = zA + m * (s < 0 ? 0 : s > L ? L : s);
        } else least = zA + min(m * alongA, m * alongB) + R - sec * half;
        if (<f64>load<f32>(at) <= least) continue;
        const before = removed;
        const along0 = f64x2.splat(dy * uy), across0 = f64x2.splat(dy * ux);
        const row = f4(Z, j * nx);
        // no cell here is touched from an end of the move
        const lowest = min(alongA, alongB), highest = max(alongA, alongB);
        const inner = !flat && lowest >= max(0, sine * half) && highest <= L + min(0, sine * half) && max(Math.abs(sideA), Math.abs(sideB)) < R;
        let gone = f32x4.splat(0);
        const qa = (ia - bi * 16) >> 2, qb = (ib - bi * 16) >> 2;
        for (let q = qa; q <= qb; q++) {
          const i = bi * 16 + q * 4;
          const p = f4(row, i);
          const first = f64x2.add(f64x2.splat(<f64>i), lane);
          const dx0 = f64x2.sub(f64x2.mul(first, vcell), vax);
          const dx1 = f64x2.sub(f64x2.mul(f64x2.add(first, two), vcell), vax);
          const along1 = f64x2.add(f64x2.mul(dx0, vux), along0), along2 = f64x2.add(f64x2.mul(dx1, vux), along0);
          const b1 = f64x2.sub(across0, f64x2.mul(dx0, vuy)), b2 = f64x2.sub(across0, f64x2.mul(dx1, vuy));
          const r1 = f64x2.sub(vR2, f64x2.mul(b1, b1)), r2 = f64x2.sub(vR2, f64x2.mul(b2, b2));
          let v1: v128, v2: v128;
          if (inner) {
            v1 = f64x2.sub(f64x2.add(f64x2.add(vzA, f64x2.mul(vm, along1)), vR), f64x2.mul(f64x2.sqrt(r1), vsec));
            v2 = f64x2.sub(f64x2.add(f64x2.add(vzA, f64x2.mul(vm, along2)), vR), f64x2.mul(f64x2.sqrt(r2), vsec));
          } else if (flat) {
            v1 = underFlat(along1, r1, vL, vzA, vm, m);
            v2 = underFlat(along2, r2, vL, vzA, vm, m);
          } else {
            v1 = underBall(along1, r1, vL, vzA, vm, vR, vsine, vsec);
            v2 = underBall(along2, r2, vL, vzA, vm, vR, vsine, vsec);
          }
          // compared as it is stored: what has been cut once is not cut again
          const v = i8x16.shuffle(f32x4.demote_f64x2_zero(v1), f32x4.demote_f64x2_zero(v2), 0, 1, 2, 3, 4, 5, 6, 7, 16, 17, 18, 19, 20, 21, 22, 23);
          const old = v128.load(p);
          let lower = f32x4.lt(v, old);
          if (q == qa || q == qb) {
            const at4 = i32x4.add(i32x4.splat(i), lanes);
            lower = v128.and(lower, v128.and(i32x4.ge_s(at4, i32x4.splat(ia)), i32x4.le_s(at4, i32x4.splat(ib))));
          }
          if (v128.any_true(lower)) {
            v128.store(p, v128.bitselect(v, old, lower));
            gone = f32x4.add(gone, v128.and(f32x4.sub(old, v), lower));
          }
        }
        removed += sum4(gone);
        if (removed != before) {
          store<f32>(at, rowMax(j, bi));
          any = true;
        }
      }
      if (any) renewBlock(bi, bj);
    }
  }
  return removed;
}
