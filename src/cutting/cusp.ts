import type { Mm } from "../units/index.ts";

/*
 * The ridge that stays between two neighbouring rows of a round-nosed cutter.
 *
 *   centre o-----s-----o            flat:    h = R - sqrt(R^2 - s^2 / 4),   s = 2 sqrt(2 R h - h^2)
 *          |\    h    /|            (plane geometry of two circles; the same in machining handbooks)
 *          | \__/^\__/ |
 *
 * On a cylinder of radius Rc the centres lie on the radius C = Rc + R (convex) or Rc - R (concave), the ridge on
 * T = Rc + h or Rc - h. The law of cosines for the triangle axis, centre, ridge gives, with the rows phi apart,
 *   sin(phi / 4) = sqrt(2 R h - h^2) / (2 sqrt(T C)),   and s = Rc phi along the surface.
 */

/** Flat: Infinity. Convex (the cutter outside the cylinder): the radius. Concave: minus the radius. */
export type SurfaceRadius = Mm;

/**
 * Row spacing along the surface for a ridge of `cusp`, for a ball of `radius`. A concave surface must be wider than the
 * ball. Throws a RangeError for a cusp that is not between 0 and the ball's radius.
 */
export function rowSpacing(radius: Mm, cusp: Mm, surface: SurfaceRadius = Infinity): Mm {
  if (!(cusp > 0 && cusp < radius)) throw new RangeError(`cusp must lie between 0 and the nose radius ${radius} mm, not ${cusp} mm`);
  const q = Math.sqrt(2 * radius * cusp - cusp * cusp);
  if (!Number.isFinite(surface)) return 2 * q;
  const side = Math.sign(surface);
  const Rc = Math.abs(surface);
  const C = Rc + side * radius;
  const T = Rc + side * cusp;
  if (!(C > 0)) throw new RangeError(`a ball of radius ${radius} mm does not reach into a hollow of radius ${Rc} mm`);
  const s = q / (2 * Math.sqrt(T * C));
  // wider than half a turn: any spacing will do
  return s >= Math.SQRT1_2 ? Math.PI * Rc : 4 * Rc * Math.asin(s);
}

/** Height of the ridge between rows `spacing` apart along the surface: the inverse of `rowSpacing`. */
export function cuspHeight(radius: Mm, spacing: Mm, surface: SurfaceRadius = Infinity): Mm {
  if (!Number.isFinite(surface)) {
    if (!(spacing >= 0 && spacing <= 2 * radius))
      throw new RangeError(`rows ${spacing} mm apart do not meet with a nose radius of ${radius} mm`);
    // radius - sqrt(radius^2 - s^2 / 4), without the cancellation
    const q = (spacing * spacing) / 4;
    return q / (radius + Math.sqrt(radius * radius - q));
  }
  const side = Math.sign(surface);
  const Rc = Math.abs(surface);
  const C = Rc + side * radius;
  if (!(C > 0)) throw new RangeError(`a ball of radius ${radius} mm does not reach into a hollow of radius ${Rc} mm`);
  const half = spacing / Rc / 2;
  const across = C * Math.sin(half);
  if (!(Math.abs(across) <= radius)) throw new RangeError(`rows ${spacing} mm apart do not meet with a nose radius of ${radius} mm`);
  const T = C * Math.cos(half) - side * Math.sqrt(radius * radius - across * across);
  return side * (T - Rc);
}

/** Bull-nosed cutter on a surface square to its axis: its flat, and the two corners' share. */
export const bullRowSpacing = (diameter: Mm, corner: Mm, cusp: Mm): Mm => diameter - 2 * corner + rowSpacing(corner, cusp);

/** On a surface tilted across the rows only the corner touches: the spacing of a ball of that radius, along the surface. */
export const tiltedBullRowSpacing = (corner: Mm, cusp: Mm): Mm => rowSpacing(corner, cusp);
