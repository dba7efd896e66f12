import type { Mm, MmPerSecond, MmPerSecond2, Seconds } from "../units/index.ts";
import { MoveKind, type MoveList } from "./moves.ts";

/*
 * How long a machine takes for a move list: an acceleration-limited look-ahead planner, as motion controllers have it.
 *
 * Each move gets a length, a top speed and an acceleration along its direction; each corner a speed by junction deviation;
 * a pass backward makes every speed reachable by braking, a pass forward by accelerating; each move is then a trapezoid or
 * a triangle of speed. The list, every rapid and every dwell begin and end at rest.
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
  if (sin2 <= 1e-15) return 0;
  if (sin2 >= 1 - 1e-15) return Number.POSITIVE_INFINITY;
  const s = Math.sqrt(sin2);
  const byDeviation = (deviation * s) / (1 - s);
  const byLength = 0.5 * shorter * Math.sqrt(sin2 / (1 - sin2));
  return a * Math.min(byDeviation, byLength);
}

/** Time of a move list and of each of its moves; throws on limits that are not above zero, on places that are not finite, and without a feed. */
export function timeOf(moves: MoveList, limits: ClockLimits): ClockTime {
  refuse(limits);
  const { count, kind, feed } = moves;
  const { x: ax, y: ay, z: az } = limits.acceleration;
  const perMove = new Float64Array(count);
  // One entry per move that goes somewhere, and per dwell, which has length 0; entry2 is the squared speed it is entered at.
  const at = new Uint32Array(count);
  const length = new Float64Array(count);
  const acceleration = new Float64Array(count);
  const top2 = new Float64Array(count);
  const entry2 = new Float64Array(count + 1);
  const shape: Shape = { length: 0, top: 0, acceleration: 0, in: [0, 0, 0], out: [0, 0, 0] };
  let [px, py, pz] = moves.start;
  let [lastX, lastY, lastZ] = [0, 0, 0];
  let rolling = false;
  let n = 0;
  for (let k = 0; k < count; k++) {
    if (kind[k] === MoveKind.dwell) {
      perMove[k] = feed[k];
      at[n++] = k;
      rolling = false;
      continue;
    }
    const rapid = kind[k] === MoveKind.rapid;
    if (kind[k] === MoveKind.arc) arcShape(moves, k, px, py, pz, limits, shape);
    else lineShape(moves.x[k] - px, moves.y[k] - py, moves.z[k] - pz, rapid, feed[k], limits, shape);
    px = moves.x[k];
    py = moves.y[k];
    pz = moves.z[k];
    const L = shape.length;
    if (!(L >= 0 && L < 1e9)) throw new RangeError(`move ${k} has no finite length`);
    if (L === 0) continue;
    if (!(shape.top > 0)) throw new RangeError(`move ${k} has no feed above zero`);
    at[n] = k;
    length[n] = L;
    acceleration[n] = shape.acceleration;
    top2[n] = shape.top * shape.top;
    if (rolling && !rapid) {
      const ix = shape.in[0] - lastX;
      const iy = shape.in[1] - lastY;
      const iz = shape.in[2] - lastZ;
      const d = Math.sqrt(ix * ix + iy * iy + iz * iz);
      let v2 = Math.min(top2[n - 1], top2[n]);
      if (d > 1e-9) {
        const cosTurn = lastX * shape.in[0] + lastY * shape.in[1] + lastZ * shape.in[2];
        const inward = d * Math.min(ax / Math.abs(ix), ay / Math.abs(iy), az / Math.abs(iz));
        const a = Math.min(inward, acceleration[n - 1], acceleration[n]);
        v2 = Math.min(v2, cornerSpeed2(cosTurn, a, limits.junctionDeviation, Math.min(length[n - 1], L)));
      }
      entry2[n] = v2;
    }
    rolling = !rapid;
    lastX = shape.out[0];
    lastY = shape.out[1];
    lastZ = shape.out[2];
    n++;
  }
  entry2[n] = 0;
  for (let i = n - 1; i > 0; i--) {
    const v2 = entry2[i + 1] + 2 * acceleration[i] * length[i];
    if (v2 < entry2[i]) entry2[i] = v2;
  }
  for (let i = 0; i < n; i++) {
    const L = length[i];
    if (L === 0) continue;
    const a = acceleration[i];
    const reach = entry2[i] + 2 * a * L;
    if (reach < entry2[i + 1]) entry2[i + 1] = reach;
    perMove[at[i]] = trapezoid(L, entry2[i], entry2[i + 1], top2[i], a);
  }
  let seconds = 0;
  for (let k = 0; k < count; k++) seconds += perMove[k];
  return { seconds, perMove };
}

/** Seconds over a length with squared speeds at entry and exit, squared top speed, and one acceleration. */
export function trapezoid(length: number, entry2: number, exit2: number, top2: number, a: number): number {
  const peak2 = Math.min(top2, (entry2 + exit2) / 2 + a * length);
  const peak = Math.sqrt(peak2);
  const cruise = length - (2 * peak2 - entry2 - exit2) / (2 * a);
  return (2 * peak - Math.sqrt(entry2) - Math.sqrt(exit2)) / a + (cruise > 0 ? cruise / peak : 0);
}

/** What the planner needs of one move; unit vectors of the direction at its beginning and end. */
interface Shape {
  length: number;
  top: number;
  acceleration: number;
  in: [number, number, number];
  out: [number, number, number];
}

function lineShape(dx: number, dy: number, dz: number, rapid: boolean, feed: number, limits: ClockLimits, s: Shape): void {
  const L = Math.sqrt(dx * dx + dy * dy + dz * dz);
  s.length = L;
  if (!(L > 0)) return;
  const x = Math.abs(dx) / L;
  const y = Math.abs(dy) / L;
  const z = Math.abs(dz) / L;
  const most = rapid ? limits.rapid : limits.feed;
  const v = Math.min(most.x / x, most.y / y, most.z / z);
  s.top = rapid ? v : Math.min(v, feed);
  const { acceleration } = limits;
  s.acceleration = Math.min(acceleration.x / x, acceleration.y / y, acceleration.z / z);
  s.in[0] = s.out[0] = dx / L;
  s.in[1] = s.out[1] = dy / L;
  s.in[2] = s.out[2] = dz / L;
}

/** Arc or helix: the tightest limit of each axis over all directions that it passes, and the pull towards its centre. */
function arcShape(m: MoveList, k: number, px: number, py: number, pz: number, limits: ClockLimits, s: Shape): void {
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
  s.length = L;
  if (!(L > 0)) return;
  const inPlane = flat / L;
  const along = Math.abs(rise) / L;
  const turn = sweep < 0 ? -1 : 1;
  const a0 = Math.atan2(dv, du);
  const a1 = a0 + sweep;
  s.in[u] = -Math.sin(a0) * inPlane * turn;
  s.in[v] = Math.cos(a0) * inPlane * turn;
  s.in[w] = rise / L;
  s.out[u] = -Math.sin(a1) * inPlane * turn;
  s.out[v] = Math.cos(a1) * inPlane * turn;
  s.out[w] = rise / L;
  const mostU = inPlane * largestSine(a0, a1);
  const mostV = inPlane * largestSine(a0 + Math.PI / 2, a1 + Math.PI / 2);
  const feed = perAxis(limits.feed);
  const acceleration = perAxis(limits.acceleration);
  s.acceleration = Math.min(acceleration[u] / mostU, acceleration[v] / mostV, acceleration[w] / along);
  const towardsCentre = Math.sqrt(r * Math.min(acceleration[u], acceleration[v])) / inPlane;
  s.top = Math.min(m.feed[k], feed[u] / mostU, feed[v] / mostV, feed[w] / along, towardsCentre);
}

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
