import type { Profile } from "./profile.ts";

/** A profile with what the sweeps need of it, computed once. */
export interface Shape {
  readonly radius: number;
  readonly flat: number;
  readonly corner: number;
  readonly cone: number;
  /** Where the torus ends. */
  readonly torusEnd: number;
  /** Profile height at torusEnd. */
  readonly torusTop: number;
  readonly kind: "flat" | "ball" | "other";
}

/** Checks a profile and prepares it. Throws RangeError for a profile that is not convex or has no size. */
export function shapeOf(p: Profile): Shape {
  const { radius, flat, corner, cone } = p;
  const slack = 1e-9;
  const finite = [radius, flat, corner, cone].every((v) => Number.isFinite(v) && v >= 0);
  if (!finite || radius <= 0 || flat > radius + slack)
    throw new RangeError(`cutter profile out of range: radius ${radius}, flat ${flat}, corner ${corner}, cone ${cone}`);
  if (cone === 0 && flat + corner < radius - slack)
    throw new RangeError(`cutter profile leaves a gap: flat ${flat} + corner ${corner} is less than radius ${radius} and there is no cone`);
  if (flat >= radius - slack) return { radius, flat: radius, corner: 0, cone: 0, torusEnd: radius, torusTop: 0, kind: "flat" };
  const sine = cone > 0 ? cone / Math.sqrt(1 + cone * cone) : 1;
  const torusEnd = Math.min(radius, flat + corner * sine);
  const d = torusEnd - flat;
  const torusTop = corner - Math.sqrt(Math.max(0, corner * corner - d * d));
  const ball = flat === 0 && cone === 0 && Math.abs(corner - radius) <= slack;
  return {
    radius,
    flat,
    corner: ball ? radius : corner,
    cone,
    torusEnd: ball || cone === 0 ? radius : torusEnd,
    torusTop,
    kind: ball ? "ball" : "other",
  };
}

/** Profile height at distance r (0 <= r <= radius; larger r counts as the rim). */
export function heightAt(s: Shape, r: number): number {
  const d = r - s.flat;
  if (d <= 0) return 0;
  if (r <= s.torusEnd || s.cone === 0) {
    const q = s.corner * s.corner - d * d;
    return s.corner - Math.sqrt(Math.max(q, 0));
  }
  return s.torusTop + (r - s.torusEnd) * s.cone;
}

/**
 * A cutter moves along a straight line that climbs with slope m >= 0 (dz per unit of plan length). At a point b beside
 * the path the swept surface is z(a) + min over u of t(hypot(b, u)) - m u, where u is how far behind the point (along
 * the path) the axis stands. Returns that u >= 0; the function of u is convex, so clamping u to a segment is exact.
 * `guess` starts the search where there is no closed form (the torus of a bull).
 */
export function contactOffset(s: Shape, b: number, m: number, guess: number): number {
  if (m <= 0) return 0;
  const r2 = s.radius * s.radius - b * b;
  if (r2 <= 0) return 0;
  const rim = Math.sqrt(r2);
  if (s.kind === "flat") return rim;
  const { flat, corner, cone, torusEnd } = s;
  if (corner > 0 && b < torusEnd) {
    const c2 = corner * corner;
    if (flat === 0) {
      // sphere: u / sqrt(c2 - b2 - u2) = m
      const u = m * Math.sqrt(Math.max(c2 - b * b, 0) / (1 + m * m));
      if (u * u + b * b <= torusEnd * torusEnd) return u;
    } else {
      const hi = Math.sqrt(torusEnd * torusEnd - b * b);
      const d = torusEnd - flat;
      const q = c2 - d * d;
      const slopeEnd = q > 1e-12 * c2 ? ((d / Math.sqrt(q)) * hi) / torusEnd : Number.POSITIVE_INFINITY;
      if (slopeEnd >= m) return torusRoot(flat, corner, b, m, b < flat ? Math.sqrt(flat * flat - b * b) : 0, hi, guess);
    }
  }
  if (cone === 0) return rim;
  const start = torusEnd > b ? Math.sqrt(torusEnd * torusEnd - b * b) : 0;
  if (m >= cone) return rim;
  const u = (b * m) / Math.sqrt(cone * cone - m * m);
  return u < start ? start : Math.min(u, rim);
}

/** Root of t'(r) u / r = m on the torus between lo and hi: Newton kept inside a bracket. */
function torusRoot(flat: number, corner: number, b: number, m: number, lo: number, hi: number, guess: number): number {
  const b2 = b * b;
  const c2 = corner * corner;
  const stop = 1e-9 * corner;
  let u = guess > lo && guess < hi ? guess : 0.5 * (lo + hi);
  for (let k = 0; k < 60; k++) {
    const r = Math.sqrt(b2 + u * u);
    const d = r - flat;
    const q = c2 - d * d;
    const w = Math.sqrt(Math.max(q, 0));
    // (r - flat) u - m r w, which has the sign of the derivative and no poles
    const f = d * u - m * r * w;
    if (f > 0) hi = u;
    else lo = u;
    const dr = r > 0 ? u / r : 0;
    const slope = dr * u + d - m * (dr * w - (w > 0 ? (r * d * dr) / w : 0));
    let next = u - f / slope;
    if (!(next > lo && next < hi)) next = 0.5 * (lo + hi);
    if (Math.abs(next - u) <= stop) return next;
    u = next;
  }
  return u;
}
