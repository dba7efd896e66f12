import { type Polygon, polygonArea, reversedPolygon } from "../../kernel/polygon.ts";

/* Convex hulls, convex parts and distances of polygons: flat arrays of x, y, counter-clockwise. */

const cross = (ax: number, ay: number, bx: number, by: number): number => ax * by - ay * bx;

export const counterClockwise = (p: Polygon): Polygon => (polygonArea(p) < 0 ? reversedPolygon(p) : p);

/** Indices of the hull's vertices, counter-clockwise, without those on its edges (Andrew's monotone chain). */
export function hullIndices(p: Polygon): number[] {
  const order = Array.from({ length: p.length / 2 }, (_, k) => k).sort((a, b) => p[2 * a] - p[2 * b] || p[2 * a + 1] - p[2 * b + 1]);
  const half = (ids: readonly number[]): number[] => {
    const out: number[] = [];
    for (const k of ids) {
      while (out.length > 1) {
        const a = out[out.length - 2];
        const b = out[out.length - 1];
        const turn = cross(p[2 * b] - p[2 * a], p[2 * b + 1] - p[2 * a + 1], p[2 * k] - p[2 * a], p[2 * k + 1] - p[2 * a + 1]);
        if (turn > 1e-12) break;
        out.pop();
      }
      out.push(k);
    }
    out.pop();
    return out;
  };
  return [...half(order), ...half([...order].reverse())];
}

export function hull(p: Polygon): Polygon {
  return Float64Array.from(hullIndices(p).flatMap((k) => [p[2 * k], p[2 * k + 1]]));
}

/** What the hull of a simple polygon has more than the polygon: its hollows, each a simple polygon with its lid on the hull. */
export function hollows(polygon: Polygon): Polygon[] {
  const p = counterClockwise(polygon);
  const n = p.length / 2;
  const ids = hullIndices(p);
  const out: Polygon[] = [];
  for (let k = 0; k < ids.length; k++) {
    const from = ids[k];
    const to = ids[(k + 1) % ids.length];
    const chain: number[] = [];
    for (let i = from; ; i = (i + 1) % n) {
      chain.push(p[2 * i], p[2 * i + 1]);
      if (i === to) break;
    }
    if (chain.length <= 4) continue;
    const pocket = Float64Array.from(chain);
    if (Math.abs(polygonArea(pocket)) > 1e-9) out.push(counterClockwise(pocket));
  }
  return out;
}

/** Cuts a simple polygon into convex ones: ears off, then triangles joined as long as they stay convex (Hertel and Mehlhorn 1983). */
export function convexParts(polygon: Polygon): Polygon[] {
  const p = counterClockwise(polygon);
  const n = p.length / 2;
  const parts = triangles(p);
  /** Which part an edge belongs to, by its two ends in order. */
  const owner = new Map<number, number[]>();
  const claim = (ids: number[]): void => {
    for (let k = 0; k < ids.length; k++) owner.set(ids[k] * n + ids[(k + 1) % ids.length], ids);
  };
  for (const t of parts) claim(t);
  const alive = new Set(parts);
  for (const t of parts)
    for (let k = 0; k < 3; k++) {
      const [u, v] = [t[k], t[(k + 1) % 3]];
      const a = owner.get(u * n + v);
      const b = owner.get(v * n + u);
      if (u > v || a === undefined || b === undefined || a === b) continue;
      const way = (ids: number[], from: number): number[] => {
        const at = ids.indexOf(from);
        return [...ids.slice(at), ...ids.slice(0, at)];
      };
      // a from v round to u, then b's vertices between u and v
      const join = [...way(a, v), ...way(b, u).slice(1, -1)];
      if (!isConvex(p, join)) continue;
      owner.delete(u * n + v);
      owner.delete(v * n + u);
      alive.delete(a);
      alive.delete(b);
      alive.add(join);
      claim(join);
    }
  return [...alive].map((ids) => Float64Array.from(ids.flatMap((k) => [p[2 * k], p[2 * k + 1]])));
}

function triangles(p: Polygon): number[][] {
  const left = Array.from({ length: p.length / 2 }, (_, k) => k);
  const out: number[][] = [];
  const turn = (a: number, b: number, c: number): number =>
    cross(p[2 * b] - p[2 * a], p[2 * b + 1] - p[2 * a + 1], p[2 * c] - p[2 * b], p[2 * c + 1] - p[2 * b + 1]);
  while (left.length > 3) {
    const n = left.length;
    let ear = -1;
    let best = -1;
    for (let k = 0; k < n; k++) {
      const a = left[(k + n - 1) % n];
      const b = left[k];
      const c = left[(k + 1) % n];
      const t = turn(a, b, c);
      if (t < -1e-12) continue;
      const holds = left.some(
        (v) => v !== a && v !== b && v !== c && turn(a, b, v) > -1e-12 && turn(b, c, v) > -1e-12 && turn(c, a, v) > -1e-12,
      );
      if (holds && t > 1e-12) continue;
      // the roundest ear first gives fewer slivers
      const d = (i: number, j: number): number => Math.hypot(p[2 * i] - p[2 * j], p[2 * i + 1] - p[2 * j + 1]);
      const round = t <= 1e-12 ? 2 : t / (d(a, b) * d(b, c) + d(a, c) ** 2);
      if (round > best) {
        best = round;
        ear = k;
      }
    }
    if (ear < 0) throw new RangeError("the polygon crosses itself");
    const tri = [left[(ear + n - 1) % n], left[ear], left[(ear + 1) % n]];
    if (turn(tri[0], tri[1], tri[2]) > 1e-12) out.push(tri);
    left.splice(ear, 1);
  }
  if (left.length === 3 && turn(left[0], left[1], left[2]) > 1e-12) out.push(left);
  return out;
}

function isConvex(p: Polygon, ids: readonly number[]): boolean {
  const n = ids.length;
  for (let k = 0; k < n; k++) {
    const a = ids[k];
    const b = ids[(k + 1) % n];
    const c = ids[(k + 2) % n];
    if (cross(p[2 * b] - p[2 * a], p[2 * b + 1] - p[2 * a + 1], p[2 * c] - p[2 * b], p[2 * c + 1] - p[2 * b + 1]) < -1e-9) return false;
  }
  return true;
}

/** Distance of two convex polygons and a pair of nearest places; distance 0 and one common place when they overlap. */
export interface Nearest {
  distance: number;
  ax: number;
  ay: number;
  bx: number;
  by: number;
}

/** Nearest places of a (moved by x, y) and b, written into `into`. Both convex. */
export function nearest(a: Polygon, x: number, y: number, b: Polygon, into: Nearest): void {
  const na = a.length;
  const nb = b.length;
  if (overlap(a, x, y, b, into)) return;
  let best = Number.POSITIVE_INFINITY;
  for (let k = 0; k < na; k += 2) {
    const px = a[k] + x;
    const py = a[k + 1] + y;
    for (let m = 0, l = nb - 2; m < nb; l = m, m += 2) {
      const ex = b[m] - b[l];
      const ey = b[m + 1] - b[l + 1];
      const q = ex * ex + ey * ey;
      let t = q > 0 ? ((px - b[l]) * ex + (py - b[l + 1]) * ey) / q : 0;
      t = t < 0 ? 0 : Math.min(t, 1);
      const qx = b[l] + t * ex;
      const qy = b[l + 1] + t * ey;
      const d = (px - qx) * (px - qx) + (py - qy) * (py - qy);
      if (d < best) {
        best = d;
        into.ax = px;
        into.ay = py;
        into.bx = qx;
        into.by = qy;
      }
    }
  }
  for (let m = 0; m < nb; m += 2) {
    const px = b[m];
    const py = b[m + 1];
    for (let k = 0, l = na - 2; k < na; l = k, k += 2) {
      const ex = a[k] - a[l];
      const ey = a[k + 1] - a[l + 1];
      const q = ex * ex + ey * ey;
      let t = q > 0 ? ((px - x - a[l]) * ex + (py - y - a[l + 1]) * ey) / q : 0;
      t = t < 0 ? 0 : Math.min(t, 1);
      const qx = a[l] + t * ex + x;
      const qy = a[l + 1] + t * ey + y;
      const d = (px - qx) * (px - qx) + (py - qy) * (py - qy);
      if (d < best) {
        best = d;
        into.ax = qx;
        into.ay = qy;
        into.bx = px;
        into.by = py;
      }
    }
  }
  into.distance = Math.sqrt(best);
}

/** Separating axes: true when no edge of either has the other wholly on its far side; then a common place is written. */
function overlap(a: Polygon, x: number, y: number, b: Polygon, into: Nearest): boolean {
  if (separates(a, x, y, b, 0, 0) || separates(b, 0, 0, a, x, y)) return false;
  // a common place: b cut down by a's edges
  let ring = Array.from(b);
  for (let k = 0, l = a.length - 2; k < a.length; l = k, k += 2) {
    const [px, py, ex, ey] = [a[l] + x, a[l + 1] + y, a[k] - a[l], a[k + 1] - a[l + 1]];
    const next: number[] = [];
    for (let m = 0; m < ring.length; m += 2) {
      const n = (m + 2) % ring.length;
      const s0 = cross(ex, ey, ring[m] - px, ring[m + 1] - py);
      const s1 = cross(ex, ey, ring[n] - px, ring[n + 1] - py);
      if (s0 >= 0) next.push(ring[m], ring[m + 1]);
      if (s0 >= 0 !== s1 >= 0) {
        const t = s0 / (s0 - s1);
        next.push(ring[m] + t * (ring[n] - ring[m]), ring[m + 1] + t * (ring[n + 1] - ring[m + 1]));
      }
    }
    if (next.length === 0) break;
    ring = next;
  }
  let sx = 0;
  let sy = 0;
  for (let m = 0; m < ring.length; m += 2) {
    sx += ring[m];
    sy += ring[m + 1];
  }
  into.distance = 0;
  into.ax = into.bx = (2 * sx) / ring.length;
  into.ay = into.by = (2 * sy) / ring.length;
  return true;
}

function separates(a: Polygon, ax: number, ay: number, b: Polygon, bx: number, by: number): boolean {
  const dx = bx - ax;
  const dy = by - ay;
  for (let k = 0, l = a.length - 2; k < a.length; l = k, k += 2) {
    const ex = a[k] - a[l];
    const ey = a[k + 1] - a[l + 1];
    let all = true;
    for (let m = 0; m < b.length; m += 2) {
      if (ex * (b[m + 1] + dy - a[l + 1]) - ey * (b[m] + dx - a[l]) > 0) {
        all = false;
        break;
      }
    }
    if (all) return true;
  }
  return false;
}
