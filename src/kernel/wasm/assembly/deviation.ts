// How far a column of cells lies off the surface that is wanted; mirrors PlainDeviation of src/kernel/deviation.ts, with the same arithmetic.
import { f4, f8 } from "./field";

const BINS: i32 = 2000;
const BIN: f64 = 0.0005;

// of a tally: cells, below, above, sum, cells below and above their limits, places (station, row) of the worst, the two limits, then the histogram
const BELOW: usize = 8, ABOVE: usize = 16, SUM: usize = 24, BELOW_COUNT: usize = 32, ABOVE_COUNT: usize = 40;
const BELOW_AT: usize = 48, ABOVE_AT: usize = 64, LIMIT_BELOW: usize = 80, LIMIT_ABOVE: usize = 88, HISTOGRAM: usize = 96;

let most: f64 = 0, least: f64 = 0, sum: f64 = 0;

// @ts-ignore: decorator
@inline function count(tally: usize, dev: f64, station: i32, row: i32): void {
  store<f64>(tally, load<f64>(tally) + 1);
  if (dev < 0) {
    const d = -dev;
    if (d > load<f64>(tally, LIMIT_BELOW)) store<f64>(tally, load<f64>(tally, BELOW_COUNT) + 1, BELOW_COUNT);
    if (d > least) {
      least = d;
      store<f64>(tally, <f64>station, BELOW_AT);
      store<f64>(tally, <f64>row, BELOW_AT + 8);
    }
    store<f64>(tally, load<f64>(tally, HISTOGRAM) + 1, HISTOGRAM);
    return;
  }
  sum += dev;
  if (dev > load<f64>(tally, LIMIT_ABOVE)) store<f64>(tally, load<f64>(tally, ABOVE_COUNT) + 1, ABOVE_COUNT);
  if (dev > most) {
    most = dev;
    store<f64>(tally, <f64>station, ABOVE_AT);
    store<f64>(tally, <f64>row, ABOVE_AT + 8);
  }
  const at = f8(tally + HISTOGRAM, <i32>min(<f64>BINS, Math.floor(dev / BIN)));
  store<f64>(at, load<f64>(at) + 1);
}

/** Rows a..b of a column; what is too steep, or at a crease, is left to the caller, who finds those rows in `hard`; gives how many. */
export function deviationColumn(
  got: usize,
  before: usize,
  here: usize,
  after: usize,
  out: usize,
  a: i32,
  b: i32,
  tally: usize,
  hard: usize,
  station: i32,
  up: f64,
  zero: f64,
  step: f64,
  crease: f64,
): i32 {
  least = load<f64>(tally, BELOW);
  most = load<f64>(tally, ABOVE);
  sum = load<f64>(tally, SUM);
  const vup = f64x2.splat(up), vzero = f64x2.splat(zero), vstep = f64x2.splat(step), vcrease = f64x2.splat(crease);
  const one = f64x2.splat(1), two = f64x2.splat(2), four = f64x2.splat(4);
  let left = 0;
  for (let j = a; j <= b; j += 2) {
    const want = v128.load(f8(here, j)), bf = v128.load(f8(before, j)), af = v128.load(f8(after, j));
    const hp = v128.load(f8(here, j + 1)), hm = v128.load(f8(here, j - 1));
    const z = f64x2.mul(vup, f64x2.sub(f64x2.promote_low_f32x4(v128.load64_zero(f4(got, j))), vzero));
    const sx = f64x2.div(f64x2.sub(af, bf), vstep), sy = f64x2.div(f64x2.sub(hp, hm), vstep);
    const g2 = f64x2.add(f64x2.mul(sx, sx), f64x2.mul(sy, sy));
    const bend = f64x2.abs(f64x2.add(f64x2.sub(af, f64x2.mul(two, want)), bf));
    const ok = v128.andnot(f64x2.lt(g2, four), f64x2.gt(bend, vcrease));
    const dev = f64x2.div(f64x2.mul(vup, f64x2.sub(z, want)), f64x2.sqrt(f64x2.add(one, g2)));
    if (i64x2.extract_lane(ok, 0) != 0) {
      const d = f64x2.extract_lane(dev, 0);
      store<f32>(f4(out, j), <f32>d);
      count(tally, d, station, j);
    } else store<i32>(f4(hard, left++), j);
    if (j == b) break;
    if (i64x2.extract_lane(ok, 1) != 0) {
      const d = f64x2.extract_lane(dev, 1);
      store<f32>(f4(out, j + 1), <f32>d);
      count(tally, d, station, j + 1);
    } else store<i32>(f4(hard, left++), j + 1);
  }
  store<f64>(tally, least, BELOW);
  store<f64>(tally, most, ABOVE);
  store<f64>(tally, sum, SUM);
  return left;
}
