import type { Mm, MmPerSecond, MmPerSecond2, Seconds } from "../units/index.ts";
import { across, cornerRadius, type OpenClock, openClock, STRAIGHT } from "./clock-kernel.ts";
import { MoveKind, type MoveList } from "./moves.ts";
import { type KernelKind, kernelInUse } from "./wasm/load.ts";

/*
 * How long a machine takes for a move list: an acceleration-limited look-ahead planner, as motion controllers have it.
 *
 * Each move gets a length, a top speed and an acceleration along its direction; each corner a speed by junction deviation;
 * a pass backward makes every speed reachable by braking, a pass forward by accelerating; each move is then a trapezoid or
 * a triangle of speed. The list, every rapid and every dwell begin and end at rest. Only so many moves are looked at together as
 * a way to brake needs, so nothing is held of those before; the outcome is that of both passes over the whole list.
 */

interface PerAxis<T> {
  readonly x: T;
  readonly y: T;
  readonly z: T;
}

/** What a machine can do, axis by axis; a machine of the shop is one. */
export interface ClockLimits {
  readonly feed: PerAxis<MmPerSecond>;
  readonly rapid: PerAxis<MmPerSecond>;
  readonly acceleration: PerAxis<MmPerSecond2>;
  /** How far from a corner the arc that stands for it may pass; 0 stops at every corner. */
  readonly junctionDeviation: Mm;
}

export interface ClockTime {
  readonly seconds: Seconds;
  /** Seconds of each move. */
  readonly perMove: Float64Array;
}

/**
 * Squared speed through a corner. `cosTurn` is the cosine of the change of direction (1 = straight on), a the acceleration
 * towards the inside in mm/s2, `deviation` in mm, `shorter` the length of the shorter of the two moves in mm.
 *
 * The corner is taken as an arc tangent to both moves that passes `deviation` from it: with the half angle h between the
 * moves, R = deviation sin h / (1 - sin h) and v2 = a R (a convention common among motion controllers; no standard states
 * it). On finely divided curves this alone is too fast, because the deviation hides a whole chord: the arc must also touch
 * both moves within their halves, R <= shorter / 2 * tan h.
 */
export function cornerSpeed2(cosTurn: number, a: number, deviation: number, shorter: number): number {
  const sin2 = (1 + cosTurn) / 2;
  if (sin2 <= STRAIGHT) return 0;
  if (sin2 >= 1 - STRAIGHT) return Number.POSITIVE_INFINITY;
  return a * cornerRadius(Math.sqrt(sin2), 1 / (2 * Math.sqrt(1 - sin2)), deviation, shorter);
}

/** Seconds over a length with squared speeds at entry and exit, squared top speed, and one acceleration. */
export const trapezoid = (length: number, entry2: number, exit2: number, top2: number, a: number): number =>
  across(2 * a * length, 1 / a, entry2, Math.sqrt(entry2), exit2, Math.sqrt(exit2), Math.sqrt(top2));

/** Seconds of a move list; throws on limits that are not above zero, on places that are not finite, and without a feed. */
export const secondsOf = (moves: MoveList, limits: ClockLimits): Seconds => plan(moves, limits, null);

/** Time of a move list and of each of its moves; throws as `secondsOf` does. */
export function timeOf(moves: MoveList, limits: ClockLimits): ClockTime {
  const perMove = new Float64Array(moves.count);
  return { seconds: plan(moves, limits, perMove), perMove };
}

/** Moves that are looked at together: so few that they stay in the processor's near memory. More when a way to brake is in more moves. */
const ROOM = 1024;

/** A look of ROOM moves of each kind that no plan is using. */
const spare = new Map<KernelKind, Look>();

/** The moves that are looked at together, those whose speeds are not yet known for good. An entry for every move that goes somewhere. */
class Look {
  readonly room: number;
  readonly clock: OpenClock;
  /** Which move each entry is. */
  readonly at: Uint32Array;

  constructor(room: number, kind: KernelKind) {
    this.room = room;
    this.clock = openClock(room + 2, kind);
    this.at = new Uint32Array(room);
  }

  /** How many of the first of n moves have speeds that no later move can change: from there the corner's own speed can be braked to rest. */
  settled(n: number): number {
    const { gain, entry2 } = this.clock.fields;
    let i = n - 1;
    let v2 = gain[i];
    while (i > 0 && entry2[i] > v2) v2 += gain[--i];
    return i;
  }

  /** Puts the entries from..n at the beginning of another look or of this one. */
  moveTo(other: Look, from: number, n: number): void {
    other.at.set(this.at.subarray(from, n));
    const now = this.clock.fields;
    const then = other.clock.fields;
    for (const name of ["inverse", "top", "gain", "entry2"] as const) then[name].set(now[name].subarray(from, n + 1));
    // of the ways themselves only the last is asked for again
    for (const name of ["ux", "uy", "uz", "length"] as const) then[name][n - from] = now[name][n];
  }
}

function plan(moves: MoveList, limits: ClockLimits, perMove: Float64Array | null): Seconds {
  refuse(limits);
  const { count, kind, feed, x, y, z } = moves;
  const inUse = kernelInUse();
  let look = spare.get(inUse) ?? new Look(ROOM, inUse);
  spare.delete(inUse);
  look.clock.machine(limits);
  let { kernel, fields } = look.clock;
  let seconds = 0;
  /** Whether the machine moves on from the entry before into the next move. */
  let rolling = false;
  let n = 0;
  const run = (m: number): void => {
    seconds += kernel.clockRun(m);
    if (perMove === null) return;
    const { at } = look;
    const { time } = fields;
    for (let i = 0; i < m; i++) perMove[at[i]] = time[i];
  };
  /** Moves before this one are taken one by one. */
  let single = 0;
  for (let k = 0; k < count; ) {
    if (n === look.room) {
      const m = look.settled(n);
      if (m > 0) {
        run(m);
        look.moveTo(look, m, n);
        n -= m;
      } else {
        const wider = new Look(2 * look.room, inUse);
        look.moveTo(wider, 0, n);
        look = wider;
        look.clock.machine(limits);
        ({ kernel, fields } = look.clock);
      }
    }
    const what = kind[k];
    const px = k === 0 ? moves.start[0] : x[k - 1];
    const py = k === 0 ? moves.start[1] : y[k - 1];
    const pz = k === 0 ? moves.start[2] : z[k - 1];
    if (what === MoveKind.line && k >= single) {
      // as many straight feed moves at once as there are, and as there is room for
      const end = Math.min(count, k + look.room - n);
      let to = k + 1;
      while (to < end && kind[to] === MoveKind.line) to++;
      const lines = (to - k) & ~1;
      if (lines > 0) {
        fields.x[0] = px;
        fields.y[0] = py;
        fields.z[0] = pz;
        fields.x.set(x.subarray(k, k + lines), 1);
        fields.y.set(y.subarray(k, k + lines), 1);
        fields.z.set(z.subarray(k, k + lines), 1);
        fields.feed.set(feed.subarray(k, k + lines), 1);
        if (kernel.clockLines(n, lines, rolling ? 1 : 0) === 1) {
          if (perMove !== null) for (let i = 0, { at } = look; i < lines; i++) at[n + i] = k + i;
          n += lines;
          k += lines;
          rolling = true;
          continue;
        }
        single = k + lines;
      }
    }
    if (what === MoveKind.dwell) {
      seconds += feed[k];
      if (perMove !== null) perMove[k] = feed[k];
      rolling = false;
    } else {
      if (what === MoveKind.arc) arcShape(moves, k, px, py, pz, limits);
      else {
        const rapid = what === MoveKind.rapid;
        const most = rapid ? limits.rapid : limits.feed;
        lineShape(x[k] - px, y[k] - py, z[k] - pz, rapid ? Number.POSITIVE_INFINITY : feed[k], most, limits.acceleration);
      }
      const L = SHAPE[0];
      const top = SHAPE[2];
      if (!(L >= 0 && L < 1e9)) throw new RangeError(`move ${k} has no finite length`);
      if (L > 0) {
        if (!(top > 0)) throw new RangeError(`move ${k} has no feed above zero`);
        const onward = what !== MoveKind.rapid;
        look.at[n] = k;
        look.clock.enter(n, SHAPE, rolling && onward);
        n++;
        rolling = onward;
      }
    }
    k++;
  }
  fields.entry2[n] = 0;
  run(n);
  if (look.room === ROOM) spare.set(inUse, look);
  return seconds;
}

/** What the planner needs of an arc: length, one over the acceleration, top speed, unit vectors of the direction at its beginning and end. */
const SHAPE = new Float64Array(9);

/** Arc or helix: the tightest limit of each axis over all directions that it passes, and the pull towards its centre. Fills SHAPE. */
function arcShape(m: MoveList, k: number, px: number, py: number, pz: number, limits: ClockLimits): void {
  const s = SHAPE;
  const plane = m.plane[k];
  const u = plane === 0 ? 0 : plane === 1 ? 2 : 1;
  const v = plane === 0 ? 1 : plane === 1 ? 0 : 2;
  const w = 3 - u - v;
  const from = [px, py, pz];
  const centre = [m.cx[k], m.cy[k], m.cz[k]];
  const rise = [m.x[k], m.y[k], m.z[k]][w] - from[w];
  const du = from[u] - centre[u];
  const dv = from[v] - centre[v];
  const r = Math.hypot(du, dv);
  const sweep = m.sweep[k];
  const flat = r * Math.abs(sweep);
  const L = Math.hypot(flat, rise);
  s[0] = L;
  if (!(L > 0)) return;
  const inPlane = flat / L;
  const along = Math.abs(rise) / L;
  const turn = sweep < 0 ? -1 : 1;
  const a0 = Math.atan2(dv, du);
  const a1 = a0 + sweep;
  s[3 + u] = -Math.sin(a0) * inPlane * turn;
  s[3 + v] = Math.cos(a0) * inPlane * turn;
  s[3 + w] = rise / L;
  s[6 + u] = -Math.sin(a1) * inPlane * turn;
  s[6 + v] = Math.cos(a1) * inPlane * turn;
  s[6 + w] = rise / L;
  const mostU = inPlane * largestSine(a0, a1);
  const mostV = inPlane * largestSine(a0 + Math.PI / 2, a1 + Math.PI / 2);
  const feed = perAxis(limits.feed);
  const acceleration = perAxis(limits.acceleration);
  s[1] = Math.max(mostU / acceleration[u], mostV / acceleration[v], along / acceleration[w]);
  const towardsCentre = Math.sqrt(r * Math.min(acceleration[u], acceleration[v])) / inPlane;
  s[2] = Math.min(m.feed[k], feed[u] / mostU, feed[v] / mostV, feed[w] / along, towardsCentre);
}

/** A straight move of (dx, dy, dz) at `feed`. Fills SHAPE. */
function lineShape(dx: number, dy: number, dz: number, feed: number, most: PerAxis<number>, acceleration: PerAxis<number>): void {
  const s = SHAPE;
  const L = Math.sqrt(dx * dx + dy * dy + dz * dz);
  s[0] = L;
  if (!(L > 0)) return;
  const per = 1 / L;
  s[3] = s[6] = dx * per;
  s[4] = s[7] = dy * per;
  s[5] = s[8] = dz * per;
  s[1] = greatest(s[3], s[4], s[5], acceleration);
  s[2] = Math.min(feed, 1 / greatest(s[3], s[4], s[5], most));
}

const greatest = (x: number, y: number, z: number, p: PerAxis<number>): number =>
  Math.max(Math.abs(x) * (1 / p.x), Math.abs(y) * (1 / p.y), Math.abs(z) * (1 / p.z));

const perAxis = (p: PerAxis<number>): [number, number, number] => [p.x, p.y, p.z];

/** Largest |sin| between two angles. */
export function largestSine(a0: number, a1: number): number {
  const lo = Math.min(a0, a1);
  const hi = Math.max(a0, a1);
  const crest = Math.ceil((lo - Math.PI / 2) / Math.PI) * Math.PI + Math.PI / 2;
  return crest <= hi ? 1 : Math.max(Math.abs(Math.sin(lo)), Math.abs(Math.sin(hi)));
}

function refuse(limits: ClockLimits): void {
  for (const v of [limits.feed, limits.rapid, limits.acceleration].flatMap(perAxis)) {
    if (!(v > 0 && v < Number.POSITIVE_INFINITY)) throw new RangeError(`a machine's speeds and accelerations must be above zero, not ${v}`);
  }
  if (!(limits.junctionDeviation >= 0))
    throw new RangeError(`junction deviation must be zero or above, not ${limits.junctionDeviation} mm`);
}
