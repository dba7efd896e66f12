import { rowSpacing } from "../../cutting/cusp.ts";
import { flatten } from "../../kernel/contour.ts";
import { tiltOf } from "../../neck/places.ts";
import type { Neck } from "../../neck/types.ts";
import type { Mm } from "../../units/index.ts";
import type { Path } from "../strategies/common.ts";
import type { Context } from "./context.ts";

/**
 * A plane of the neck that leans: the face and the back of a tilted headstock, the underside of a heel at the neck's angle. `z` goes on
 * beyond its edges.
 */
export interface Leaning {
  readonly z: (x: Mm, y: Mm) => Mm;
  /** Slope dx/dy of the rows over it. */
  readonly slope: number;
  /** Where the row at distance 0 crosses the centreline. */
  readonly x0: Mm;
}

/** Distance of a place of the neck's plan from the row at 0, square to the rows, toward the body. */
export const fromRow =
  (p: Pick<Leaning, "slope" | "x0">): ((x: Mm, y: Mm) => Mm) =>
  (x, y) =>
    (x - p.slope * y - p.x0) / Math.hypot(1, p.slope);

/**
 * One zigzag of a ball over a leaning plane: rows `from` to `to` (distances of the touch from the row at 0), as far apart as the cusp lets
 * them be on the slope, over the width that the outline has there and `beyond` on both sides. In every row the ball touches the plane:
 *
 *     tip = P + r n - r k,    n: the plane's normal, away from the wood
 *
 * The last row lies at `to` exactly. Program frame.
 */
export function planeRows(ctx: Context, plane: Leaning, radius: Mm, cusp: Mm, from: Mm, to: Mm, beyond: Mm): Path {
  const { frame } = ctx;
  const [nx, ny, n] = upward(ctx, plane);
  const spacing = rowSpacing(radius, cusp, Number.POSITIVE_INFINITY);
  const along = Math.hypot(1, plane.slope);
  // spacing is measured on the plane, distances seen from above
  const count = Math.max(1, Math.ceil(Math.abs(to - from) / (spacing * n) - 1e-9));
  const step = Math.abs(to - from) / count;
  const width = widthAt(ctx, plane, step);
  const out: number[] = [];
  let forward = true;
  for (let k = 0; k <= count; k++) {
    const d = from + ((to - from) * k) / count;
    const at = width(d);
    if (at === null) continue;
    const ends = [at[0] - beyond, at[1] + beyond].map((y) => {
      const x = plane.x0 + plane.slope * y + d * along;
      return [frame.x(x + radius * nx), frame.y(y + radius * ny), frame.z(plane.z(x, y)) + radius * (n - 1)] as const;
    });
    if (!forward) ends.reverse();
    for (const e of ends) out.push(...e);
    forward = !forward;
  }
  return Float64Array.from(out);
}

/** The plane's unit normal out of the wood of this side: along the neck, across it, and its part along the cutter. */
export function upward(ctx: Context, plane: Pick<Leaning, "z">): readonly [number, number, number] {
  const sign = ctx.frame.sz;
  const gx = plane.z(1, 0) - plane.z(0, 0);
  const gy = plane.z(0, 1) - plane.z(0, 0);
  const n = Math.hypot(gx, gy, 1);
  return [(-sign * gx) / n, (-sign * gy) / n, 1 / n];
}

/** The outline's least and greatest y within `half` of a row; null where it has none. */
function widthAt(ctx: Context, plane: Leaning, half: Mm): (d: Mm) => readonly [Mm, Mm] | null {
  const ring = flatten(ctx.neck.outline, 0.01);
  const m = ring.length / 2;
  const distance = fromRow(plane);
  const ds = Float64Array.from({ length: m }, (_, k) => distance(ring[2 * k], ring[2 * k + 1]));
  return (d) => {
    let lo = Number.POSITIVE_INFINITY;
    let hi = Number.NEGATIVE_INFINITY;
    for (let k = 0; k < m; k++) {
      const j = (k + 1) % m;
      const [a, b] = [ds[k] - d, ds[j] - d];
      if (Math.min(a, b) > half || Math.max(a, b) < -half) continue;
      for (const t of [0, 1, (-half - a) / (b - a), (half - a) / (b - a)]) {
        if (!(t >= 0 && t <= 1) || Math.abs(a + t * (b - a)) > half + 1e-9) continue;
        const y = ring[2 * k + 1] + t * (ring[2 * j + 1] - ring[2 * k + 1]);
        lo = Math.min(lo, y);
        hi = Math.max(hi, y);
      }
    }
    return lo <= hi ? [lo, hi] : null;
  };
}

/** The face of a tilted headstock; its rows run along the nut's line, all of each at one height. Distance 0: where it leaves the glue plane. */
export function headFacePlane(neck: Neck): Leaning {
  const { rampTop: x0, nutSlope: slope } = neck.places;
  const rise = Math.tan(tiltOf(neck.order));
  const distance = fromRow({ slope, x0 });
  return { slope, x0, z: (x, y) => distance(x, y) * rise };
}

/** The back of a tilted headstock, parallel to its face; its rows run square to the neck, like the end of the carve. */
export function headBackPlane(neck: Neck): Leaning {
  const face = headFacePlane(neck);
  const under = neck.order.headstock.thickness / Math.cos(tiltOf(neck.order));
  return { slope: 0, x0: neck.places.headBack, z: (x, y) => face.z(x, y) - under };
}

/** The underside of a heel, at the neck's angle. Distance 0: where the heel begins. */
export function heelPlane(neck: Neck): Leaning {
  const { heelFront: x0 } = neck.places;
  const { heel, board } = neck.order;
  const rise = Math.tan(neck.neckAngle);
  return { slope: 0, x0, z: (x) => board.thickness - heel.thickness + (x - x0) * rise };
}

/** Smallest distance of the outline from the row at 0: the far end of a headstock, however its rows lie. */
export function farthestHead(ctx: Context, plane: Pick<Leaning, "slope" | "x0">): Mm {
  const ring = flatten(ctx.neck.outline, 0.01);
  const distance = fromRow(plane);
  let least = Number.POSITIVE_INFINITY;
  for (let k = 0; k < ring.length; k += 2) least = Math.min(least, distance(ring[k], ring[k + 1]));
  return least;
}
