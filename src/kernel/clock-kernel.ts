import type { ClockLimits } from "./clock.ts";
import { FIRST_FREE, type KernelKind, openArena } from "./wasm/load.ts";

/**
 * The planner's two inner loops, over one stretch of memory of `Float64` fields with `room + 2` places each, in the order of FIELDS. The
 * fields of a move and of its end have a place more in front, for the move before the first. In plain TypeScript here, in WebAssembly in
 * wasm/assembly/clock.ts; both do the same arithmetic in the same order, so that their results are the same to the last bit.
 */
export interface ClockKernel {
  /**
   * Straight feed moves from the places x[0..count] at feed[1..count], after n moves that are there already: fills the fields of moves
   * n .. n + count - 1; `rolling`: 0 when the first of them begins at rest. `count` is even. Gives 0, having done nothing that counts,
   * where a length is zero or not finite or a feed is not above zero.
   */
  clockLines(n: number, count: number, rolling: number): number;
  /** Speeds backward, speeds forward and times of the first n moves; the squared speed at their end is entry2[n]. Gives their seconds. */
  clockRun(n: number): number;
  /** Where the fields are, and how the machine is: one over its accelerations and top speeds in feed, and its junction deviation. */
  clockField(
    at: number,
    places: number,
    ax: number,
    ay: number,
    az: number,
    fx: number,
    fy: number,
    fz: number,
    junctionDeviation: number,
  ): void;
}

/** x y z feed: what comes in. Then of each move, the one before the first in front: direction, length, 1/a, top speed. Then 2 a L, squared speed at entry, seconds. */
export const FIELDS = ["x", "y", "z", "feed", "ux", "uy", "uz", "length", "inverse", "top", "gain", "entry2", "time"] as const;
export type ClockFields = Readonly<Record<(typeof FIELDS)[number], Float64Array>>;

export interface OpenClock {
  readonly kernel: ClockKernel;
  readonly fields: ClockFields;
  /** Sets the machine for what follows. */
  machine(limits: ClockLimits): void;
  /** Puts a move after n others, of any kind: length, 1/a, top speed, direction at its beginning and at its end; or it begins at rest. */
  enter(n: number, shape: Float64Array, rolling: boolean): void;
}

/** Fields with so many places each, and what works on them. */
export function openClock(places: number, kind: KernelKind): OpenClock {
  const bytes = FIELDS.length * places * 8;
  const arena = kind === "wasm" ? openArena(bytes) : null;
  const from = arena === null ? 0 : FIRST_FREE;
  const buffer = arena?.buffer ?? new ArrayBuffer(bytes);
  const fields = Object.fromEntries(
    FIELDS.map((name, k) => [name, new Float64Array(buffer, from + k * places * 8, places)]),
  ) as unknown as ClockFields;
  const kernel = arena?.kernels ?? plainClockKernel(fields);
  let [ax, ay, az, deviation] = [1, 1, 1, 0];
  return {
    kernel,
    fields,
    machine({ acceleration: a, feed: v, junctionDeviation }) {
      [ax, ay, az, deviation] = [1 / a.x, 1 / a.y, 1 / a.z, junctionDeviation];
      kernel.clockField(from, places, ax, ay, az, 1 / v.x, 1 / v.y, 1 / v.z, deviation);
    },
    enter(n, s, rolling) {
      const { ux, uy, uz, length, inverse, top, gain, entry2 } = fields;
      length[n + 1] = s[0];
      inverse[n + 1] = s[1];
      top[n + 1] = s[2];
      gain[n] = (s[0] + s[0]) / s[1];
      entry2[n] = rolling ? corner2(fields, n + 1, s[3], s[4], s[5], ax, ay, az, deviation) : 0;
      ux[n + 1] = s[6];
      uy[n + 1] = s[7];
      uz[n + 1] = s[8];
    },
  };
}

/** How near to straight on, or straight back, the squared sine of half the angle is taken for just that. */
export const STRAIGHT = 1e-15;

/**
 * The radius that a corner is taken with, by `s`, the sine of half the angle between the moves, and `r`, one over the chord between their
 * unit vectors, 2 cos h. With 1 - s = cos2 h / (1 + s) neither form takes a difference of nearly equal numbers.
 */
export const cornerRadius = (s: number, r: number, deviation: number, shorter: number): number =>
  s * r * Math.min(4 * deviation * (1 + s) * r, shorter);

/**
 * Seconds over a move: `gain` 2 a L, `inverse` 1/a, speeds at entry and exit and their squares, top speed. A trapezoid of speed, or a
 * triangle where the top is not reached.
 */
export function across(gain: number, inverse: number, entry2: number, entry: number, exit2: number, exit: number, top: number): number {
  const crest2 = (entry2 + exit2 + gain) * 0.5;
  const top2 = top * top;
  const peak = Math.sqrt(Math.min(crest2, top2));
  return (2 * peak - entry - exit + Math.max(crest2 - top2, 0) / top) * inverse;
}

/** See ClockKernel. */
export function plainClockKernel(f: ClockFields): ClockKernel {
  let [ax, ay, az, fx, fy, fz, deviation] = [0, 0, 0, 0, 0, 0, 0];
  return {
    clockField(_at, _places, a, b, c, d, e, g, h) {
      [ax, ay, az, fx, fy, fz, deviation] = [a, b, c, d, e, g, h];
    },
    clockLines(n, count, rolling) {
      const { x, y, z, feed, ux, uy, uz, length, inverse, top, gain, entry2 } = f;
      let ok = 1;
      for (let k = 1, i = n + 1; k <= count; k++, i++) {
        const dx = x[k] - x[k - 1];
        const dy = y[k] - y[k - 1];
        const dz = z[k] - z[k - 1];
        const L = Math.sqrt(dx * dx + dy * dy + dz * dz);
        const per = 1 / L;
        const px = dx * per;
        const py = dy * per;
        const pz = dz * per;
        const sx = Math.abs(px);
        const sy = Math.abs(py);
        const sz = Math.abs(pz);
        const inv = Math.max(sx * ax, sy * ay, sz * az);
        const most = Math.min(feed[k], 1 / Math.max(sx * fx, sy * fy, sz * fz));
        if (!(L > 0 && L < 1e9 && most > 0)) ok = 0;
        ux[i] = px;
        uy[i] = py;
        uz[i] = pz;
        length[i] = L;
        inverse[i] = inv;
        top[i] = most;
        gain[i - 1] = (L + L) / inv;
        entry2[i - 1] = corner2(f, i, px, py, pz, ax, ay, az, deviation);
      }
      if (rolling === 0) entry2[n] = 0;
      return ok;
    },
    clockRun(n) {
      const { inverse, top, gain, entry2, time } = f;
      let v2 = entry2[n];
      for (let i = n - 1; i > 0; i--) {
        v2 = Math.min(v2 + gain[i], entry2[i]);
        entry2[i] = v2;
      }
      v2 = entry2[0];
      let v = Math.sqrt(v2);
      let seconds = 0;
      for (let i = 0; i < n; i++) {
        const exit2 = Math.min(entry2[i + 1], v2 + gain[i]);
        const exit = Math.sqrt(exit2);
        const t = across(gain[i], inverse[i + 1], v2, v, exit2, exit, top[i + 1]);
        time[i] = t;
        seconds += t;
        v2 = exit2;
        v = exit;
      }
      entry2[n] = v2;
      return seconds;
    },
  };
}

/** Squared speed from the move at place i - 1 into that at place i, whose direction at its beginning is (x, y, z): no more than either's top speed. */
export function corner2(
  f: ClockFields,
  i: number,
  x: number,
  y: number,
  z: number,
  ax: number,
  ay: number,
  az: number,
  deviation: number,
): number {
  const { ux, uy, uz, length, inverse, top } = f;
  const least = Math.min(top[i - 1], top[i]);
  const cap2 = least * least;
  const ix = x - ux[i - 1];
  const iy = y - uy[i - 1];
  const iz = z - uz[i - 1];
  const d2 = ix * ix + iy * iy + iz * iz;
  const sin2 = (1 + (x * ux[i - 1] + y * uy[i - 1] + z * uz[i - 1])) * 0.5;
  if (!(d2 > 1e-18)) return cap2;
  if (!(sin2 > STRAIGHT)) return 0;
  const r = 1 / Math.sqrt(d2);
  const inward = Math.max(Math.abs(ix) * ax, Math.abs(iy) * ay, Math.abs(iz) * az) * r;
  const radius = cornerRadius(Math.sqrt(sin2), r, deviation, Math.min(length[i - 1], length[i]));
  return Math.min(cap2, radius / Math.max(inward, Math.max(inverse[i - 1], inverse[i])));
}
