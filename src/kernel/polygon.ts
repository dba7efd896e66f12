import type { Mm, Mm2 } from "../units/index.ts";
import type { Box } from "./contour.ts";

/*
 * Polygons as flat arrays of x, y pairs, closed without repeating the first vertex. Outer rings run counter-clockwise
 * (positive area), holes clockwise. A region is a list of such rings that do not cross.
 */
export type Polygon = Float64Array;

/** Signed area, counter-clockwise positive; summed about the first vertex so that far-off polygons keep their digits. */
export function polygonArea(p: Polygon): Mm2 {
  const n = p.length;
  if (n < 6) return 0;
  const x0 = p[0];
  const y0 = p[1];
  let sum = 0;
  for (let k = 2; k < n - 2; k += 2) sum += (p[k] - x0) * (p[k + 3] - y0) - (p[k + 2] - x0) * (p[k + 1] - y0);
  return sum / 2;
}

/** Area of a region: outer rings less holes. */
export const regionArea = (rings: readonly Polygon[]): Mm2 => rings.reduce((sum, r) => sum + polygonArea(r), 0);

export const isCounterClockwise = (p: Polygon): boolean => polygonArea(p) > 0;

export function reversedPolygon(p: Polygon): Polygon {
  const n = p.length;
  const out = new Float64Array(n);
  for (let k = 0; k < n; k += 2) {
    out[k] = p[n - 2 - k];
    out[k + 1] = p[n - 1 - k];
  }
  return out;
}

export function polygonBounds(p: Polygon): Box {
  let [xMin, yMin, xMax, yMax] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let k = 0; k < p.length; k += 2) {
    if (p[k] < xMin) xMin = p[k];
    if (p[k] > xMax) xMax = p[k];
    if (p[k + 1] < yMin) yMin = p[k + 1];
    if (p[k + 1] > yMax) yMax = p[k + 1];
  }
  return { xMin, yMin, xMax, yMax };
}

/** Length of the closed polygon. */
export function polygonLength(p: Polygon): Mm {
  const n = p.length;
  let sum = 0;
  for (let k = 0; k < n; k += 2) {
    const m = k + 2 < n ? k + 2 : 0;
    sum += Math.hypot(p[m] - p[k], p[m + 1] - p[k + 1]);
  }
  return sum;
}

/** Even-odd crossing count over all rings. A point exactly on an edge may fall either way. */
export function insideRegion(rings: readonly Polygon[], x: Mm, y: Mm): boolean {
  let inside = false;
  for (const p of rings) {
    const n = p.length;
    for (let k = 0, m = n - 2; k < n; m = k, k += 2) {
      const ya = p[m + 1];
      const yb = p[k + 1];
      if (ya > y !== yb > y && x < p[k] + ((y - yb) / (ya - yb)) * (p[m] - p[k])) inside = !inside;
    }
  }
  return inside;
}

export const insidePolygon = (p: Polygon, x: Mm, y: Mm): boolean => insideRegion([p], x, y);

/** Distance from a point to a segment. */
export function distanceToSegment(x: Mm, y: Mm, ax: Mm, ay: Mm, bx: Mm, by: Mm): Mm {
  const dx = bx - ax;
  const dy = by - ay;
  const q = dx * dx + dy * dy;
  let t = q > 0 ? ((x - ax) * dx + (y - ay) * dy) / q : 0;
  t = t < 0 ? 0 : Math.min(t, 1);
  return Math.hypot(x - ax - t * dx, y - ay - t * dy);
}

/** Distance from a point to the nearest edge of the region; positive outside, negative inside. One root for the whole of it. */
export function signedDistance(rings: readonly Polygon[], x: Mm, y: Mm): Mm {
  let best = Infinity;
  for (const p of rings) {
    const n = p.length;
    let ax = p[n - 2] - x;
    let ay = p[n - 1] - y;
    for (let k = 0; k < n; k += 2) {
      const bx = p[k] - x;
      const by = p[k + 1] - y;
      const dx = bx - ax;
      const dy = by - ay;
      const q = dx * dx + dy * dy;
      let t = q > 0 ? -(ax * dx + ay * dy) / q : 0;
      t = t < 0 ? 0 : Math.min(t, 1);
      const ex = ax + t * dx;
      const ey = ay + t * dy;
      const d = ex * ex + ey * ey;
      if (d < best) best = d;
      ax = bx;
      ay = by;
    }
  }
  const distance = Math.sqrt(best);
  return insideRegion(rings, x, y) ? -distance : distance;
}

/** A place on the closed polygon. */
export interface PlaceOnPolygon {
  readonly x: Mm;
  readonly y: Mm;
  /** Length along the polygon from vertex 0. */
  readonly s: Mm;
  /** Index of the edge: from vertex `edge` to the next. */
  readonly edge: number;
  readonly distance: Mm;
}

/** The place of a polygon's edge nearest to (x, y). */
export function closestOnPolygon(p: Polygon, x: Mm, y: Mm): PlaceOnPolygon {
  const n = p.length;
  let best: PlaceOnPolygon = { x: Number.NaN, y: Number.NaN, s: 0, edge: -1, distance: Infinity };
  let s = 0;
  for (let k = 0; k < n; k += 2) {
    const m = k + 2 < n ? k + 2 : 0;
    const dx = p[m] - p[k];
    const dy = p[m + 1] - p[k + 1];
    const L = Math.hypot(dx, dy);
    let t = L > 0 ? ((x - p[k]) * dx + (y - p[k + 1]) * dy) / (L * L) : 0;
    t = t < 0 ? 0 : Math.min(t, 1);
    const px = p[k] + t * dx;
    const py = p[k + 1] + t * dy;
    const distance = Math.hypot(px - x, py - y);
    if (distance < best.distance) best = { x: px, y: py, s: s + t * L, edge: k / 2, distance };
    s += L;
  }
  return best;
}

/** The place at length s along the closed polygon (taken modulo its length). */
export function pointAlongPolygon(p: Polygon, s: Mm): PlaceOnPolygon {
  const n = p.length;
  const total = polygonLength(p);
  let left = ((s % total) + total) % total;
  const at = left;
  for (let k = 0; k < n; k += 2) {
    const m = k + 2 < n ? k + 2 : 0;
    const L = Math.hypot(p[m] - p[k], p[m + 1] - p[k + 1]);
    if (left <= L && L > 0) {
      const t = left / L;
      return { x: p[k] + t * (p[m] - p[k]), y: p[k + 1] + t * (p[m + 1] - p[k + 1]), s: at, edge: k / 2, distance: 0 };
    }
    left -= L;
  }
  return { x: p[0], y: p[1], s: 0, edge: 0, distance: 0 };
}

/** Marks the vertices that Douglas and Peucker (1973) keep of p[from..to] (vertex indices, taken modulo the count). */
function keepBetween(p: Polygon, from: number, to: number, tolerance: Mm, keep: Uint8Array): void {
  const count = p.length / 2;
  const stack = [from, to];
  while (stack.length > 0) {
    const b = stack.pop() as number;
    const a = stack.pop() as number;
    const ia = 2 * (a % count);
    const ib = 2 * (b % count);
    let worst = -1;
    let far = tolerance;
    for (let k = a + 1; k < b; k++) {
      const i = 2 * (k % count);
      const d = distanceToSegment(p[i], p[i + 1], p[ia], p[ia + 1], p[ib], p[ib + 1]);
      if (d > far) {
        far = d;
        worst = k;
      }
    }
    if (worst < 0) continue;
    keep[worst % count] = 1;
    stack.push(a, worst, worst, b);
  }
}

/**
 * Fewer vertices, each dropped one within `tolerance` of the polygon that is left. The two vertices farthest apart from
 * the lowest-x one are always kept, so the result does not depend on where the polygon starts.
 */
export function simplifyPolygon(p: Polygon, tolerance: Mm): Polygon {
  const count = p.length / 2;
  if (count < 4) return p.slice();
  let a = 0;
  for (let k = 1; k < count; k++) if (p[2 * k] < p[2 * a] || (p[2 * k] === p[2 * a] && p[2 * k + 1] < p[2 * a + 1])) a = k;
  let b = a;
  let far = -1;
  for (let k = 0; k < count; k++) {
    const d = Math.hypot(p[2 * k] - p[2 * a], p[2 * k + 1] - p[2 * a + 1]);
    if (d > far) {
      far = d;
      b = k;
    }
  }
  const keep = new Uint8Array(count);
  keep[a] = 1;
  keep[b] = 1;
  const bAfter = b > a ? b : b + count;
  keepBetween(p, a, bAfter, tolerance, keep);
  keepBetween(p, bAfter, a + count, tolerance, keep);
  const out: number[] = [];
  for (let k = 0; k < count; k++) if (keep[k]) out.push(p[2 * k], p[2 * k + 1]);
  return Float64Array.from(out);
}

/** The closed polygon turned so that it begins at a place on its edge (a vertex is added there when there is none). */
export function startingAt(p: Polygon, place: PlaceOnPolygon): Polygon {
  const n = p.length;
  const out: number[] = [place.x, place.y];
  for (let k = 1; k <= n / 2; k++) {
    const i = (2 * (place.edge + k)) % n;
    out.push(p[i], p[i + 1]);
  }
  const same = (i: number, j: number): boolean => Math.hypot(out[i] - out[j], out[i + 1] - out[j + 1]) < 1e-9;
  if (same(0, 2)) out.splice(2, 2);
  if (same(0, out.length - 2)) out.length -= 2;
  return Float64Array.from(out);
}

/** A closed polygon of a circle, counter-clockwise, vertices on the circle, chords within `tolerance` of it. */
export function circlePolygon(x: Mm, y: Mm, radius: Mm, tolerance: Mm): Polygon {
  const half = Math.acos(Math.max(0.5, 1 - tolerance / radius));
  const n = Math.max(8, Math.ceil(Math.PI / half));
  const out = new Float64Array(2 * n);
  for (let k = 0; k < n; k++) {
    const a = (2 * Math.PI * k) / n;
    out[2 * k] = x + radius * Math.cos(a);
    out[2 * k + 1] = y + radius * Math.sin(a);
  }
  return out;
}
