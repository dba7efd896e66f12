// Straight moves as text; does what TextMachine.lines of src/program/text-machine.ts does, to the byte.

/** The most moves at a time, and where their columns lie: x, y, z and feed as doubles, then the same as counts. */
const ROOM: usize = 1024;
const COLUMN: usize = ROOM * 8 + 64;
const COUNTS: usize = 4 * COLUMN;
const COUNT_COLUMN: usize = ROOM * 4 + 64;

/** Half away from zero, of two; as roundScaled of src/program/bytes.ts. */
// @ts-ignore: decorator
@inline function rounded(v: v128): v128 {
  const size = f64x2.abs(v), up = f64x2.ceil(size), half = f64x2.splat(0.5);
  const whole = f64x2.sub(up, v128.and(f64x2.gt(f64x2.sub(up, half), size), f64x2.splat(1)));
  return v128.or(whole, v128.and(v, i64x2.splat(i64.MIN_VALUE)));
}

/** Whole numbers of 32 bits of two and two doubles that are whole: the low bits of their sum with 1.5 * 2^52. */
// @ts-ignore: decorator
@inline function integers(a: v128, b: v128): v128 {
  const shift = f64x2.splat(6755399441055744);
  return v128.shuffle<i32>(f64x2.add(a, shift), f64x2.add(b, shift), 0, 2, 4, 6);
}

/** Counts of a column of lengths; whether all of them are nearer than `limit`. */
function lengths(from: usize, to: usize, count: i32, scale: f64, limit: f64): bool {
  const k = f64x2.splat(scale), far = f64x2.splat(limit);
  let near = i64x2.splat(-1);
  const end = from + (<usize>count << 3);
  for (let p = from, q = to; p < end; p += 32, q += 16) {
    const a = v128.load(p), b = v128.load(p, 16);
    near = v128.and(near, v128.and(f64x2.lt(f64x2.abs(a), far), f64x2.lt(f64x2.abs(b), far)));
    v128.store(q, integers(rounded(f64x2.mul(a, k)), rounded(f64x2.mul(b, k))));
  }
  return i64x2.all_true(near);
}

/** Counts of 0.001 mm/min of a column of feeds, mm/s; whether all of them may be written. */
function feeds(from: usize, to: usize, count: i32): bool {
  const minute = f64x2.splat(60), k = f64x2.splat(1000), none = f64x2.splat(0), most = f64x2.splat(1e9);
  let good = i64x2.splat(-1);
  const end = from + (<usize>count << 3);
  for (let p = from, q = to; p < end; p += 32, q += 16) {
    const a = rounded(f64x2.mul(f64x2.mul(v128.load(p), minute), k)), b = rounded(f64x2.mul(f64x2.mul(v128.load(p, 16), minute), k));
    good = v128.and(good, v128.and(v128.and(f64x2.gt(a, none), f64x2.gt(b, none)), v128.and(f64x2.lt(a, most), f64x2.lt(b, most))));
    v128.store(q, integers(a, b));
  }
  return i64x2.all_true(good);
}

/** The first of `count` moves that may not be written. */
function firstBad(columns: usize, count: i32, limit: f64): i32 {
  for (let k = 0; k < count; k++) {
    const p = columns + (<usize>k << 3);
    const f = Math.round(load<f64>(p, 3 * COLUMN) * 60 * 1000);
    const near = Math.abs(load<f64>(p)) < limit && Math.abs(load<f64>(p, COLUMN)) < limit && Math.abs(load<f64>(p, 2 * COLUMN)) < limit;
    if (!(near && f > 0 && f < 1e9)) return k;
  }
  return count;
}

/** The digits of a number below 10^8, the first in the lowest byte: in halves, in twos, one by one. */
// @ts-ignore: decorator
@inline function digitsOf(n: u32): u64 {
  const high = n / 10000;
  const fours = <u64>high | (<u64>(n - high * 10000) << 32);
  const hundreds = ((fours * 10486) >> 20) & 0x0000007f0000007f;
  const twos = hundreds | ((fours - 100 * hundreds) << 16);
  const tens = ((twos * 103) >> 10) & 0x000f000f000f000f;
  return tens | ((twos - 10 * tens) << 8);
}

/** A letter and a count with its decimals, `whole` digits of eight before them; gives the place after it. Stores up to 8 bytes more. */
// @ts-ignore: decorator
@inline function word(at: usize, start: usize, letter: u32, count: i32, whole: u32): usize {
  let p = at;
  // a blank where it is not the first word
  store<u8>(p, 32);
  p += <usize>(p != start);
  store<u8>(p++, letter);
  const minus = count >> 31;
  store<u8>(p, 45);
  p -= <usize>minus;
  let rest: u32 = (count ^ minus) - minus;
  let skip: u32 = 0;
  if (rest >= 100000000) {
    const high = rest / 100000000;
    rest -= high * 100000000;
    if (high >= 10) store<u8>(p++, 48 + high / 10);
    store<u8>(p++, 48 + (high % 10));
  } else skip = 8;
  const digits = digitsOf(rest);
  // noughts before the last digit of the whole part are left out
  if (skip != 0) skip = min(<u32>ctz(digits) >> 3, whole - 1);
  const text = digits | 0x3030303030303030;
  store<u64>(p, text >> (<u64>skip << 3));
  p += <usize>(whole - skip);
  store<u8>(p, 46);
  store<u64>(p, text >> (<u64>whole << 3), 1);
  return p + 9 - <usize>whole;
}

/** A feed of so many 0.001 mm/min; noughts at the end of its decimals, and a bare point, are left out. */
function feedWord(at: usize, count: u32): usize {
  let p = at;
  store<u16>(p, 0x4620);
  p += 2;
  const whole = count / 1000, part = count - whole * 1000;
  const digits = digitsOf(whole);
  const skip = min(<u32>ctz(digits) >> 3, 7);
  store<u64>(p, (digits | 0x3030303030303030) >> (<u64>skip << 3));
  p += 8 - <usize>skip;
  if (part != 0) {
    store<u8>(p++, 46);
    store<u8>(p++, 48 + part / 100);
    if (part % 100 != 0) store<u8>(p++, 48 + (part / 10) % 10);
    if (part % 10 != 0) store<u8>(p++, 48 + part % 10);
  }
  return p;
}

/**
 * The lines of `count` straight moves, at most ROOM, to the places in `columns`, mm, at feeds in mm/s. `state`: the counts of x, y, z and
 * feed as the machine has them (-1: no feed yet) and whether G1 is in force; after them the same of the last move done, then how many
 * were done: it stops before a place that is not within `limit` or a feed that may not be written. Gives the bytes written to `out`.
 */
export function emitLines(columns: usize, count: i32, decimals: i32, scale: f64, limit: f64, state: usize, out: usize): i32 {
  const xs = columns + COUNTS, ys = xs + COUNT_COLUMN, zs = ys + COUNT_COLUMN, fs = zs + COUNT_COLUMN;
  let good = lengths(columns, xs, count, scale, limit);
  good = lengths(columns + COLUMN, ys, count, scale, limit) && good;
  good = lengths(columns + 2 * COLUMN, zs, count, scale, limit) && good;
  good = feeds(columns + 3 * COLUMN, fs, count) && good;
  const n = good ? count : firstBad(columns, count, limit);
  const whole = <u32>(8 - decimals);
  let x = load<i32>(state), y = load<i32>(state, 4), z = load<i32>(state, 8), feed = load<i32>(state, 12), motion = load<i32>(state, 16);
  let p = out;
  for (let k: usize = 0; k < <usize>n << 2; k += 4) {
    const cx = load<i32>(xs + k), cy = load<i32>(ys + k), cz = load<i32>(zs + k), cf = load<i32>(fs + k);
    // a move that goes nowhere is not written, nor its feed
    if (((cx ^ x) | (cy ^ y) | (cz ^ z)) == 0) continue;
    const start = p;
    if (motion == 0) {
      store<u16>(p, 0x3147);
      p += 2;
      motion = 1;
    }
    if (cx != x) p = word(p, start, 88, cx, whole);
    if (cy != y) p = word(p, start, 89, cy, whole);
    if (cz != z) p = word(p, start, 90, cz, whole);
    if (cf != feed) p = feedWord(p, cf);
    store<u8>(p++, 10);
    x = cx;
    y = cy;
    z = cz;
    feed = cf;
  }
  store<i32>(state, x);
  store<i32>(state, y, 4);
  store<i32>(state, z, 8);
  store<i32>(state, feed, 12);
  store<i32>(state, motion, 16);
  store<i32>(state, n, 20);
  return <i32>(p - out);
}
