// The quick way through a program's text; mirrors plainLines of src/proof/reader/plain.ts, with the same results to the last bit.
//
// A number is read without asking for its digits one by one: 16 bytes are loaded, a bitmask of what is no digit says where the point
// and the end are (w digits, the point, f digits), and row (w, f) of ALIGN takes the point out and moves the digits to the right.
// Sums of neighbours then make one whole number below 10^15 of them, which a double holds exactly; dividing it by an exact power of ten
// rounds once, so the result is the double nearest to what is written.
//
// A program is written with as many decimals everywhere, so a word mostly has the layout of the axis's last: its letter, a minus or none, as
// many digits before and after the point. One comparison of 16 bytes tells; nothing need then be looked for, and the next word is found without waiting.

/** The most moves that `out` has room for, and how far its columns lie apart: x, y, z, feed as doubles, lines as whole numbers, kinds as bytes. */
const ROOM = 2048;
const COLUMN: usize = ROOM * 8 + 192;
const FEEDS: usize = 3 * COLUMN;
const LINES: usize = 4 * COLUMN;
const KINDS: usize = LINES + ROOM * 4 + 64;

const POW10: StaticArray<f64> = [1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];

/** ALIGN[16 (16 w + f) + j]: where the digit stands that goes to place j of 16; 255 takes none, which is nought. */
const ALIGN: StaticArray<u8> = alignments();

function alignments(): StaticArray<u8> {
  const all = new StaticArray<u8>(16 * 256);
  for (let w = 0; w < 16; w++)
    for (let f = 0; f < 16; f++)
      for (let j = 0; j < 16; j++) {
        const digit = j - 16 + w + f;
        all[(((w << 4) | f) << 4) | j] = digit < 0 || w + f > 15 ? 255 : <u8>(digit < w ? digit : digit + 1);
      }
  return all;
}

/** What all lanes hold; loaded once they stay in registers, while a constant is made anew wherever it is used. */
const LANES: StaticArray<u64> = [
  0x3030303030303030, 0x3030303030303030, // "0"
  0x0909090909090909, 0x0909090909090909,
  0x0a010a010a010a01, 0x0a010a010a010a01, // ten of the first digit and the second, in the high byte of each two
  0x0001006400010064, 0x0001006400010064, // hundreds and ones
  0x0001271000012710, 0x0001271000012710, // ten thousands and ones
];
const EIGHTS: StaticArray<f64> = [1e8, 1];

/**
 * The layout of a word of x, y and z: what each of 16 bytes has taken off, and what may be left of it; where its digits go; what their whole
 * number is divided by, below nought for a minus; and how many bytes it has. What stands there of an earlier text is a layout as good as any.
 */
const LEAST: usize = 0, SPAN: usize = 16, PLACES: usize = 32, DIVISOR: usize = 48, LENGTH: usize = 56, LAYOUT: usize = 64;
const LAYOUTS: StaticArray<u8> = new StaticArray<u8>(<i32>(3 * LAYOUT));
/** Where fewer lines than FEW had the layouts of those before, the slower loop takes the next; the more of them, to LONGEST, the more often that was so. */
const FEW = 4, LONGEST = 500;

/** x, y, z and F as the line at hand has them, and what x, y, z were before their last words. */
const SLOTS: StaticArray<f64> = [0, 0, 0, 0, 0, 0, 0];
const BEFORE: usize = 32;

/** Moves from..to of one kind and feed, on lines that follow each other. Writes past `to` what a later run overwrites. */
function run(out: usize, from: i32, to: i32, motion: i32, perSecond: f64, line: i32): void {
  const feeds = f64x2.splat(motion == 0 ? 0 : perSecond), kinds = i8x16.splat(motion == 0 ? 0 : 1);
  for (let k = from; k < to; k += 2) v128.store(out + (<usize>k << 3), feeds, FEEDS);
  for (let k = from; k < to; k += 16) v128.store(out + <usize>k, kinds, KINDS);
  let lines = i32x4.add(i32x4.splat(line), i32x4(0, 1, 2, 3));
  for (let k = from; k < to; k += 4) {
    v128.store(out + (<usize>k << 2), lines, LINES);
    lines = i32x4.add(lines, i32x4.splat(4));
  }
}

/** The whole number below 10^15 of 16 digits, the first of which is nought. */
// @ts-ignore: decorator
@inline function wholeOf(digits: v128, tens: v128, hundreds: v128, myriads: v128, eights: v128): f64 {
  const fours = i32x4.dot_i16x8_s(i16x8.shr_u(i16x8.mul(digits, tens), 8), hundreds);
  const halves = f64x2.mul(f64x2.convert_low_i32x4_s(i32x4.dot_i16x8_s(i16x8.narrow_i32x4_s(fours, fours), myriads)), eights);
  return f64x2.extract_lane(halves, 0) + f64x2.extract_lane(halves, 1);
}

/** Keeps the layout of the word at `p`: a letter, a minus or none, w digits, and where `point` a point and f digits. Exported as alikeLines is. */
export function keepLayout(layout: usize, p: usize, minus: i32, w: i32, point: i32, f: i32): void {
  const length = 1 + minus + w + point + f;
  // what comes after the word may be anything
  v128.store(layout, i8x16.splat(0), LEAST);
  v128.store(layout, i8x16.splat(-1), SPAN);
  for (let k = 0; k < length; k++) {
    const b = load<u8>(p + k);
    const digit = <u8>(b - 48) < 10;
    store<u8>(layout + k, digit ? 48 : b, LEAST);
    store<u8>(layout + k, digit ? 9 : 0, SPAN);
  }
  for (let k = 0; k < 16; k++) {
    const at = load<u8>(changetype<usize>(ALIGN) + (((w << 4) | f) << 4) + k);
    store<u8>(layout + k, at == 255 ? 255 : <u8>(at + 1 + minus), PLACES);
  }
  const divisor = load<f64>(changetype<usize>(POW10) + (<usize>f << 3));
  store<f64>(layout, minus != 0 ? -divisor : divisor, DIVISOR);
  store<i32>(layout, length, LENGTH);
}

/** How many moves there are after alikeLines. */
const TALLY: StaticArray<i32> = [0];

/**
 * Reads lines from `from` on whose words have the layouts that are kept, x before y before z, up to `room` moves or `lastOfAll`. Gives the
 * line after, with SLOTS as they are before it. Exported so that the compiler leaves it registers of its own.
 */
export function alikeLines(from: usize, lastOfAll: usize, out: usize, count: i32, room: i32, unit: f64, ox: f64, oy: f64, oz: f64): usize {
  const lanes = changetype<usize>(LANES), slots = changetype<usize>(SLOTS), layouts = changetype<usize>(LAYOUTS);
  const zero = v128.load(lanes), tens = v128.load(lanes, 32), hundreds = v128.load(lanes, 48), myriads = v128.load(lanes, 64);
  const eights = v128.load(changetype<usize>(EIGHTS));
  let p = from;
  // the axis of the line's last word
  let axis = -1;
  while (count < room) {
    const k = <i32>(load<u8>(p) | 32) - 120;
    if (<u32>k > 2 || k <= axis) break;
    const layout = layouts + <usize>(k << 6);
    const bytes = v128.load(p);
    if (i8x16.bitmask(i8x16.le_u(i8x16.sub(bytes, v128.load(layout, LEAST)), v128.load(layout, SPAN))) != 0xffff) break;
    const after = p + <usize>load<i32>(layout, LENGTH);
    if (after >= lastOfAll) break;
    const digits = i8x16.swizzle(i8x16.sub(bytes, zero), v128.load(layout, PLACES));
    const v = (wholeOf(digits, tens, hundreds, myriads, eights) / load<f64>(layout, DIVISOR)) * unit;
    const slot = slots + <usize>(k << 3);
    store<f64>(slot, load<f64>(slot), BEFORE);
    store<f64>(slot, v);
    // every word makes a move, which only a line's end keeps: which word is a line's last is hard to foretell
    const o = out + (<usize>count << 3);
    store<f64>(o, load<f64>(slots) + ox);
    store<f64>(o, load<f64>(slots, 8) + oy, COLUMN);
    store<f64>(o, load<f64>(slots, 16) + oz, 2 * COLUMN);
    const b = <u32>load<u8>(after);
    const ended = <i32>(b == 10);
    p = after + 1;
    axis = k | -ended;
    count += ended;
    if ((ended | <i32>(b == 32)) == 0) {
      if (b == 13 && load<u8>(p) == 10) {
        p++;
        axis = -1;
        count++;
      } else {
        // a letter, or what the slower loop is to look at
        p = after;
        if (b < 65) break;
      }
    }
  }
  // a line that is begun is taken back
  for (; p > from && load<u8>(p - 1) != 10; p--) {
    const k = <u32>(load<u8>(p - 1) | 32) - 120;
    const slot = slots + <usize>(k << 3);
    if (k <= 2) store<f64>(slot, load<f64>(slot, BEFORE));
  }
  store<i32>(changetype<usize>(TALLY), count);
  return p;
}

/**
 * Reads plain lines from `at` on; `state`: x y z feed motion, then moves, lines and the reason to stop (0 the text ended, 1 a line is
 * not plain, 2 no room for more than `room`, at most ROOM). The text is followed by a byte that is no digit, and 32 more that may be read and do not matter.
 */
export function scanLines(text: usize, at: i32, end: i32, state: usize, out: usize, room: i32, lineBefore: i32, unit: f64, ox: f64, oy: f64, oz: f64): i32 {
  const lanes = changetype<usize>(LANES), slots = changetype<usize>(SLOTS), align = changetype<usize>(ALIGN), pow10 = changetype<usize>(POW10);
  const zero = v128.load(lanes), nine = v128.load(lanes, 16), tens = v128.load(lanes, 32), hundreds = v128.load(lanes, 48), myriads = v128.load(lanes, 64);
  const eights = v128.load(changetype<usize>(EIGHTS));
  let x = load<f64>(state), y = load<f64>(state, 8), z = load<f64>(state, 16), feed = load<f64>(state, 24);
  let motion = load<i32>(state, 32);
  store<f64>(slots, x);
  store<f64>(slots, y, 8);
  store<f64>(slots, z, 16);
  store<f64>(slots, feed, 24);
  const lastOfAll = text + end - 1;
  // the line at hand
  let from = text + at;
  // moves, those before the run at hand, and the lines before it
  let count = 0, first = 0, line = lineBefore;
  const layouts = changetype<usize>(LAYOUTS);
  // no place of so many digits before its point is far away
  const near: u32 = unit > 10 ? 3 : 4;
  // layouts of an earlier text may be longer
  if (near < 4) memory.fill(layouts, 0, 3 * LAYOUT);
  let rest = 0, pause = 0;
  // whether a line with nothing but places is a move
  let ready = motion == 10 ? feed > 0 : motion == 0;
  let why = 0;
  // an axis that is nowhere yet, or far away, is for the full way
  if (!(Math.abs(x) < 1e5 && Math.abs(y) < 1e5 && Math.abs(z) < 1e5)) why = 1;
  else while (from <= lastOfAll) {
    if (count == room) {
      why = 2;
      break;
    }
    let tried = false;
    if (rest > 0) rest--;
    else if (ready) {
      const before = count;
      from = alikeLines(from, lastOfAll, out, count, room, unit, ox, oy, oz);
      count = load<i32>(changetype<usize>(TALLY));
      x = load<f64>(slots);
      y = load<f64>(slots, 8);
      z = load<f64>(slots, 16);
      if (from > lastOfAll) break;
      if (count == room) {
        why = 2;
        break;
      }
      pause = count - before < FEW ? min(2 * pause + 8, LONGEST) : 0;
      rest = pause;
      tried = true;
    }
    let p = from;
    const last = min(lastOfAll, from + 256);
    let seen: u32 = 0;
    let nextMotion = motion;
    // 1: the line is plain; 2: it is not; 3: its end was not found before `last`
    let what = 3;
    while (p < last) {
      const b: u32 = load<u8>(p++);
      const word = p - 1;
      const l = b | 32;
      let k = l - 120;
      if (k > 2) {
        if (b == 10) {
          what = 1;
          break;
        }
        if (b == 32) continue;
        if (l == 102) k = 3;
        else if (l == 103) k = 4;
        else if (b == 13 && load<u8>(p) == 10) {
          p++;
          what = 1;
          break;
        } else {
          what = 2;
          break;
        }
      }
      let bytes = i8x16.sub(v128.load(p), zero);
      // bit k: byte k is no digit; the 17th is not known
      let others = <u32>i8x16.bitmask(i8x16.le_u(bytes, nine)) ^ 0x1ffff;
      let negative = false;
      if ((others & 1) != 0 && load<u8>(p) == 45) {
        negative = true;
        bytes = i8x16.sub(v128.load(++p), zero);
        others = <u32>i8x16.bitmask(i8x16.le_u(bytes, nine)) ^ 0x1ffff;
      }
      const w = ctz(others);
      let length = w, f: u32 = 0;
      if (load<u8>(p + <usize>w) == 46) {
        length = ctz(others & (others - 1));
        f = length - w - 1;
      }
      const bit: u32 = 1 << k;
      if (w + f - 1 > 14 || (seen & bit) != 0) {
        what = 2;
        break;
      }
      seen |= bit;
      p += <usize>length;
      const digits = i8x16.swizzle(bytes, v128.load(align + <usize>(((w << 4) | f) << 4)));
      let v = wholeOf(digits, tens, hundreds, myriads, eights) / load<f64>(pow10 + (<usize>f << 3));
      if (negative) v = -v;
      if (k < 4) {
        v *= unit;
        store<f64>(slots + (<usize>k << 3), v);
        if (k < 3 && !(Math.abs(v) < 1e5)) {
          what = 2;
          break;
        }
        if (tried && k < 3 && w <= near && p - word <= 16) keepLayout(layouts + <usize>(k << 6), word, <i32>negative, w, <i32>(length > w), f);
      } else if (v == 0) nextMotion = 0;
      else if (v == 1) nextMotion = 10;
      else {
        what = 2;
        break;
      }
    }
    if (what != 1) {
      // a line that the buffer cuts short is read again with more of the text; one that is too long is left
      why = what == 3 && last == lastOfAll ? 0 : 1;
      break;
    }
    if (seen - 1 > 6 || !ready) {
      const nextFeed = load<f64>(slots, 24);
      const moves = (seen & 7) != 0;
      if (nextFeed < 0 || (moves ? (nextMotion == 10 ? !(nextFeed > 0) : nextMotion != 0) : (seen & 16) != 0)) {
        why = 1;
        break;
      }
      if (!moves || nextFeed != feed || nextMotion != motion) {
        run(out, first, count, motion, feed / 60, line + 1);
        line += count - first;
        first = count;
        feed = nextFeed;
        motion = nextMotion;
        ready = motion == 10 ? feed > 0 : motion == 0;
      }
      if (!moves) {
        line++;
        from = p;
        continue;
      }
    }
    from = p;
    x = load<f64>(slots);
    y = load<f64>(slots, 8);
    z = load<f64>(slots, 16);
    const o = out + (<usize>count << 3);
    store<f64>(o, x + ox);
    store<f64>(o, y + oy, COLUMN);
    store<f64>(o, z + oz, 2 * COLUMN);
    count++;
  }
  run(out, first, count, motion, feed / 60, line + 1);
  store<f64>(state, x);
  store<f64>(state, y, 8);
  store<f64>(state, z, 16);
  store<f64>(state, feed, 24);
  store<i32>(state, motion, 32);
  store<i32>(state, count, 36);
  store<i32>(state, line + count - first, 40);
  store<i32>(state, why, 44);
  return <i32>(from - text);
}
