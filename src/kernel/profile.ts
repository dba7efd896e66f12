/**
 * The rotational profile of a cutter below its shank: a flat of radius `flat`, then a torus of radius `corner`, then a
 * cone, up to `radius`. Heights are measured from the tip (t(0) = 0). This one shape covers flat (flat = radius, corner 0),
 * ball (flat 0, corner = radius), bull, taper, vee and drill.
 *
 *        |        |          `cone` is dz/dr of the conical part, 0 when there is none
 *         \      /           (the torus then ends vertically at `radius`).
 *          (____)            the torus runs until its slope equals the cone's
 */
export interface Profile {
  readonly radius: number;
  readonly flat: number;
  readonly corner: number;
  readonly cone: number;
}

export const flatProfile = (diameter: number): Profile => ({ radius: diameter / 2, flat: diameter / 2, corner: 0, cone: 0 });
export const ballProfile = (diameter: number): Profile => ({ radius: diameter / 2, flat: 0, corner: diameter / 2, cone: 0 });
export const bullProfile = (diameter: number, corner: number): Profile => ({
  radius: diameter / 2,
  flat: diameter / 2 - corner,
  corner,
  cone: 0,
});

/** Height of the profile above the tip at distance r from the axis; Infinity beyond the radius. */
export function profileHeight(p: Profile, r: number): number {
  if (r > p.radius) return Number.POSITIVE_INFINITY;
  if (r <= p.flat) return 0;
  if (p.cone <= 0) {
    const d = r - p.flat;
    const q = p.corner * p.corner - d * d;
    return p.corner - Math.sqrt(Math.max(q, 0));
  }
  // torus up to the angle where its slope equals the cone's: slope = tan(a), d = corner * sin(a)
  const s = p.cone / Math.sqrt(1 + p.cone * p.cone);
  const dEnd = p.corner * s;
  const d = r - p.flat;
  if (d <= dEnd) {
    const q = p.corner * p.corner - d * d;
    return p.corner - Math.sqrt(Math.max(q, 0));
  }
  const hEnd = p.corner - p.corner / Math.sqrt(1 + p.cone * p.cone);
  return hEnd + (d - dEnd) * p.cone;
}
