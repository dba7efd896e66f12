// Straight moves as text; does what TextMachine.lines of src/program/writer.ts does between two changes of the feed, to the byte.

const PAIRS: StaticArray<u16> = pairs();

function pairs(): StaticArray<u16> {
  const all = new StaticArray<u16>(100);
  for (let k = 0; k < 100; k++) all[k] = <u16>(48 + k / 10) | (<u16>(48 + k % 10) << 8);
  return all;
}

/** Half away from zero, of a count that is not below zero: as roundScaled of src/program/bytes.ts. */
// @ts-ignore: decorator
@inline function rounded(v: f64): i32 {
  const up = Math.ceil(v);
  return <i32>(up - 0.5 > v ? up - 1 : up);
}

// @ts-ignore: decorator
@inline function counted(v: f64): i32 {
  const s = v * 10000;
  return s < 0 ? -rounded(-s) : rounded(s);
}

/** A letter and a count of 1/10000 with its four decimals; gives the place after it. */
function word(at: usize, letter: u32, count: i32): usize {
  let p = at;
  store<u8>(p++, letter);
  let rest: u32 = count;
  if (count < 0) {
    store<u8>(p++, 45);
    rest = -count;
  }
  const whole = rest / 10000, part = rest - whole * 10000;
  if (whole < 10) store<u8>(p++, 48 + whole);
  else if (whole < 100) {
    store<u16>(p, unchecked(PAIRS[whole]));
    p += 2;
  } else {
    let high = whole / 100;
    if (high < 10) store<u8>(p++, 48 + high);
    else {
      if (high >= 100) {
        const top = high / 100;
        store<u8>(p++, 48 + top);
        high -= top * 100;
      }
      store<u16>(p, unchecked(PAIRS[high]));
      p += 2;
    }
    store<u16>(p, unchecked(PAIRS[whole % 100]));
    p += 2;
  }
  const high = part / 100;
  store<u8>(p, 46);
  store<u16>(p, unchecked(PAIRS[high]), 1);
  store<u16>(p, unchecked(PAIRS[part - high * 100]), 3);
  return p + 5;
}

/**
 * The lines of `count` straight moves to (xs, ys, zs), mm; `state`: the counts of the place before them, and after them that of the last
 * one written, then how many moves were done: it stops before a place that is no place on a machine. Gives the bytes written to `out`.
 */
export function emitLines(xs: usize, ys: usize, zs: usize, count: i32, state: usize, out: usize): i32 {
  let x = load<i32>(state), y = load<i32>(state, 4), z = load<i32>(state, 8);
  let p = out;
  let k = 0;
  for (; k < count; k++) {
    const o = <usize>k << 3;
    const fx = load<f64>(xs + o), fy = load<f64>(ys + o), fz = load<f64>(zs + o);
    if (!(Math.abs(fx) < 1e5 && Math.abs(fy) < 1e5 && Math.abs(fz) < 1e5)) break;
    const cx = counted(fx), cy = counted(fy), cz = counted(fz);
    const start = p;
    if (cx != x) p = word(p, 88, cx);
    if (cy != y) {
      if (p > start) store<u8>(p++, 32);
      p = word(p, 89, cy);
    }
    if (cz != z) {
      if (p > start) store<u8>(p++, 32);
      p = word(p, 90, cz);
    }
    if (p > start) store<u8>(p++, 10);
    x = cx;
    y = cy;
    z = cz;
  }
  store<i32>(state, x);
  store<i32>(state, y, 4);
  store<i32>(state, z, 8);
  store<i32>(state, k, 12);
  return <i32>(p - out);
}
