import type { MoveBuilder } from "../../kernel/moves.ts";
import type { Mm, MmPerSecond, Rad } from "../../units/index.ts";

/*
 * What every way of moving shares. Coordinates are those of the program; z upward. A path is a flat array of x, y, z
 * triples: where the cutter's tip goes.
 *
 *   safeZ      ------->------->            rapids across, only here (or higher)
 *              |               ^
 *   approachZ  v (rapid)       | (rapid)   above the wood
 *              : (plunge feed)
 *   wood       \__ ramp ______/
 */
export interface Motion {
  /** In the cut, mm/s. */
  readonly feed: MmPerSecond;
  /** Along ramps and helices. */
  readonly ramp: MmPerSecond;
  /** Straight down, through air onto wood or with a drill. */
  readonly plunge: MmPerSecond;
  /** Rapids across travel here. */
  readonly safeZ: Mm;
  /** Above every piece of wood where this strategy works: rapids down may go this far. */
  readonly approachZ: Mm;
  /** Rapids down into what an earlier pass has cleared stop this far above it; default 1 mm. */
  readonly gap?: Mm;
}

export type Path = Float64Array;

/** Default of `gap`. */
export const RAPID_GAP: Mm = 1;

/** Steepest ramp and helix when none is given: 5 degrees. Common practice, no source. */
export const RAMP_ANGLE: Rad = (5 * Math.PI) / 180;

/** Refuses numbers that make no path, naming the option, before any move is made. */
export function checkMotion(o: Motion): void {
  for (const k of ["feed", "ramp", "plunge"] as const)
    if (!(o[k] > 0 && Number.isFinite(o[k]))) throw new RangeError(`${k} must be above 0 mm/s, not ${o[k]}`);
  if (!Number.isFinite(o.safeZ) || !Number.isFinite(o.approachZ)) throw new RangeError("safeZ and approachZ must be numbers");
  if (o.approachZ > o.safeZ) throw new RangeError(`approachZ ${o.approachZ} lies above safeZ ${o.safeZ}`);
}

/** Refuses an option that is not above 0. */
export function above0(name: string, value: number): void {
  if (!(value > 0)) throw new RangeError(`${name} must be above 0, not ${value}`);
}

/** Straight up to the safe height, when not there already. */
export function retract(b: MoveBuilder, o: Motion): void {
  if (b.pz < o.safeZ) b.rapid(b.px, b.py, o.safeZ);
}

/**
 * Up, across at the safe height, and down: by rapid to `approachZ`, or into cleared wood whose free height `freeZ` is
 * known to within `gap` above it; then by plunge feed to `freeZ` when that lies lower.
 */
export function goAbove(b: MoveBuilder, x: Mm, y: Mm, o: Motion, freeZ?: Mm): void {
  retract(b, o);
  if (b.px !== x || b.py !== y || b.count === 0) b.rapid(x, y, b.pz);
  const down = freeZ === undefined ? o.approachZ : Math.min(o.approachZ, freeZ + (o.gap ?? RAPID_GAP));
  if (b.pz > down) b.rapid(x, y, down);
  if (freeZ !== undefined && b.pz > freeZ) b.lineTo(x, y, freeZ, o.plunge);
}

/** Feeds through the points of a path, from vertex `from` on. */
export function follow(b: MoveBuilder, p: Path, feed: MmPerSecond, from = 0): void {
  for (let k = 3 * from; k < p.length; k += 3) {
    if (p[k] === b.px && p[k + 1] === b.py && p[k + 2] === b.pz) continue;
    b.lineTo(p[k], p[k + 1], p[k + 2], feed);
  }
}

/** Length of a path seen from above. */
export function planLength(p: Path): Mm {
  let sum = 0;
  for (let k = 3; k < p.length; k += 3) sum += Math.hypot(p[k] - p[k - 3], p[k + 1] - p[k - 2]);
  return sum;
}

/** The first `length` (seen from above) of a path, cut between vertices where it ends. */
export function head(p: Path, length: Mm): Path {
  const out = [p[0], p[1], p[2]];
  let left = length;
  for (let k = 3; k < p.length; k += 3) {
    const L = Math.hypot(p[k] - p[k - 3], p[k + 1] - p[k - 2]);
    if (L >= left) {
      const t = L > 0 ? left / L : 1;
      out.push(p[k - 3] + t * (p[k] - p[k - 3]), p[k - 2] + t * (p[k + 1] - p[k - 2]), p[k - 1] + t * (p[k + 2] - p[k - 1]));
      break;
    }
    out.push(p[k], p[k + 1], p[k + 2]);
    left -= L;
  }
  return Float64Array.from(out);
}

export function reversedPath(p: Path): Path {
  const n = p.length;
  const out = new Float64Array(n);
  for (let k = 0; k < n; k += 3) {
    out[k] = p[n - 3 - k];
    out[k + 1] = p[n - 2 - k];
    out[k + 2] = p[n - 1 - k];
  }
  return out;
}

/** The same path, raised by a height that runs evenly along it from `from` to `to`. */
export function raised(p: Path, from: Mm, to: Mm): Path {
  const out = p.slice();
  const total = planLength(p);
  let s = 0;
  for (let k = 0; k < p.length; k += 3) {
    if (k > 0) s += Math.hypot(p[k] - p[k - 3], p[k + 1] - p[k - 2]);
    out[k + 2] += from + (to - from) * (total > 0 ? s / total : 1);
  }
  return out;
}

/** How a ramp goes back and forth over a path's beginning. */
interface Legs {
  readonly along: Path;
  readonly back: Path;
  readonly count: number;
}

/** `here`: the cutter stands on the path's start already, so that an even number of legs must bring it back. */
function legsFor(p: Path, drop: Mm, angle: Rad, here: boolean): Legs {
  const total = planLength(p);
  if (total < 1e-6) throw new RangeError(`a ramp of ${drop} mm needs a path with length at (${p[0]}, ${p[1]})`);
  const slope = Math.tan(angle);
  const legs = Math.max(1, Math.ceil(drop / slope / total - 1e-9));
  const count = here && legs % 2 === 1 ? legs + 1 : legs;
  const along = head(p, Math.min(total, drop / slope / count));
  return { along, back: reversedPath(along), count };
}

/** Leg k (of count) runs away from the start or back to it; the last one always back. */
const legOf = (l: Legs, k: number): Path => ((l.count - k) % 2 === 1 ? l.back : l.along);

/**
 * Brings the cutter to the start of a path by a ramp along it, from `drop` above it: the wood before this pass lies parallel
 * to the path, `drop` higher. Back and forth over the path's beginning, no steeper than `angle`, so that the pass that
 * follows takes away what the ramp left.
 *
 *      drop  \                one leg: enter down the path, ramp back to its start
 *             \ <-            two legs: enter at the start, ramp away and back, and so on
 *   start ----+-------->
 *
 * `here`: the cutter is at the start already, `drop` above it. Ends on the path's first point. A path with no length (a
 * point) cannot be ramped and throws.
 */
export function rampIn(b: MoveBuilder, p: Path, drop: Mm, o: Motion, angle: Rad = RAMP_ANGLE, here = false): void {
  if (drop <= 1e-6) {
    if (!here) goAbove(b, p[0], p[1], o, p[2]);
    return;
  }
  const l = legsFor(p, drop, angle, here);
  const first = legOf(l, 0);
  if (!here) goAbove(b, first[0], first[1], o, first[2] + drop);
  for (let k = 0; k < l.count; k++) follow(b, raised(legOf(l, k), drop * (1 - k / l.count), drop * (1 - (k + 1) / l.count)), o.ramp);
}

/**
 * The same onto wood that stands level, or lower, at `freeZ` over the path's beginning: the ramp is a straight slope from
 * there, or the path itself where that is higher.
 */
export function rampFrom(b: MoveBuilder, p: Path, freeZ: Mm, o: Motion, angle: Rad = RAMP_ANGLE): void {
  const drop = freeZ - p[2];
  if (drop <= 1e-6) {
    goAbove(b, p[0], p[1], o, p[2]);
    return;
  }
  const l = legsFor(p, drop, angle, false);
  for (let k = 0; k < l.count; k++) {
    const leg = legOf(l, k).slice();
    const level = leg.slice();
    for (let i = 2; i < level.length; i += 3) level[i] = 0;
    const slope = raised(level, freeZ - (drop * k) / l.count, freeZ - (drop * (k + 1)) / l.count);
    // of two straights the higher, vertex by vertex: between vertices the chord lies above both
    for (let i = 2; i < leg.length; i += 3) leg[i] = Math.max(leg[i], slope[i]);
    if (k === 0) goAbove(b, leg[0], leg[1], o, leg[2]);
    follow(b, leg, o.ramp);
  }
}
