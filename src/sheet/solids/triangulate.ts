import Constrainautor from "@kninnug/constrainautor";
import Delaunator from "delaunator";
import type { XYZ } from "./types.ts";

/** A surface over a plane domain, to be approached by triangles. */
export interface Domain {
  readonly at: (u: number, v: number) => XYZ;
  /** Stretch of u against v so that both need about as many triangles a millimetre. */
  readonly stretch: number;
  readonly tolerance: number;
}

export interface Triangulation {
  /** u, v of the vertices added inside, numbered after those given. */
  readonly added: readonly number[];
  /** Counter-clockwise in the domain. */
  readonly triangles: readonly number[];
  /** Largest distance found from the surface, where a domain was given. */
  readonly deviation: number;
}

const MOST_VERTICES = 400_000;

/**
 * Constrained Delaunay triangles of a region bounded by loops (vertex numbers into `points`: u, v pairs). Every edge of a loop
 * is an edge of the triangles and no vertex is put on one. With a domain, vertices are added inside until the surface at the
 * middles of edges and triangles is within tolerance of them.
 */
export function triangulate(points: readonly number[], loops: readonly (readonly number[])[], domain: Domain | null): Triangulation {
  const n = points.length / 2;
  const su = domain?.stretch ?? 1;
  const { triangles } = constrained(points, loops, su);
  if (!domain) return { added: [], triangles, deviation: 0 };
  const refined = refine(points, triangles, domain);
  return { added: refined.uv.slice(2 * n), triangles: refined.triangles, deviation: refined.deviation };
}

/** Inside triangles of the loops. */
function constrained(points: readonly number[], loops: readonly (readonly number[])[], su: number): { triangles: number[] } {
  const n = points.length / 2;
  const coords = new Float64Array(2 * n + 8);
  let [xMin, yMin, xMax, yMax] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let k = 0; k < n; k++) {
    const x = points[2 * k] * su;
    const y = points[2 * k + 1];
    coords[2 * k] = x;
    coords[2 * k + 1] = y;
    if (x < xMin) xMin = x;
    if (x > xMax) xMax = x;
    if (y < yMin) yMin = y;
    if (y > yMax) yMax = y;
  }
  // four corners far out, so that every loop lies inside the hull
  const w = Math.max(xMax - xMin, yMax - yMin) + 1;
  coords.set([xMin - w, yMin - w, xMax + w, yMin - w, xMax + w, yMax + w, xMin - w, yMax + w], 2 * n);
  const del = new Delaunator(coords);
  const con = new Constrainautor(del);
  const walls = new Set<number>();
  for (const loop of loops)
    for (let k = 0; k < loop.length; k++) {
      const a = loop[k];
      const b = loop[(k + 1) % loop.length];
      con.constrainOne(a, b);
      walls.add(a < b ? a * n + b : b * n + a);
    }
  con.delaunify(true);
  const tri = del.triangles;
  const half = del.halfedges;
  const count = tri.length / 3;
  // in or out by the number of loop edges crossed from the far corners
  const side = new Int8Array(count).fill(-1);
  const stack: number[] = [];
  for (let t = 0; t < count; t++)
    if (tri[3 * t] >= n || tri[3 * t + 1] >= n || tri[3 * t + 2] >= n) {
      side[t] = 0;
      stack.push(t);
    }
  while (stack.length > 0) {
    const t = stack.pop() as number;
    for (let k = 0; k < 3; k++) {
      const e = 3 * t + k;
      const f = half[e];
      if (f < 0) continue;
      const other = Math.floor(f / 3);
      if (side[other] >= 0) continue;
      const a = tri[e];
      const b = tri[3 * t + ((k + 1) % 3)];
      const wall = a < n && b < n && walls.has(a < b ? a * n + b : b * n + a);
      side[other] = wall ? 1 - side[t] : side[t];
      stack.push(other);
    }
  }
  const triangles: number[] = [];
  for (let t = 0; t < count; t++) {
    if (side[t] !== 1) continue;
    const [a, b, c] = [tri[3 * t], tri[3 * t + 1], tri[3 * t + 2]];
    const area =
      (coords[2 * b] - coords[2 * a]) * (coords[2 * c + 1] - coords[2 * a + 1]) -
      (coords[2 * b + 1] - coords[2 * a + 1]) * (coords[2 * c] - coords[2 * a]);
    if (area > 0) triangles.push(a, b, c);
    else triangles.push(a, c, b);
  }
  return { triangles };
}

function twinsOf(tri: readonly number[], n: number): number[] {
  const twin = new Array<number>(tri.length).fill(-1);
  const open = new Map<number, number>();
  for (let e = 0; e < tri.length; e++) {
    const a = tri[e];
    const b = tri[e % 3 === 2 ? e - 2 : e + 1];
    const back = open.get(b * n + a);
    if (back === undefined) open.set(a * n + b, e);
    else {
      twin[e] = back;
      twin[back] = e;
      open.delete(b * n + a);
    }
  }
  return twin;
}

const next = (e: number): number => (e % 3 === 2 ? e - 2 : e + 1);
const prev = (e: number): number => (e % 3 === 0 ? e + 2 : e - 1);

/** Splits edges and flips them back to Delaunay in the stretched domain until the surface is met. */
function refine(
  points: readonly number[],
  triangles: readonly number[],
  domain: Domain,
): { uv: number[]; triangles: number[]; deviation: number } {
  const { at, stretch, tolerance } = domain;
  const uv = [...points];
  const xyz: XYZ[] = [];
  for (let k = 0; k < uv.length; k += 2) xyz.push(at(uv[k], uv[k + 1]));
  const tri = [...triangles];
  const twin = twinsOf(tri, points.length / 2);
  const queue: number[] = [];
  const queued: boolean[] = [];
  const push = (t: number): void => {
    if (queued[t]) return;
    queued[t] = true;
    queue.push(t);
  };
  const link = (e: number, f: number): void => {
    twin[e] = f;
    if (f >= 0) twin[f] = e;
  };

  /** Twice the area of a, b, c in the stretched domain. */
  const cross = (a: number, b: number, c: number): number =>
    stretch * ((uv[2 * b] - uv[2 * a]) * (uv[2 * c + 1] - uv[2 * a + 1]) - (uv[2 * b + 1] - uv[2 * a + 1]) * (uv[2 * c] - uv[2 * a]));
  /** d lies inside the circle through a, b, c (counter-clockwise), by more than rounding. */
  const inCircle = (a: number, b: number, c: number, d: number): boolean => {
    const dx = (p: number): number => stretch * (uv[2 * p] - uv[2 * d]);
    const dy = (p: number): number => uv[2 * p + 1] - uv[2 * d + 1];
    const [ax, ay, bx, by, cx, cy] = [dx(a), dy(a), dx(b), dy(b), dx(c), dy(c)];
    const [aa, bb, cc] = [ax * ax + ay * ay, bx * bx + by * by, cx * cx + cy * cy];
    const det = ax * (by * cc - bb * cy) - ay * (bx * cc - bb * cx) + aa * (bx * cy - by * cx);
    return det > 1e-10 * Math.max(aa, bb, cc) ** 2;
  };
  const legalize = (start: number[]): void => {
    const stack = start;
    for (let guard = 0; stack.length > 0 && guard < 10_000; guard++) {
      const e = stack.pop() as number;
      const f = twin[e];
      if (f < 0) continue;
      const [a, b, c] = [tri[e], tri[next(e)], tri[prev(e)]];
      const d = tri[prev(f)];
      const floor = 1e-12 * (Math.abs(cross(a, b, c)) + Math.abs(cross(b, a, d)));
      if (cross(a, d, c) <= floor || cross(d, b, c) <= floor || !inCircle(a, b, c, d)) continue;
      // a-b becomes d-c
      const [e1, e2, f1, f2] = [next(e), prev(e), next(f), prev(f)];
      const [w1, w2, x1, x2] = [twin[e1], twin[e2], twin[f1], twin[f2]];
      // e triangle: d c a ; f triangle: c d b
      tri[e] = d;
      tri[e1] = c;
      tri[e2] = a;
      tri[f] = c;
      tri[f1] = d;
      tri[f2] = b;
      link(e, f);
      link(e1, w2);
      link(e2, x1);
      link(f1, x2);
      link(f2, w1);
      push(Math.floor(e / 3));
      push(Math.floor(f / 3));
      stack.push(e1, e2, f1, f2);
    }
  };
  const addVertex = (u: number, v: number): number => {
    uv.push(u, v);
    xyz.push(at(u, v));
    return xyz.length - 1;
  };
  /** The four triangles about the middle of edge e. */
  const splitEdge = (e: number): void => {
    const f = twin[e];
    const [a, b, c, d] = [tri[e], tri[next(e)], tri[prev(e)], tri[prev(f)]];
    const m = addVertex((uv[2 * a] + uv[2 * b]) / 2, (uv[2 * a + 1] + uv[2 * b + 1]) / 2);
    const [e1, e2, f1, f2] = [next(e), prev(e), next(f), prev(f)];
    const [wbc, wca, wad, wdb] = [twin[e1], twin[e2], twin[f1], twin[f2]];
    const g = tri.length;
    // e: a m c ; f: m a d ; g: m b c ; g+3: b m d
    tri[e] = a;
    tri[e1] = m;
    tri[e2] = c;
    tri[f] = m;
    tri[f1] = a;
    tri[f2] = d;
    tri.push(m, b, c, b, m, d);
    twin.push(-1, -1, -1, -1, -1, -1);
    link(e, f);
    link(e1, g + 2);
    link(e2, wca);
    link(f1, wad);
    link(f2, g + 4);
    link(g, g + 3);
    link(g + 1, wbc);
    link(g + 5, wdb);
    for (const t of [e, f, g, g + 3]) push(Math.floor(t / 3));
    legalize([e2, f1, g + 1, g + 5]);
  };
  const splitMiddle = (t: number): void => {
    const [a, b, c] = [tri[3 * t], tri[3 * t + 1], tri[3 * t + 2]];
    const m = addVertex((uv[2 * a] + uv[2 * b] + uv[2 * c]) / 3, (uv[2 * a + 1] + uv[2 * b + 1] + uv[2 * c + 1]) / 3);
    const [wbc, wca] = [twin[3 * t + 1], twin[3 * t + 2]];
    const g = tri.length;
    tri[3 * t + 2] = m; // a b m
    tri.push(b, c, m, c, a, m);
    twin.push(-1, -1, -1, -1, -1, -1);
    link(3 * t + 1, g + 2);
    link(3 * t + 2, g + 4);
    link(g, wbc);
    link(g + 1, g + 5);
    link(g + 3, wca);
    for (const k of [t, g / 3, g / 3 + 1]) push(k);
    legalize([3 * t, g, g + 3]);
  };

  const errors = [0, 0, 0, 0];
  const measure = (t: number): number => {
    const [a, b, c] = [tri[3 * t], tri[3 * t + 1], tri[3 * t + 2]];
    const [A, B, C] = [xyz[a], xyz[b], xyz[c]];
    const [ux, uy, uz] = [B[0] - A[0], B[1] - A[1], B[2] - A[2]];
    const [vx, vy, vz] = [C[0] - A[0], C[1] - A[1], C[2] - A[2]];
    let [nx, ny, nz] = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
    const L = Math.hypot(nx, ny, nz);
    if (L < 1e-18) return 0;
    nx /= L;
    ny /= L;
    nz /= L;
    const off = (p: XYZ): number => Math.abs((p[0] - A[0]) * nx + (p[1] - A[1]) * ny + (p[2] - A[2]) * nz);
    const mid = (p: number, q: number): number => off(at((uv[2 * p] + uv[2 * q]) / 2, (uv[2 * p + 1] + uv[2 * q + 1]) / 2));
    errors[0] = mid(a, b);
    errors[1] = mid(b, c);
    errors[2] = mid(c, a);
    errors[3] = off(at((uv[2 * a] + uv[2 * b] + uv[2 * c]) / 3, (uv[2 * a + 1] + uv[2 * b + 1] + uv[2 * c + 1]) / 3));
    return Math.max(errors[0], errors[1], errors[2], errors[3]);
  };
  const length2 = (e: number): number => {
    const [a, b] = [tri[e], tri[next(e)]];
    return (stretch * (uv[2 * a] - uv[2 * b])) ** 2 + (uv[2 * a + 1] - uv[2 * b + 1]) ** 2;
  };
  // begin with Delaunay everywhere, then look at every triangle
  for (let t = 0; t < tri.length / 3; t++) push(t);
  for (let k = 0; k < queue.length; k++) {
    const t = queue[k];
    queued[t] = false;
    if (measure(t) <= tolerance) continue;
    if (xyz.length > MOST_VERTICES) break;
    // the longest edge that may be split, in the stretched domain
    let best = -1;
    for (let j = 0; j < 3; j++) if (twin[3 * t + j] >= 0 && (best < 0 || length2(3 * t + j) > length2(best))) best = 3 * t + j;
    let longest = 3 * t;
    for (let j = 1; j < 3; j++) if (length2(3 * t + j) > length2(longest)) longest = 3 * t + j;
    if (best >= 0 && length2(best) > 0.3 * length2(longest)) splitEdge(best);
    else splitMiddle(t);
  }
  let deviation = 0;
  for (let t = 0; t < tri.length / 3; t++) deviation = Math.max(deviation, measure(t));
  return { uv, triangles: tri, deviation };
}
