// Mirrors src/kernel/clock-kernel.ts, with the same arithmetic in the same order, two moves at a time.
import { f8 } from "./field";

let X: usize = 0, Y: usize = 0, W: usize = 0, FEED: usize = 0;
let UX: usize = 0, UY: usize = 0, UZ: usize = 0, LENGTH: usize = 0, INVERSE: usize = 0, TOP: usize = 0;
let GAIN: usize = 0, ENTRY2: usize = 0, TIME: usize = 0;
let AX: f64 = 0, AY: f64 = 0, AZ: f64 = 0, FX: f64 = 0, FY: f64 = 0, FZ: f64 = 0, DEVIATION: f64 = 0;

/** See ClockKernel. */
export function clockField(at: usize, places: i32, ax: f64, ay: f64, az: f64, fx: f64, fy: f64, fz: f64, deviation: f64): void {
  const step = <usize>places << 3;
  X = at;
  Y = X + step;
  W = Y + step;
  FEED = W + step;
  UX = FEED + step;
  UY = UX + step;
  UZ = UY + step;
  LENGTH = UZ + step;
  INVERSE = LENGTH + step;
  TOP = INVERSE + step;
  GAIN = TOP + step;
  ENTRY2 = GAIN + step;
  TIME = ENTRY2 + step;
  AX = ax;
  AY = ay;
  AZ = az;
  FX = fx;
  FY = fy;
  FZ = fz;
  DEVIATION = deviation;
}

// @ts-ignore: decorator
@inline function greatest(x: v128, y: v128, z: v128, kx: v128, ky: v128, kz: v128): v128 {
  return f64x2.pmax(f64x2.pmax(f64x2.mul(f64x2.abs(x), kx), f64x2.mul(f64x2.abs(y), ky)), f64x2.mul(f64x2.abs(z), kz));
}

// @ts-ignore: decorator
@inline function dot(ax: v128, ay: v128, az: v128, bx: v128, by: v128, bz: v128): v128 {
  return f64x2.add(f64x2.add(f64x2.mul(ax, bx), f64x2.mul(ay, by)), f64x2.mul(az, bz));
}

/** The last of the two before and the first of these two: for each of these, the one before. (Loading it where half has just been stored would wait.) */
// @ts-ignore: decorator
@inline function behind(before: v128, these: v128): v128 {
  return i8x16.shuffle(before, these, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23);
}

/** See ClockKernel. */
export function clockLines(n: i32, count: i32, rolling: i32): i32 {
  const ax = f64x2.splat(AX), ay = f64x2.splat(AY), az = f64x2.splat(AZ);
  const fx = f64x2.splat(FX), fy = f64x2.splat(FY), fz = f64x2.splat(FZ);
  const one = f64x2.splat(1), zero = f64x2.splat(0), half = f64x2.splat(0.5);
  const deviation4 = f64x2.splat(4 * DEVIATION);
  const near = f64x2.splat(1e-18), straight = f64x2.splat(1e-15), most9 = f64x2.splat(1e9);
  let ok = i64x2.splat(-1);
  const before = f8(0, n);
  let lastX = v128.load64_splat(UX + before), lastY = v128.load64_splat(UY + before), lastZ = v128.load64_splat(UZ + before);
  let lastTop = v128.load64_splat(TOP + before), lastL = v128.load64_splat(LENGTH + before), lastInv = v128.load64_splat(INVERSE + before);
  let i = n + 1;
  for (let k = 1; k <= count; k += 2, i += 2) {
    const o = f8(0, k), p = f8(0, i);
    const dx = f64x2.sub(v128.load(X + o), v128.load(X + o - 8));
    const dy = f64x2.sub(v128.load(Y + o), v128.load(Y + o - 8));
    const dz = f64x2.sub(v128.load(W + o), v128.load(W + o - 8));
    const L = f64x2.sqrt(dot(dx, dy, dz, dx, dy, dz));
    const per = f64x2.div(one, L);
    const px = f64x2.mul(dx, per), py = f64x2.mul(dy, per), pz = f64x2.mul(dz, per);
    const inv = greatest(px, py, pz, ax, ay, az);
    const top = f64x2.pmin(v128.load(FEED + o), f64x2.div(one, greatest(px, py, pz, fx, fy, fz)));
    ok = v128.and(ok, v128.and(f64x2.gt(L, zero), v128.and(f64x2.lt(L, most9), f64x2.gt(top, zero))));
    v128.store(UX + p, px);
    v128.store(UY + p, py);
    v128.store(UZ + p, pz);
    v128.store(LENGTH + p, L);
    v128.store(INVERSE + p, inv);
    v128.store(TOP + p, top);
    v128.store(GAIN + p - 8, f64x2.div(f64x2.add(L, L), inv));
    // the corner from the move before
    const qx = behind(lastX, px), qy = behind(lastY, py), qz = behind(lastZ, pz);
    const least = f64x2.pmin(behind(lastTop, top), top);
    const cap2 = f64x2.mul(least, least);
    const ix = f64x2.sub(px, qx), iy = f64x2.sub(py, qy), iz = f64x2.sub(pz, qz);
    const d2 = dot(ix, iy, iz, ix, iy, iz);
    const sin2 = f64x2.mul(f64x2.add(one, dot(px, py, pz, qx, qy, qz)), half);
    const r = f64x2.div(one, f64x2.sqrt(d2));
    const inward = f64x2.mul(greatest(ix, iy, iz, ax, ay, az), r);
    const s = f64x2.sqrt(sin2);
    const shorter = f64x2.pmin(behind(lastL, L), L);
    const wide = f64x2.pmin(f64x2.mul(f64x2.mul(deviation4, f64x2.add(one, s)), r), shorter);
    const radius = f64x2.mul(f64x2.mul(s, r), wide);
    const tightest = f64x2.pmax(inward, f64x2.pmax(behind(lastInv, inv), inv));
    let v2 = f64x2.pmin(cap2, f64x2.div(radius, tightest));
    v2 = v128.and(v2, f64x2.gt(sin2, straight));
    v2 = v128.bitselect(v2, cap2, f64x2.gt(d2, near));
    v128.store(ENTRY2 + p - 8, v2);
    lastX = px;
    lastY = py;
    lastZ = pz;
    lastTop = top;
    lastL = L;
    lastInv = inv;
  }
  if (rolling == 0) store<f64>(f8(ENTRY2, n), 0);
  return i64x2.all_true(ok) ? 1 : 0;
}

/** See ClockKernel. One lane of the vector minimum serves for single numbers: it compiles to one instruction without a branch. */
export function clockRun(n: i32): f64 {
  let v2 = v128.load64_zero(f8(ENTRY2, n));
  for (let i = n - 1; i > 0; i--) {
    v2 = f64x2.pmin(f64x2.add(v2, v128.load64_zero(f8(GAIN, i))), v128.load64_zero(f8(ENTRY2, i)));
    v128.store64_lane(f8(ENTRY2, i), v2, 0);
  }
  const zero = f64x2.splat(0), half = f64x2.splat(0.5), two = f64x2.splat(2);
  let last2 = v128.load64_splat(ENTRY2);
  let last = f64x2.sqrt(last2);
  let seconds: f64 = 0;
  for (let i = 0; i < n; i += 2) {
    const p = f8(0, i);
    const a = f64x2.pmin(v128.load64_zero(ENTRY2 + p, 8), f64x2.add(behind(last2, zero), v128.load64_zero(GAIN + p)));
    const b = f64x2.pmin(v128.load64_zero(ENTRY2 + p, 16), f64x2.add(a, v128.load64_zero(GAIN + p, 8)));
    const out2 = i8x16.shuffle(a, b, 0, 1, 2, 3, 4, 5, 6, 7, 16, 17, 18, 19, 20, 21, 22, 23);
    const out = f64x2.sqrt(out2);
    const top = v128.load(TOP + p, 8);
    const crest2 = f64x2.mul(f64x2.add(f64x2.add(behind(last2, out2), out2), v128.load(GAIN + p)), half);
    const top2 = f64x2.mul(top, top);
    const peak = f64x2.sqrt(f64x2.pmin(crest2, top2));
    const over = f64x2.div(f64x2.pmax(f64x2.sub(crest2, top2), zero), top);
    const ends = f64x2.sub(f64x2.sub(f64x2.mul(two, peak), behind(last, out)), out);
    const t = f64x2.mul(f64x2.add(ends, over), v128.load(INVERSE + p, 8));
    v128.store(TIME + p, t);
    seconds += f64x2.extract_lane(t, 0);
    if (i + 1 < n) seconds += f64x2.extract_lane(t, 1);
    last2 = out2;
    last = out;
  }
  if (n & 1) v128.store64_lane(f8(ENTRY2, n), last2, 0);
  else v128.store64_lane(f8(ENTRY2, n), last2, 1);
  return seconds;
}
