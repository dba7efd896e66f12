import type { OrderSpec } from "../spec/types.ts";
import type { Mm } from "../units/index.ts";
import type { NeckPlaces } from "./types.ts";

/** The finished top without features: the board's surface cut by the ramp and the headstock face. */
export interface TopSurface {
  radiusAt(x: Mm): Mm;
  z(x: Mm, y: Mm): Mm;
  distance(x: Mm, y: Mm, z: Mm): Mm;
}

/**
 * Board: a circle of radius R(x) in every cross-section, crown at the board's thickness b above the glue plane:
 *     z = b - (R - sqrt(R^2 - y^2)) = b - y^2 / (R + sqrt(R^2 - y^2)).
 * R varies linearly with x from the nut to the board's end; where one of the two is flat, the curvature 1/R varies linearly.
 * Ramp: a quarter circle of radius r, concave, tangent to the headstock face at the ramp's foot; upright above it.
 */
export function topSurface(order: OrderSpec, places: NeckPlaces): TopSurface {
  const { thickness: b, radius } = order.board;
  const { rampRadius: r, drop } = order.headstock;
  const { rampFoot, boardEnd } = places;
  const linear = Number.isFinite(radius.nut) && Number.isFinite(radius.end);
  const k0 = 1 / radius.nut;
  const k1 = 1 / radius.end;
  // beyond the board's ends the radius stays what it is at the end, so that it never turns inside out
  const share = (x: Mm): number => Math.min(1.2, Math.max(-0.2, x / boardEnd));
  const radiusAt = (x: Mm): Mm => {
    if (radius.nut === radius.end) return radius.nut;
    const t = share(x);
    if (linear) return Math.max(1, radius.nut + (radius.end - radius.nut) * t);
    const k = Math.max(0, k0 + (k1 - k0) * t);
    return k === 0 ? Number.POSITIVE_INFINITY : 1 / k;
  };
  const boardZ = (x: Mm, y: Mm): Mm => {
    const R = radiusAt(x);
    if (R === Number.POSITIVE_INFINITY) return b;
    return b - (y * y) / (R + Math.sqrt(Math.max(0, R * R - y * y)));
  };
  const rampZ = (x: Mm): Mm => {
    const d = x - rampFoot;
    if (d <= 0) return -drop;
    if (d >= r) return Number.POSITIVE_INFINITY;
    return -drop + r - Math.sqrt(r * r - d * d);
  };
  /** Positive in the air: outside the wood the ramp leaves. */
  const rampDistance = (x: Mm, z: Mm): Mm => {
    const d = x - rampFoot;
    const h = z - (r - drop);
    if (d <= 0) return z + drop;
    if (h >= 0) return r - d;
    return r - Math.hypot(d, h);
  };
  const step = 1e-3;
  const boardDistance = (x: Mm, y: Mm, z: Mm): Mm => {
    const R = radiusAt(x);
    const gy = R === Number.POSITIVE_INFINITY ? 0 : -y / Math.sqrt(Math.max(1e-9, R * R - y * y));
    const gx = radius.nut === radius.end ? 0 : (boardZ(x + step, y) - boardZ(x - step, y)) / (2 * step);
    return (z - boardZ(x, y)) / Math.sqrt(1 + gx * gx + gy * gy);
  };
  return {
    radiusAt,
    z: (x, y) => Math.min(boardZ(x, y), rampZ(x)),
    // the wood is what lies under both, so outside is where either says so
    distance: (x, y, z) => (x > rampFoot + r ? boardDistance(x, y, z) : Math.max(boardDistance(x, y, z), rampDistance(x, z))),
  };
}
