import { MoveKind } from "../../kernel/moves.ts";
import type { Machine } from "./machine.ts";
import { POW10 } from "./value.ts";

/**
 * The quick way through the lines that make up nearly all of a program: G0 or G1 (or neither), X Y Z and F with plain
 * numbers, absolute, units per minute. Reads from the start of a line as many lines as it can, carries them out, counts them
 * in `m.line` (the last line read), and gives the index where the first line begins that it leaves to the full way.
 * Agrees with the full way to the bit.
 */
export function plainLines(bytes: Uint8Array, start: number, m: Machine): number {
  if (!m.absolute || m.inverseTime) return start;
  const n = bytes.length;
  const { unit, moves } = m;
  const [ox, oy, oz] = m.off;
  let motion = m.motion;
  let [x, y, z] = m.place;
  let feed = m.feed;
  let line = m.line;
  let from = start;
  let { kind, x: X, y: Y, z: Z, feed: FEED, line: LINE, room, count } = moves;
  reading: while (from < n) {
    // a line without its end before `last` is left to the full way, so no read goes past the text
    const last = Math.min(n, from + 257) - 1;
    let seen = 0;
    let nextMotion = motion;
    let nx = x;
    let ny = y;
    let nz = z;
    let nextFeed = feed;
    let i = from;
    for (;;) {
      if (i >= last) break reading;
      const b = bytes[i++];
      if (b === 32) continue;
      if (b === 10) break;
      const l = b | 32;
      let bit = 0;
      if (l === 120) bit = 1;
      else if (l === 121) bit = 2;
      else if (l === 122) bit = 4;
      else if (l === 103) bit = 8;
      else if (l === 102) bit = 16;
      else if (b === 13 && bytes[i] === 10) {
        i++;
        break;
      }
      if (bit === 0 || b < 65 || (seen & bit) !== 0) break reading;
      seen |= bit;
      let d = bytes[i] - 48;
      const negative = d === -3;
      if (negative) d = bytes[++i] - 48;
      // up to nine digits fit a 32-bit integer; longer numbers are added up again in doubles. Past the text d is NaN, which ends the loops
      let mantissa = 0;
      const whole = i;
      while (d >= 0 && d <= 9) {
        mantissa = (Math.imul(mantissa, 10) + d) | 0;
        d = bytes[++i] - 48;
      }
      let digits = i - whole;
      let decimals = 0;
      if (d === -2) {
        const point = ++i;
        d = bytes[i] - 48;
        while (d >= 0 && d <= 9) {
          mantissa = (Math.imul(mantissa, 10) + d) | 0;
          d = bytes[++i] - 48;
        }
        decimals = i - point;
        digits += decimals;
      }
      if (i >= last || digits === 0 || digits > 15) break reading;
      let v = digits <= 9 ? mantissa : digitsOf(bytes, whole, i);
      if (decimals > 0) v /= POW10[decimals];
      // a letter or the line's end must follow; a space may stand inside a number, and a second point is an error
      while (d === -16) {
        if (++i >= last) break reading;
        d = bytes[i] - 48;
      }
      if (d < 17 && d !== -38 && d !== -35) break reading;
      if (negative) v = -v;
      if (bit === 1) nx = v * unit;
      else if (bit === 2) ny = v * unit;
      else if (bit === 4) nz = v * unit;
      else if (bit === 16) nextFeed = v * unit;
      else if (v === 0) nextMotion = 0;
      else if (v === 1) nextMotion = 10;
      else break reading;
    }
    if (nextFeed < 0) break;
    if ((seen & 7) !== 0) {
      if (nextMotion === 10 ? !(nextFeed > 0) : nextMotion !== 0) break;
      if (!(nx > -1e5 && nx < 1e5 && ny > -1e5 && ny < 1e5 && nz > -1e5 && nz < 1e5)) break;
      if (count === room) {
        moves.count = count;
        moves.makeRoom(1, from / n);
        ({ kind, x: X, y: Y, z: Z, feed: FEED, line: LINE, room } = moves);
      }
      motion = nextMotion;
      x = nx;
      y = ny;
      z = nz;
      kind[count] = motion === 0 ? MoveKind.rapid : MoveKind.line;
      X[count] = x + ox;
      Y[count] = y + oy;
      Z[count] = z + oz;
      FEED[count] = motion === 0 ? 0 : nextFeed / 60;
      LINE[count] = line + 1;
      count++;
    } else if ((seen & 8) !== 0) break;
    feed = nextFeed;
    line++;
    from = i;
  }
  moves.count = count;
  m.motion = motion;
  m.feed = feed;
  m.place[0] = x;
  m.place[1] = y;
  m.place[2] = z;
  m.line = line;
  return from;
}

/** The digits of a number as one whole number; its point is passed over. */
function digitsOf(bytes: Uint8Array, from: number, to: number): number {
  let v = 0;
  for (let i = from; i < to; i++) if (bytes[i] !== 46) v = v * 10 + (bytes[i] - 48);
  return v;
}
