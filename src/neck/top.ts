import type { OrderSpec } from "../spec/types.ts";
import type { Mm } from "../units/index.ts";
import { fretDistance } from "./frets.ts";
import { isTilted, tiltOf } from "./places.ts";
import type { NeckPlaces } from "./types.ts";

/** The finished top without features: the board's surface cut by the ramp and the headstock face. */
export interface TopSurface {
  radiusAt(x: Mm): Mm;
  board(x: Mm, y: Mm): Mm;
  z(x: Mm, y: Mm): Mm;
  distance(x: Mm, y: Mm, z: Mm): Mm;
}

/**
 * Board: a circle of radius R(x) in every cross-section, crown at the board's thickness b above the glue plane:
 *     z = b - (R - sqrt(R^2 - y^2)) = b - y^2 / (R + sqrt(R^2 - y^2)),
 * less the fall-away and the built-in relief. R varies linearly with x from the nut to the board's end (the surface is then
 * ruled by no straight lines but is smooth); where one of the two is flat, the curvature 1/R varies linearly.
 * Ramp: a quarter circle of radius r, concave, tangent to the headstock face at the ramp's foot; upright above it. It runs
 * along the nut's line. An angled face leaves the glue plane behind the nut and tilts back about the nut's direction.
 */
export function topSurface(order: OrderSpec, places: Omit<NeckPlaces, "end">): TopSurface {
  const { thickness: b, radius } = order.board;
  const { rampRadius: r, drop } = order.headstock;
  const { rampFoot, rampTop, boardEnd, nutSlope } = places;
  const linear = Number.isFinite(radius.nut) && Number.isFinite(radius.end);
  const k0 = 1 / radius.nut;
  const k1 = 1 / radius.end;
  const square = 1 / Math.hypot(1, nutSlope);
  const tilted = isTilted(order);
  const sine = Math.sin(tiltOf(order));
  const cosine = Math.cos(tiltOf(order));
  const lower = lowering(order, boardEnd);
  // a little past the board's ends the radius stops varying, so that it never turns inside out
  const share = (x: Mm): number => Math.min(1.2, Math.max(-0.2, x / boardEnd));
  const radiusAt = (x: Mm): Mm => {
    if (radius.nut === radius.end) return radius.nut;
    const t = share(x);
    if (linear) return Math.max(1, radius.nut + (radius.end - radius.nut) * t);
    const k = Math.max(0, k0 + (k1 - k0) * t);
    return k === 0 ? Number.POSITIVE_INFINITY : 1 / k;
  };
  const board = (x: Mm, y: Mm): Mm => {
    const R = radiusAt(x);
    const crown = b - lower(x);
    if (R === Number.POSITIVE_INFINITY) return crown;
    return crown - (y * y) / (R + Math.sqrt(Math.max(0, R * R - y * y)));
  };
  /** Distance from the ramp's foot (or the angled face's hinge), square to the nut's line, toward the board. */
  const fromFoot = (x: Mm, y: Mm): Mm => (x - nutSlope * y - (tilted ? rampTop : rampFoot)) * square;
  const faceZ = (x: Mm, y: Mm): Mm => {
    const d = fromFoot(x, y);
    if (tilted) return d >= 0 ? Number.POSITIVE_INFINITY : (d * sine) / cosine;
    if (d <= 0) return -drop;
    if (d >= r) return Number.POSITIVE_INFINITY;
    return -drop + r - Math.sqrt(r * r - d * d);
  };
  /** Positive in the air: outside the wood the face and the ramp leave. */
  const faceDistance = (x: Mm, y: Mm, z: Mm): Mm => {
    const d = fromFoot(x, y);
    if (tilted) return d >= 0 ? Number.NEGATIVE_INFINITY : z * cosine - d * sine;
    const h = z - (r - drop);
    if (d <= 0) return z + drop;
    if (d > r) return Number.NEGATIVE_INFINITY;
    if (h >= 0) return r - d;
    return r - Math.hypot(d, h);
  };
  const step = 1e-3;
  const straight = radius.nut === radius.end && !order.board.fallAway && !order.board.relief;
  const boardDistance = (x: Mm, y: Mm, z: Mm): Mm => {
    const R = radiusAt(x);
    const gy = R === Number.POSITIVE_INFINITY ? 0 : -y / Math.sqrt(Math.max(1e-9, R * R - y * y));
    const gx = straight ? 0 : (board(x + step, y) - board(x - step, y)) / (2 * step);
    return (z - board(x, y)) / Math.sqrt(1 + gx * gx + gy * gy);
  };
  return {
    radiusAt,
    board,
    z: (x, y) => Math.min(board(x, y), faceZ(x, y)),
    // the wood is what lies under both, so outside is where either says so
    distance: (x, y, z) => Math.max(boardDistance(x, y, z), faceDistance(x, y, z)),
  };
}

/** How far the crown lies below the board's thickness at x: relief (hollow between nut and a fret) and fall-away, both parabolas. */
function lowering(order: OrderSpec, boardEnd: Mm): (x: Mm) => Mm {
  const { relief, fallAway } = order.board;
  if (!relief && !fallAway) return () => 0;
  const end = relief ? fretDistance(order.scale, relief.to) : 1;
  const start = fallAway ? fretDistance(order.scale, fallAway.from) : 0;
  return (x) => {
    let v = 0;
    if (relief && x > 0 && x < end) v += (4 * relief.depth * x * (end - x)) / (end * end);
    if (fallAway && x > start) v += fallAway.drop * ((x - start) / (boardEnd - start)) ** 2;
    return v;
  };
}
