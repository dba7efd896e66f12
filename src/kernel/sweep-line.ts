import { EMPTY, type Field, renewBlock, stadiumRows } from "./field.ts";
import { maxOf } from "./pyramid.ts";
import { contactOffset, heightAt, type Shape } from "./tilt.ts";

/** Half diagonal of a 16 x 16 block of cell centres, in cells. */
export const HALF_DIAGONAL: number = 7.5 * Math.SQRT2;

/**
 * Lowers the field under a cutter moved straight from a to b (any direction and slope; a plunge too). Exact at every
 * cell centre visited: the swept surface is min over s of z(s) + t(distance), convex in s, so its unconstrained minimum
 * clamped to the move is the minimum. Only cells between `from` and `to` along the move are visited (-R and L + R for
 * all of them): in a chain of moves the others have their minimum in a neighbour. Returns the sum of the heights removed.
 */
export function sweepLine(
  f: Field,
  s: Shape,
  ax: number,
  ay: number,
  az: number,
  bx: number,
  by: number,
  bz: number,
  from: number,
  to: number,
): number {
  const { nx, ny, cell, z, nbx, rows, blocks, lo, hi } = f;
  const R = s.radius;
  const length = Math.sqrt((bx - ax) * (bx - ax) + (by - ay) * (by - ay));
  const upright = length < 1e-9;
  const ux = upright ? 1 : (bx - ax) / length;
  const uy = upright ? 0 : (by - ay) / length;
  const L = upright ? 0 : length;
  const zMin = Math.min(az, bz);
  const zA = upright ? zMin : az;
  const m = upright ? 0 : (bz - az) / length;
  const j0 = Math.max(f.first, Math.ceil((Math.min(ay, by) - R) / cell) | 0);
  const j1 = Math.min(ny - 1, Math.floor((Math.max(ay, by) + R) / cell) | 0);
  if (j0 > j1) return 0;
  stadiumRows(f, j0, j1, ax, ay, ux, uy, L, R, from, to);
  const slope = Math.abs(m);
  const back = m < 0 ? -1 : 1;
  const sec = Math.sqrt(1 + m * m);
  const sine = m / sec;
  const ball = s.kind === "ball";
  const flat = s.kind === "flat";
  const R2 = R * R;
  // half of a block of cell centres along the move, and across it
  const reach = 7.5 * cell * (Math.abs(ux) + Math.abs(uy));
  let removed = 0;
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
    if (i0 > i1) continue;
    for (let bi = i0 >> 4; bi <= i1 >> 4; bi++) {
      const peak = blocks[bj * nbx + bi];
      if (peak <= zMin) continue;
      const ex = (bi * 16 + 7.5) * cell - ax;
      const ey = (bj * 16 + 7.5) * cell - ay;
      const aMid = ex * ux + ey * uy;
      const off = Math.abs(ey * ux - ex * uy) - reach;
      if (off > R) continue;
      // the axis cannot stand further back (or, going down, further on) than the radius from the block
      const a = m > 0 ? aMid - reach - R : aMid + reach + R;
      const zLow = zA + m * (a < 0 ? 0 : Math.min(a, L));
      let floor = Math.max(zLow, zMin) + (off > 0 ? heightAt(s, off) : 0);
      if (ball) {
        const tilted = zA + m * aMid - slope * reach + R - sec * (off > 0 ? Math.sqrt(R2 - off * off) : R);
        if (tilted > floor) floor = tilted;
      }
      if (peak <= floor) continue;
      let any = false;
      for (let j = ja; j <= jb; j++) {
        if (rows[j * nbx + bi] <= floor) continue;
        const ia = Math.max(bi * 16, Math.ceil(lo[j]) | 0);
        const ib = Math.min(bi * 16 + 15, nx - 1, Math.floor(hi[j]) | 0);
        if (ia > ib) continue;
        const dy = j * cell - ay;
        // the lowest that the cutter on the endless line comes to over these cells
        const da = ia * cell - ax;
        const db = ib * cell - ax;
        const sideA = dy * ux - da * uy;
        const sideB = dy * ux - db * uy;
        const near = sideA * sideB <= 0 ? 0 : Math.min(Math.abs(sideA), Math.abs(sideB));
        const chordLeft = R2 - near * near;
        if (chordLeft < 0) continue;
        const half = Math.sqrt(chordLeft);
        const alongA = da * ux + dy * uy;
        const alongB = db * ux + dy * uy;
        let least: number;
        if (ball) least = zA + Math.min(m * alongA, m * alongB) + R - sec * half;
        else {
          const behind = m > 0 ? Math.min(alongA, alongB) - half : Math.max(alongA, alongB) + half;
          least = zA + m * (behind < 0 ? 0 : Math.min(behind, L)) + (flat ? 0 : heightAt(s, near));
        }
        if (rows[j * nbx + bi] <= least) continue;
        const before = removed;
        const row = j * nx;
        let guess = 0;
        for (let i = ia; i <= ib; i++) {
          const old = z[row + i];
          if (old <= floor) continue;
          const dx = i * cell - ax;
          const along = dx * ux + dy * uy;
          const b = Math.abs(dy * ux - dx * uy);
          const rim2 = R2 - b * b;
          if (rim2 < 0) continue;
          const rim = Math.sqrt(rim2);
          // the axis stands u behind the cell: u = along - s with 0 <= s <= L, within the rim
          const uLo = Math.max(along - L, -rim);
          const uHi = Math.min(along, rim);
          if (uLo > uHi) continue;
          let v: number;
          if (flat) {
            v = zA + m * (along - (m > 0 ? uHi : uLo));
          } else if (ball) {
            const u = sine * rim;
            if (u < uLo || u > uHi) {
              const c = u < uLo ? uLo : uHi;
              const q = rim2 - c * c;
              v = zA + m * (along - c) + R - (q > 0 ? Math.sqrt(q) : 0);
            } else v = zA + m * along + R - rim * sec;
          } else {
            guess = contactOffset(s, b, slope, guess);
            let u = back * guess;
            if (u < uLo) u = uLo;
            else if (u > uHi) u = uHi;
            v = zA + m * (along - u) + heightAt(s, Math.sqrt(b * b + u * u));
          }
          // compared as it is stored: what has been cut once is not cut again
          v = Math.fround(v);
          if (v < old) {
            z[row + i] = v;
            removed += old - v;
          }
        }
        if (removed !== before) {
          rows[j * nbx + bi] = maxOf(z, row + bi * 16, row + Math.min(nx, bi * 16 + 16));
          any = true;
        }
      }
      if (any) renewBlock(f, bi, bj);
    }
  }
  return removed;
}
