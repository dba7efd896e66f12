// Cutter location along rows of cells by branch and bound on block maxima, 16 samples at a time.
//
// The map lies in memory padded with "nothing": P[row * S + column], S a multiple of 16. Block maxima are kept transposed so that
// neighbouring rows of one block column load together: L1[bx * LP1 + row] of 1 x 16 cells, L2[bx * LP2 + row / 8] of 8 x 16.
// Tables of a cutter and a phase (where between the cells the samples stand), all in Float32 and negative:
//   rev[v * 2H + H - u]   -t at u columns and vlo + v rows from the sample's cell; NEVER outside the cutter
//   b1[(d + ND) * (n + 16) + v]              the largest of row v over block column d
//   b2[((row & 7) * (2 ND + 1) + d + ND) * NG + k]   the largest of b1 over the k-th group of 8 padded rows
import { f4, max16 } from "./field";

let P: usize = 0;
let L1: usize = 0;
let L2: usize = 0;
let S: i32 = 0;
let LP1: i32 = 0;
let LP2: i32 = 0;

const NEVER: f32 = -1e9;

/** `rows` padded rows of S cells; computes the block maxima. */
export function dropField(p: usize, l1: usize, l2: usize, s: i32, rows: i32, lp1: i32, lp2: i32): void {
  P = p;
  L1 = l1;
  L2 = l2;
  S = s;
  LP1 = lp1;
  LP2 = lp2;
  const nbx = s >> 4;
  const none = f32x4.splat(NEVER);
  const end = f4(l2, lp2 * nbx);
  for (let q = l1; q < end; q += 16) v128.store(q, none);
  for (let y = 0; y < rows; y++) for (let b = 0; b < nbx; b++) store<f32>(f4(l1, b * lp1 + y), max16(f4(p, y * s + b * 16)));
  for (let b = 0; b < nbx; b++)
    for (let y = 0; y < rows; y++) {
      const at = f4(l2, b * lp2 + (y >> 3));
      store<f32>(at, max(load<f32>(at), load<f32>(f4(l1, b * lp1 + y))));
    }
}

/** Lowest of 16 lanes, but no lower than half of NEVER: samples off the map must not let "never" through. */
// @ts-ignore: decorator
@inline function hmin(a: v128, b: v128, c: v128, d: v128): f32 {
  let m = f32x4.pmin(f32x4.pmin(a, b), f32x4.pmin(c, d));
  m = f32x4.pmin(m, i8x16.shuffle(m, m, 8, 9, 10, 11, 12, 13, 14, 15, 0, 1, 2, 3, 4, 5, 6, 7));
  m = f32x4.pmin(m, i8x16.shuffle(m, m, 4, 5, 6, 7, 0, 1, 2, 3, 12, 13, 14, 15, 8, 9, 10, 11));
  return max(f32x4.extract_lane(m, 0), 0.5 * NEVER);
}

// @ts-ignore: decorator
@inline function above4(p: usize, q: usize, bound: v128): i32 {
  return i32x4.bitmask(f32x4.gt(f32x4.add(v128.load(p), v128.load(q)), bound));
}

/** Samples of padded row y, padded columns xa..xb - 1 (multiples of 16), to out[0..]. */
export function dropRow(rev: usize, b1: usize, b2: usize, n: i32, H: i32, ND: i32, NG: i32, vlo: i32, y: i32, xa: i32, xb: i32, out: usize): void {
  const top = y + vlo;
  const phase = top & 7;
  const group = top >> 3;
  const wide = 2 * H;
  const n16 = n + 16;
  const stride = <usize>S << 2;
  const table2 = f4(b2, phase * (2 * ND + 1) * NG);
  for (let x = xa; x < xb; x += 16) {
    const bx = x >> 4;
    // a first bound: the column under each sample, every third row
    let A = f32x4.splat(NEVER), B = A, C = A, D = A;
    let p0 = f4(P, top * S + x) + stride;
    for (let v = 1; v < n; v += 3) {
      const t = v128.load32_splat(f4(rev, v * wide + H));
      A = f32x4.pmax(A, f32x4.add(v128.load(p0), t));
      B = f32x4.pmax(B, f32x4.add(v128.load(p0, 16), t));
      C = f32x4.pmax(C, f32x4.add(v128.load(p0, 32), t));
      D = f32x4.pmax(D, f32x4.add(v128.load(p0, 48), t));
      p0 += 3 * stride;
    }
    let bound = f32x4.splat(hmin(A, B, C, D));
    for (let o = 0; o <= 2 * ND; o++) {
      const d = o & 1 ? -((o + 1) >> 1) : o >> 1;
      const column2 = f4(L2, (bx + d) * LP2 + group);
      const bounds2 = f4(table2, (d + ND) * NG);
      const column1 = f4(L1, (bx + d) * LP1 + top);
      const bounds1 = f4(b1, (d + ND) * n16);
      for (let g = 0; g < NG; g += 16) {
        const p2 = f4(column2, g), q2 = f4(bounds2, g);
        let m2 = above4(p2, q2, bound) | (above4(p2 + 16, q2 + 16, bound) << 4) | (above4(p2 + 32, q2 + 32, bound) << 8) | (above4(p2 + 48, q2 + 48, bound) << 12);
        while (m2) {
          const k = g + ctz(m2);
          m2 &= m2 - 1;
          const v0 = max(0, k * 8 - phase);
          const p1 = f4(column1, v0), q1 = f4(bounds1, v0);
          let m1 = above4(p1, q1, bound) | (above4(p1 + 16, q1 + 16, bound) << 4);
          // the first group begins before the cutter's first row
          if (k == 0) m1 &= (1 << (8 - phase)) - 1;
          if (!m1) continue;
          do {
            const v = v0 + ctz(m1);
            m1 &= m1 - 1;
            let zs = f4(P, (top + v) * S + (bx + d) * 16);
            let nr = f4(rev, v * wide + H - d * 16);
            for (let c = 0; c < 16; c++) {
              const s = v128.load32_splat(zs);
              A = f32x4.pmax(A, f32x4.add(s, v128.load(nr)));
              B = f32x4.pmax(B, f32x4.add(s, v128.load(nr, 16)));
              C = f32x4.pmax(C, f32x4.add(s, v128.load(nr, 32)));
              D = f32x4.pmax(D, f32x4.add(s, v128.load(nr, 48)));
              zs += 4;
              nr -= 4;
            }
          } while (m1);
          bound = f32x4.splat(hmin(A, B, C, D));
        }
      }
    }
    v128.store(out, A);
    v128.store(out, B, 16);
    v128.store(out, C, 32);
    v128.store(out, D, 48);
    out += 64;
  }
}
