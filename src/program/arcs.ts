import type { MoveList } from "../kernel/moves.ts";
import { roundScaled } from "./bytes.ts";

/**
 * Arcs between the move list and the text. An arc is written as arcs of at most half a turn, each tried on the rounded
 * numbers exactly as a reader will take them; where rounding spoils it, or where the machine takes no arcs, as chords.
 */

/** Largest difference between the radii at both ends of a written arc: 0.002 mm by NISTIR 6556 section 3.5.3, less a margin. */
export const END_RADIUS_LIMIT = 0.0018;
/** Chords stay this close to the arc; with the rounding of their ends they stay within 0.001 mm. */
export const CHORD_DEVIATION = 0.0009;
/** Beyond this radius an arc is written as chords: single-precision controllers lose its centre. */
const LARGEST_RADIUS = 1000;
/**
 * An arc whose ends are nearer than this is written as chords. A reader tells a short arc from a whole turn by the sign of a
 * small angle, which single precision or coarser decimals can turn round.
 */
export const SHORTEST_CHORD = 0.01;
/** How far the length of a rounded arc may be from the length it stands for. */
const LENGTH_LIMIT = 0.001;
/** How far an arc's end may lie from where its sweep leads before the list is refused. */
const END_LIMIT = 0.01;

/** An arc of a move list in its plane: u, v are the plane's axes (XY, ZX, YZ), w the axis along the normal. */
export interface PlaneArc {
  readonly u0: number;
  readonly v0: number;
  readonly w0: number;
  readonly u1: number;
  readonly v1: number;
  readonly w1: number;
  readonly cu: number;
  readonly cv: number;
  readonly r0: number;
  readonly r1: number;
  readonly a0: number;
  readonly sweep: number;
  readonly plane: number;
}

/** Arc k of a list that begins at (x, y, z); throws when its end is not where its sweep leads. */
export function planeArc(moves: MoveList, k: number, x: number, y: number, z: number): PlaneArc {
  const plane = moves.plane[k];
  const from = turn(plane, x, y, z);
  const to = turn(plane, moves.x[k], moves.y[k], moves.z[k]);
  const c = turn(plane, moves.cx[k], moves.cy[k], moves.cz[k]);
  const [u0, v0, w0] = from;
  const [u1, v1, w1] = to;
  const [cu, cv] = c;
  const sweep = moves.sweep[k];
  const r0 = Math.hypot(u0 - cu, v0 - cv);
  const r1 = Math.hypot(u1 - cu, v1 - cv);
  const a0 = Math.atan2(v0 - cv, u0 - cu);
  const off = Math.hypot(cu + r1 * Math.cos(a0 + sweep) - u1, cv + r1 * Math.sin(a0 + sweep) - v1);
  if (!(off <= END_LIMIT)) {
    throw new RangeError(`move ${k}: the arc's end lies ${off.toFixed(4)} mm from where its sweep of ${sweep} rad leads`);
  }
  return { u0, v0, w0, u1, v1, w1, cu, cv, r0, r1, a0, sweep, plane };
}

/** (x, y, z) as (u, v, w) of a plane: XY keeps them, ZX gives (z, x, y), YZ gives (y, z, x). */
export function turn(plane: number, x: number, y: number, z: number): [number, number, number] {
  return plane === 0 ? [x, y, z] : plane === 1 ? [z, x, y] : [y, z, x];
}

/** The way back: (u, v, w) of a plane as (x, y, z). */
export function unturn(plane: number, u: number, v: number, w: number): [number, number, number] {
  return plane === 0 ? [u, v, w] : plane === 1 ? [v, w, u] : [w, u, v];
}

/** The point at share t of an arc; the radius runs from r0 to r1, the third axis moves linearly; t = 1 is the stated end. */
export function arcPoint(a: PlaneArc, t: number): [number, number, number] {
  if (t === 1) return [a.u1, a.v1, a.w1];
  const angle = a.a0 + a.sweep * t;
  const r = a.r0 + (a.r1 - a.r0) * t;
  return [a.cu + r * Math.cos(angle), a.cv + r * Math.sin(angle), a.w0 + (a.w1 - a.w0) * t];
}

/** Number of arcs that an arc is written as: each at most half a turn, so that none ends where it began. */
export const arcPieces = (sweep: number): number => Math.max(1, Math.ceil(Math.abs(sweep) / Math.PI - 1e-9));

/** Number of equal chords that keep within CHORD_DEVIATION of an arc; none turns more than a quarter turn. */
export function chordCount(radius: number, sweep: number): number {
  const c = 1 - CHORD_DEVIATION / Math.max(radius, CHORD_DEVIATION);
  const each = Math.min(Math.PI / 2, 2 * Math.acos(c));
  return Math.max(1, Math.ceil(Math.abs(sweep) / each));
}

/** Whether an arc's radii allow it to be written as arcs at all. */
export const writableArc = (a: PlaneArc): boolean =>
  a.r0 <= LARGEST_RADIUS && a.r0 > 0 && a.r1 > 0 && Math.abs(a.r0 - a.r1) <= END_RADIUS_LIMIT;

/**
 * Whether the rounded arc from (su, sv) to (eu, ev) about (cu, cv), all in counts of 1/scale mm, is read as an arc of `sweep`:
 * its ends stand apart, its two radii agree, it goes round the right way, and its length is right to a micrometre.
 */
export function survivesRounding(
  su: number,
  sv: number,
  eu: number,
  ev: number,
  cu: number,
  cv: number,
  sweep: number,
  scale: number,
): boolean {
  if (Math.hypot(eu - su, ev - sv) < SHORTEST_CHORD * scale) return false;
  const rs = Math.hypot(su - cu, sv - cv) / scale;
  const re = Math.hypot(eu - cu, ev - cv) / scale;
  if (rs === 0 || re === 0 || Math.abs(rs - re) > END_RADIUS_LIMIT) return false;
  let read = Math.atan2(ev - cv, eu - cu) - Math.atan2(sv - cv, su - cu);
  if (sweep > 0 && read <= 0) read += 2 * Math.PI;
  if (sweep < 0 && read >= 0) read -= 2 * Math.PI;
  return Math.abs(read - sweep) * rs <= LENGTH_LIMIT;
}

/** A centre on the text's grid. */
export const roundedCentre = (a: PlaneArc, scale: number): [number, number] => [roundScaled(a.cu, scale), roundScaled(a.cv, scale)];
