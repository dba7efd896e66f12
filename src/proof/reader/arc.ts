import { Refusal } from "./refusal.ts";
import { R } from "./rules.ts";

const TINY = 1e-12;

/** Signed turn from one angle to another: in (0, 2 pi] for counter-clockwise, [-2 pi, 0) for clockwise; equal ends are a full circle. */
export function sweepBetween(from: number, to: number, counterClockwise: boolean): number {
  const full = 2 * Math.PI;
  let d = to - from;
  if (counterClockwise) {
    while (d <= TINY) d += full;
    while (d > full + TINY) d -= full;
  } else {
    while (d >= -TINY) d -= full;
    while (d < -full - TINY) d += full;
  }
  return d;
}

/** Centre format (NISTIR 6556, 3.5.3.2): offsets from the start; the radii at both ends agree within `tolerance`, mm. */
export function sweepAbout(
  u0: number,
  v0: number,
  u1: number,
  v1: number,
  cu: number,
  cv: number,
  ccw: boolean,
  tolerance: number,
  at: number,
  to: number,
): number {
  const r0 = Math.hypot(u0 - cu, v0 - cv);
  const r1 = Math.hypot(u1 - cu, v1 - cv);
  if (r0 < TINY || r1 < TINY) {
    throw new Refusal(R.arcRadius, at, to, "This arc has no radius: an end lies on its centre.", "Check the centre offsets I, J, K.");
  }
  if (Math.abs(r0 - r1) > tolerance) {
    throw new Refusal(
      R.arcRadius,
      at,
      to,
      `The arc's ends lie ${r0.toFixed(4)} mm and ${r1.toFixed(4)} mm from its centre; more than ${tolerance.toFixed(5)} mm apart.`,
      "Check the end point and the centre offsets, which count from the start; write more decimals.",
    );
  }
  if (u0 === u1 && v0 === v1) return ccw ? 2 * Math.PI : -2 * Math.PI;
  return sweepBetween(Math.atan2(v0 - cv, u0 - cu), Math.atan2(v1 - cv, u1 - cu), ccw);
}

/** Radius format (3.5.3.1): the centre of the arc of at most half a turn for R > 0, of more than half a turn for R < 0. */
export function centreFromRadius(
  u0: number,
  v0: number,
  u1: number,
  v1: number,
  radius: number,
  ccw: boolean,
  at: number,
  to: number,
): readonly [number, number] {
  const du = u1 - u0;
  const dv = v1 - v0;
  const chord = Math.hypot(du, dv);
  if (chord < TINY) {
    throw new Refusal(
      R.arcShape,
      at,
      to,
      "An arc given by its radius ends where it begins.",
      "Give the centre with I, J, K for a full circle.",
    );
  }
  const r = Math.abs(radius);
  const half = chord / 2;
  if (half > r + 1e-9) {
    throw new Refusal(
      R.arcShape,
      at,
      to,
      `The ends lie ${chord.toFixed(4)} mm apart, more than the diameter ${(2 * r).toFixed(4)} mm.`,
      "Check R and the end point.",
    );
  }
  const height = Math.sqrt(Math.max(0, r * r - half * half));
  // to the left of the chord for a short counter-clockwise arc
  const side = ccw === radius > 0 ? 1 : -1;
  return [(u0 + u1) / 2 - (side * height * dv) / chord, (v0 + v1) / 2 + (side * height * du) / chord];
}
