import type { Mm, MmPerSecond, MmPerSecond2, Seconds } from "../units/index.ts";
import { MoveKind, type MoveList } from "./moves.ts";

interface PerAxis<T> {
  readonly x: T;
  readonly y: T;
  readonly z: T;
}

/** What a machine can do, axis by axis. */
export interface ClockLimits {
  readonly feed: PerAxis<MmPerSecond>;
  readonly rapid: PerAxis<MmPerSecond>;
  readonly acceleration: PerAxis<MmPerSecond2>;
  /**
   * How far the path may be imagined to cut a corner: the corner is taken at the speed at which an arc that touches both moves and
   * stays within this distance of the corner can be driven. 0: a stop at every corner.
   */
  readonly junctionDeviation: Mm;
}

/** The largest speed (or acceleration) along a direction that no axis' own limit forbids. */
function along(limit: PerAxis<number>, ux: number, uy: number, uz: number): number {
  let v = Number.POSITIVE_INFINITY;
  if (ux !== 0) v = Math.min(v, limit.x / Math.abs(ux));
  if (uy !== 0) v = Math.min(v, limit.y / Math.abs(uy));
  if (uz !== 0) v = Math.min(v, limit.z / Math.abs(uz));
  return v;
}

/**
 * Time each move takes, in seconds: even acceleration, moves joined at corners as fast as `junctionDeviation` allows, arcs no
 * faster than their centripetal acceleration allows. Rapids and dwells begin and end at rest. First from the end backward,
 * then forward, the speeds at the joints are lowered until every move can reach them (v1^2 = v0^2 + 2 a s).
 *
 * Corner with angle t between the directions, half angle h = t/2 of the wedge (sin h = sqrt((1 + cos turn)/2) with `turn` the change of
 * direction): an arc of radius r touching both sides stays d = r (1/sin h - 1) from the corner; v^2 = a r.
 */
export function moveSeconds(moves: MoveList, limits: ClockLimits): Float64Array {
  const { count, kind, x, y, z, feed, cx, cy, cz, sweep, plane } = moves;
  const length = new Float64Array(count);
  const speed = new Float64Array(count);
  const accel = new Float64Array(count);
  /** Square of the speed at which move k may be entered; one more for the end, at rest. */
  const entry2 = new Float64Array(count + 1);
  const seconds = new Float64Array(count);
  let [px, py, pz] = moves.start;
  // direction in which the move before ended; zero: at rest
  let dx = 0;
  let dy = 0;
  let dz = 0;
  for (let k = 0; k < count; k++) {
    const what = kind[k];
    if (what === MoveKind.dwell) {
      dx = dy = dz = 0;
      continue;
    }
    let sx = x[k] - px;
    let sy = y[k] - py;
    let sz = z[k] - pz;
    let ex = sx;
    let ey = sy;
    let ez = sz;
    let len = Math.sqrt(sx * sx + sy * sy + sz * sz);
    let curveLimit = Number.POSITIVE_INFINITY;
    if (what === MoveKind.arc) {
      const p = plane[k];
      // in-plane components of start and end about the centre, and the rise along the plane's normal
      const [u0, v0, u1, v1, rise] =
        p === 0
          ? [px - cx[k], py - cy[k], x[k] - cx[k], y[k] - cy[k], sz]
          : p === 1
            ? [pz - cz[k], px - cx[k], z[k] - cz[k], x[k] - cx[k], sy]
            : [py - cy[k], pz - cz[k], y[k] - cy[k], z[k] - cz[k], sx];
      const r = Math.sqrt(u0 * u0 + v0 * v0);
      const arc = Math.abs(sweep[k]) * r;
      len = Math.sqrt(arc * arc + rise * rise);
      const turn = Math.sign(sweep[k]);
      const flat = len > 0 ? arc / len : 0;
      const up = len > 0 ? rise / len : 0;
      const r1 = Math.sqrt(u1 * u1 + v1 * v1) || 1;
      const start = [(-turn * v0 * flat) / (r || 1), (turn * u0 * flat) / (r || 1), up];
      const end = [(-turn * v1 * flat) / r1, (turn * u1 * flat) / r1, up];
      const [i, j, n] = p === 0 ? [0, 1, 2] : p === 1 ? [1, 2, 0] : [2, 0, 1];
      sx = start[i];
      sy = start[j];
      sz = start[n];
      ex = end[i];
      ey = end[j];
      ez = end[n];
      const { acceleration: a } = limits;
      const across = p === 0 ? Math.min(a.x, a.y) : p === 1 ? Math.min(a.z, a.x) : Math.min(a.y, a.z);
      // along a helix only the part in the plane turns
      if (flat > 0) curveLimit = Math.sqrt(across * r) / flat;
    } else if (len > 0) {
      sx /= len;
      sy /= len;
      sz /= len;
      ex = sx;
      ey = sy;
      ez = sz;
    }
    px = x[k];
    py = y[k];
    pz = z[k];
    length[k] = len;
    if (len === 0) {
      entry2[k] = Number.POSITIVE_INFINITY;
      continue;
    }
    const rapid = what === MoveKind.rapid;
    let v = along(rapid ? limits.rapid : limits.feed, sx, sy, sz);
    if (what === MoveKind.arc) v = Math.min(v, along(limits.feed, ex, ey, ez), curveLimit);
    if (!rapid && feed[k] > 0) v = Math.min(v, feed[k]);
    speed[k] = v;
    accel[k] = along(limits.acceleration, sx, sy, sz);
    if (rapid) {
      entry2[k] = 0;
      dx = dy = dz = 0;
      continue;
    }
    const cos = dx * sx + dy * sy + dz * sz;
    if (dx === 0 && dy === 0 && dz === 0) entry2[k] = 0;
    else {
      const sin = Math.sqrt(Math.max(0, (1 + cos) / 2));
      // straight on: no corner
      entry2[k] = sin > 1 - 1e-9 ? Number.POSITIVE_INFINITY : (accel[k] * limits.junctionDeviation * sin) / (1 - sin);
    }
    dx = ex;
    dy = ey;
    dz = ez;
  }
  joinSpeeds(kind, length, speed, accel, entry2, count);
  for (let k = 0; k < count; k++) {
    seconds[k] =
      kind[k] === MoveKind.dwell ? feed[k] : length[k] > 0 ? trapezoid(length[k], speed[k], accel[k], entry2[k], entry2[k + 1]) : 0;
  }
  return seconds;
}

/** Lowers the squares of the speeds at the joints until no move has to change its speed faster than it can. */
function joinSpeeds(
  kind: Uint8Array,
  length: Float64Array,
  speed: Float64Array,
  accel: Float64Array,
  entry2: Float64Array,
  count: number,
): void {
  entry2[count] = 0;
  for (let k = count - 1; k >= 0; k--) {
    if (kind[k] === MoveKind.dwell) {
      entry2[k] = 0;
      continue;
    }
    if (length[k] === 0) {
      entry2[k] = Math.min(entry2[k], entry2[k + 1]);
      continue;
    }
    // a rapid ends at rest
    if (kind[k] === MoveKind.rapid) entry2[k + 1] = 0;
    entry2[k + 1] = Math.min(entry2[k + 1], speed[k] * speed[k]);
    entry2[k] = Math.min(entry2[k], speed[k] * speed[k], entry2[k + 1] + 2 * accel[k] * length[k]);
  }
  entry2[0] = 0;
  for (let k = 0; k < count; k++) {
    const reach = length[k] === 0 ? entry2[k] : entry2[k] + 2 * accel[k] * length[k];
    entry2[k + 1] = Math.min(entry2[k + 1], reach);
  }
}

/** Time over a length with even acceleration from speed v0 to at most v and down to v1, squares given. */
function trapezoid(s: number, v: number, a: number, v0sq: number, v1sq: number): number {
  const v0 = Math.sqrt(v0sq);
  const v1 = Math.sqrt(v1sq);
  const peak2 = Math.min(v * v, (2 * a * s + v0sq + v1sq) / 2);
  const peak = Math.sqrt(peak2);
  const ramps = (2 * peak2 - v0sq - v1sq) / (2 * a);
  return (peak - v0 + peak - v1) / a + (peak > 0 ? Math.max(0, s - ramps) / peak : 0);
}

/** Time of the whole list, in seconds; see `moveSeconds`. */
export function clock(moves: MoveList, limits: ClockLimits): Seconds {
  let sum = 0;
  for (const t of moveSeconds(moves, limits)) sum += t;
  return sum;
}
