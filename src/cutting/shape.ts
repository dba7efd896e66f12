import { ballProfile, bullProfile, flatProfile, type Profile } from "../kernel/profile.ts";
import type { Mm } from "../units/index.ts";
import type { Cutter } from "./types.ts";

/**
 * The rotational profile of a cutter. `tipAngle` is the included angle, so the flank stands tipAngle / 2 off the axis and
 * rises 1 / tan(tipAngle / 2) per mm of radius.
 *
 *   taper, vee          drill           A rounded tip (cornerRadius > 0) is tangent to its cone; with
 *    \      /         |      |          cornerRadius = tipDiameter / 2 the tip is a ball, with 0 it is a flat
 *     \    /          |      |          of tipDiameter.
 *      \__/ tip        \    /
 *                       \  /  tipAngle
 *
 * Throws a RangeError for a shape that cannot exist; `checkCutter` reports the same as a finding first.
 */
export function profileOf(cutter: Cutter): Profile {
  const { shape, diameter, cornerRadius, tipDiameter, tipAngle } = cutter;
  const wrong = whatIsWrong(cutter);
  if (wrong !== null) throw new RangeError(`cutter ${cutter.number} "${cutter.name}": ${wrong.says}`);
  const radius = diameter / 2;
  switch (shape) {
    case "flat":
      return flatProfile(diameter);
    case "ball":
      return ballProfile(diameter);
    case "bull":
      return bullProfile(diameter, cornerRadius);
    case "taper":
    case "vee":
      return { radius, flat: Math.max(0, tipDiameter / 2 - cornerRadius), corner: cornerRadius, cone: 1 / Math.tan(tipAngle / 2) };
    case "drill":
      return { radius, flat: 0, corner: 0, cone: 1 / Math.tan(tipAngle / 2) };
  }
}

/** What makes a cutter's shape impossible, or null. */
export function whatIsWrong(cutter: Cutter): { says: string; value: number; limit: number; unit: string } | null {
  const { shape, diameter, cornerRadius, tipDiameter, tipAngle, flutes } = cutter;
  const wrong = (
    says: string,
    value: number,
    limit: number,
    unit: string,
  ): { says: string; value: number; limit: number; unit: string } => ({
    says,
    value,
    limit,
    unit,
  });
  if (!(diameter > 0 && Number.isFinite(diameter))) return wrong("the diameter must be above 0", diameter, 0, "mm");
  if (!(flutes >= 1)) return wrong("there must be at least one flute", flutes, 1, "");
  if (shape === "bull" && !(cornerRadius > 0 && cornerRadius <= diameter / 2))
    return wrong("a bull-nosed cutter's corner radius must be above 0 and at most half its diameter", cornerRadius, diameter / 2, "mm");
  if (shape === "taper" || shape === "vee") {
    if (!(tipAngle > 0 && tipAngle < Math.PI))
      return wrong("the included angle must lie between 0 and 180 degrees", tipAngle, Math.PI, "rad");
    if (!(tipDiameter >= 0 && tipDiameter < diameter))
      return wrong("the tip must be narrower than the large end", tipDiameter, diameter, "mm");
    // the torus may not be wider than the large end where it meets the cone
    const flat = Math.max(0, tipDiameter / 2 - cornerRadius);
    if (!(cornerRadius >= 0 && flat + cornerRadius * Math.cos(tipAngle / 2) <= diameter / 2))
      return wrong("the tip's rounding is wider than the cutter", cornerRadius, diameter / 2, "mm");
  }
  if (shape === "drill" && !(tipAngle > 0 && tipAngle < Math.PI))
    return wrong("a drill's included angle must lie between 0 and 180 degrees", tipAngle, Math.PI, "rad");
  return null;
}

/** Height above the tip at which the profile reaches its full radius: the corner of a bull, the ball, the cone of a drill. */
export function tipHeight(p: Profile): Mm {
  if (p.cone <= 0) return p.corner;
  const s = Math.sqrt(1 + p.cone * p.cone);
  const dEnd = (p.corner * p.cone) / s;
  return p.corner - p.corner / s + Math.max(0, p.radius - p.flat - dEnd) * p.cone;
}

/** Radius of the cutter at a height above its tip: the inverse of `profileHeight`. */
export function radiusAtHeight(p: Profile, height: Mm): Mm {
  if (height <= 0) return p.flat;
  if (height >= tipHeight(p)) return p.radius;
  if (p.cone <= 0) return Math.min(p.radius, p.flat + Math.sqrt(height * (2 * p.corner - height)));
  const s = Math.sqrt(1 + p.cone * p.cone);
  const hEnd = p.corner - p.corner / s;
  if (height <= hEnd) return p.flat + Math.sqrt(height * (2 * p.corner - height));
  return Math.min(p.radius, p.flat + (p.corner * p.cone) / s + (height - hEnd) / p.cone);
}

/** Diameter at which a cutter works when it is `depth` deep: 2 sqrt(a (D - a)) for a ball (plane geometry of a cap). */
export const effectiveDiameter = (p: Profile, depth: Mm): Mm => 2 * radiusAtHeight(p, depth);

/** Length of the cutting edge that is in the wood, measured along the profile, at a depth. */
export function edgeLength(p: Profile, depth: Mm): Mm {
  if (depth <= 0) return 0;
  const full = tipHeight(p);
  const a = Math.min(depth, full);
  let along = 0;
  if (p.corner > 0) {
    const end = p.cone > 0 ? p.corner - p.corner / Math.sqrt(1 + p.cone * p.cone) : p.corner;
    const h = Math.min(a, end);
    along += p.corner * Math.acos(1 - h / p.corner);
    if (a > end) along += ((a - end) * Math.sqrt(1 + p.cone * p.cone)) / p.cone;
  } else if (p.cone > 0) along += (a * Math.sqrt(1 + p.cone * p.cone)) / p.cone;
  return along + (depth - a);
}
