import { type Block, hasLetter, letter } from "./block.ts";
import { anyWord } from "./checks.ts";
import { Refusal } from "./refusal.ts";
import { R } from "./rules.ts";

const [L, P, Q, RR, X] = [..."lpqrx"].map(letter);
/** No coordinate lies farther from zero, mm. */
export const ABSURD = 100_000;
const MOST_MOVES_OF_A_LINE = 20_000;
/** G83 comes back to this far above the hole's bottom: 0.010 inch. */
const PECK_CLEAR = 0.254;

/** Which axes span the plane (u, v) and which stands on it (w), for G17, G18, G19. */
export const PLANES: readonly (readonly [number, number, number])[] = [
  [0, 1, 2],
  [2, 0, 1],
  [1, 2, 0],
];

/** Values that stay in force through a series of one canned cycle, in the program's own units; NaN where there is none yet. */
export interface Series {
  r: number;
  depth: number;
  p: number;
  q: number;
}
export const newSeries = (): Series => ({ r: Number.NaN, depth: Number.NaN, p: Number.NaN, q: Number.NaN });

/** What a cycle needs of the machine. Lengths in mm, feed in mm/min. */
interface CycleMachine {
  readonly place: Float64Array;
  readonly plane: number;
  readonly absolute: boolean;
  readonly unit: number;
  readonly oldZ: boolean;
  readonly motion: number;
  readonly feed: number;
  rapidTo(x: number, y: number, z: number): void;
  feedTo(x: number, y: number, z: number, feed: number): void;
  dwell(seconds: number): void;
  target(b: Block, axis: number): number;
  whole(b: Block, k: number, least: number, most: number): number;
}

/** G81, G82, G83 written out (NISTIR 6556, 3.5.16), in any plane: u and v are crossed at height, w is bored along. */
export function runCycle(b: Block, motion: number, m: CycleMachine, series: Series): void {
  const [u, v, w] = PLANES[m.plane];
  const [at, to] = anyWord(b);
  const same = m.motion === motion;
  const sticky = (k: number, before: number, what: string): number => {
    const value = hasLetter(b, k) ? b.value[k] : same ? before : Number.NaN;
    if (Number.isNaN(value)) throw new Refusal(R.cycle, at, to, `A new canned cycle has no ${what}.`, "Give it on the cycle's first line.");
    return value;
  };
  const rWord = sticky(RR, series.r, "clearance (R)");
  const depthWord = sticky(X + w, series.depth, "depth");
  const p = motion === 820 ? sticky(P, series.p, "dwell (P)") : 0;
  const q = motion === 830 ? sticky(Q, series.q, "peck (Q)") * m.unit : 0;
  if (p < 0) throw new Refusal(R.cycle, b.at[P], b.to[P], "A dwell is negative.", "Write it without its sign.");
  if (motion === 830 && q <= 0)
    throw new Refusal(R.cycle, b.at[Q], b.to[Q], "A peck (Q) is not above zero.", "Give the depth of one peck.");
  const repeats = hasLetter(b, L) ? m.whole(b, L, 1, MOST_MOVES_OF_A_LINE) : 1;
  const old = m.place[w];
  const r = rWord * m.unit + (m.absolute ? 0 : old);
  const bottom = depthWord * m.unit + (m.absolute ? 0 : r);
  if (Math.max(Math.abs(r), Math.abs(bottom)) > ABSURD) {
    throw new Refusal(R.absurd, at, to, "This place lies more than 100 m away.", "Check the number and the units.");
  }
  if (r < bottom)
    throw new Refusal(R.cycle, at, to, "The clearance (R) lies below the hole's bottom.", "Check R and the depth, and G90 or G91.");
  const pecks = motion === 830 ? Math.ceil((r - bottom) / q) : 1;
  if (repeats * (pecks + 1) > MOST_MOVES_OF_A_LINE) {
    throw new Refusal(R.cycle, at, to, "This line stands for more than 20000 moves.", "Check L and Q.");
  }
  const clear = m.oldZ && old > r ? old : r;
  const step = [u, v].map((k) => (hasLetter(b, X + k) ? b.value[X + k] * m.unit : 0));
  const place = [m.place[0], m.place[1], m.place[2]];
  const ends = [u, v].map((k, n) => (m.absolute ? m.target(b, k) : place[k] + step[n] * repeats));
  if (ends.some((e) => Math.abs(e) > ABSURD)) {
    throw new Refusal(R.absurd, at, to, "This place lies more than 100 m away.", "Check the number and the units.");
  }
  const rapid = (height: number): void => {
    place[w] = height;
    m.rapidTo(place[0], place[1], place[2]);
  };
  const cut = (height: number): void => {
    place[w] = height;
    m.feedTo(place[0], place[1], place[2], m.feed);
  };
  if (old < r) rapid(r);
  for (let n = 1; n <= repeats; n++) {
    place[u] = m.absolute ? ends[0] : place[u] + step[0];
    place[v] = m.absolute ? ends[1] : place[v] + step[1];
    if (n === 1 || place[u] !== m.place[u] || place[v] !== m.place[v]) rapid(place[w]);
    if (place[w] !== r) rapid(r);
    if (motion === 830) {
      for (let k = 1; r - k * q > bottom; k++) {
        cut(r - k * q);
        rapid(clear);
        rapid(Math.min(clear, r - k * q + PECK_CLEAR));
      }
    }
    cut(bottom);
    if (motion === 820) m.dwell(p);
    rapid(clear);
  }
  series.r = rWord;
  series.depth = depthWord;
  series.p = p;
  series.q = q / m.unit;
}
