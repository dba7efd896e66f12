// The quick way through a program's text; mirrors plainLines of src/proof/reader/plain.ts, with the same arithmetic.
import { f4, f8 } from "./field";

const POW10: StaticArray<f64> = [1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];

/** Reads plain lines from `at` on; `state`: x y z feed motion, then moves, lines and the reason to stop (0 the text ended, 1 a line is not plain, 2 no room). */
export function scanLines(text: usize, at: i32, end: i32, state: usize, out: usize, room: i32, lineBefore: i32, unit: f64, ox: f64, oy: f64, oz: f64): i32 {
  let x = load<f64>(state), y = load<f64>(state, 8), z = load<f64>(state, 16), feed = load<f64>(state, 24);
  let motion = load<i32>(state, 32);
  const xs = out, ys = f8(xs, room), zs = f8(ys, room), feeds = f8(zs, room), lines = f8(feeds, room), kinds = f4(lines, room);
  let perSecond = feed / 60;
  let count = 0, line = lineBefore, from = at, why = 0;
  while (from < end) {
    if (count == room) {
      why = 2;
      break;
    }
    const last = min(end, from + 257) - 1;
    let seen = 0, nextMotion = motion;
    let nx = x, ny = y, nz = z, nextFeed = feed;
    let p = text + from;
    const stop = text + last;
    // 1: the line is plain; 2: it is not; 3: its end was not found before `last`
    let what = 0;
    while (true) {
      if (p >= stop) {
        what = 3;
        break;
      }
      const b: u32 = load<u8>(p++);
      if (b == 32) continue;
      if (b == 10) {
        what = 1;
        break;
      }
      const l = b | 32;
      let bit = 0;
      if (l - 120 < 3) bit = 1 << (l - 120);
      else if (l == 103) bit = 8;
      else if (l == 102) bit = 16;
      else if (b == 13 && load<u8>(p) == 10) {
        p++;
        what = 1;
        break;
      }
      if (bit == 0 || b < 65 || (seen & bit) != 0) {
        what = 2;
        break;
      }
      seen |= bit;
      let d = <u32>load<u8>(p) - 48;
      const negative = d == <u32>-3;
      if (negative) d = <u32>load<u8>(++p) - 48;
      let mantissa: u64 = 0;
      const whole = p;
      // one to three digits before what is none, without asking how many
      const w0 = load<u32>(p) ^ 0x30303030;
      const other = ((w0 + 0x76767676) | w0) & 0x80808080;
      if (other != 0 && d < 10) {
        const bits = ctz(other) - 7;
        const q = w0 << (32 - bits);
        const pairs = (q * 10 + (q >> 8)) & 0x00ff00ff;
        mantissa = (pairs & 0xff) * 100 + (pairs >> 16);
        p += bits >> 3;
        d = <u32>load<u8>(p) - 48;
      }
      while (d < 10) {
        mantissa = mantissa * 10 + <u64>d;
        d = <u32>load<u8>(++p) - 48;
      }
      let digits = <i32>(p - whole), decimals = 0;
      if (d == <u32>-2) {
        const point = ++p;
        // four digits at once where there are four
        const w = load<u32>(p) ^ 0x30303030;
        if ((((w + 0x76767676) | w) & 0x80808080) == 0) {
          const pairs = (w * 10 + (w >> 8)) & 0x00ff00ff;
          mantissa = mantissa * 10000 + <u64>((pairs & 0xff) * 100 + (pairs >> 16));
          p += 4;
        }
        d = <u32>load<u8>(p) - 48;
        while (d < 10) {
          mantissa = mantissa * 10 + <u64>d;
          d = <u32>load<u8>(++p) - 48;
        }
        decimals = <i32>(p - point);
        digits += decimals;
      }
      if (p >= stop) {
        what = 3;
        break;
      }
      if (digits == 0 || digits > 15) {
        what = 2;
        break;
      }
      while (d == <u32>-16 && p < stop) d = <u32>load<u8>(++p) - 48;
      if (p >= stop) {
        what = 3;
        break;
      }
      if (<i32>d < 17 && d != <u32>-38 && d != <u32>-35) {
        what = 2;
        break;
      }
      let v = <f64>(<i64>mantissa);
      if (decimals > 0) v /= unchecked(POW10[decimals]);
      if (negative) v = -v;
      if (bit == 1) nx = v * unit;
      else if (bit == 2) ny = v * unit;
      else if (bit == 4) nz = v * unit;
      else if (bit == 16) nextFeed = v * unit;
      else if (v == 0) nextMotion = 0;
      else if (v == 1) nextMotion = 10;
      else {
        what = 2;
        break;
      }
    }
    if (what == 3) {
      // a line that the buffer cuts short is read again with more of the text; one that is too long is left
      why = last == end - 1 ? 0 : 1;
      break;
    }
    why = 1;
    if (what == 2 || nextFeed < 0) break;
    if ((seen & 7) != 0) {
      if (nextMotion == 10 ? !(nextFeed > 0) : nextMotion != 0) break;
      if (!(nx > -1e5 && nx < 1e5 && ny > -1e5 && ny < 1e5 && nz > -1e5 && nz < 1e5)) break;
      motion = nextMotion;
      x = nx;
      y = ny;
      z = nz;
      store<u8>(kinds + <usize>count, motion == 0 ? 0 : 1);
      store<f64>(f8(xs, count), x + ox);
      store<f64>(f8(ys, count), y + oy);
      store<f64>(f8(zs, count), z + oz);
      if (nextFeed != feed) perSecond = nextFeed / 60;
      store<f64>(f8(feeds, count), motion == 0 ? 0 : perSecond);
      store<i32>(f4(lines, count), line + 1);
      count++;
    } else if ((seen & 8) != 0) break;
    why = 0;
    feed = nextFeed;
    line++;
    from = <i32>(p - text);
  }
  store<f64>(state, x);
  store<f64>(state, y, 8);
  store<f64>(state, z, 16);
  store<f64>(state, feed, 24);
  store<i32>(state, motion, 32);
  store<i32>(state, count, 36);
  store<i32>(state, line, 40);
  store<i32>(state, why, 44);
  return from;
}
