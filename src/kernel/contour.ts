import type { Mm } from "../units/index.ts";
import type { ArcCurve, Contour, CubicCurve, Curve, Point } from "./curve.ts";

/*
 * What the curves of curve.ts are at a parameter t in 0..1, how long they are, where they lie, and the polygon that
 * stands for them within a stated tolerance. Polygons are flat arrays of x, y pairs, closed without repeating the first
 * vertex, counter-clockwise when the contour is.
 */

export interface Box {
  readonly xMin: Mm;
  readonly yMin: Mm;
  readonly xMax: Mm;
  readonly yMax: Mm;
}

/** The place at t (0 at the curve's start, 1 at its end). */
export function pointOn(c: Curve, t: number): Point {
  switch (c.kind) {
    case "line":
      return { x: c.a.x + (c.b.x - c.a.x) * t, y: c.a.y + (c.b.y - c.a.y) * t };
    case "arc": {
      const a = c.start + c.sweep * t;
      return { x: c.centre.x + c.radius * Math.cos(a), y: c.centre.y + c.radius * Math.sin(a) };
    }
    case "cubic": {
      const u = 1 - t;
      const b0 = u * u * u;
      const b1 = 3 * u * u * t;
      const b2 = 3 * u * t * t;
      const b3 = t * t * t;
      return { x: b0 * c.p0.x + b1 * c.p1.x + b2 * c.p2.x + b3 * c.p3.x, y: b0 * c.p0.y + b1 * c.p1.y + b2 * c.p2.y + b3 * c.p3.y };
    }
  }
}

export const startOf = (c: Curve): Point => (c.kind === "line" ? c.a : c.kind === "cubic" ? c.p0 : pointOn(c, 0));
export const endOf = (c: Curve): Point => (c.kind === "line" ? c.b : c.kind === "cubic" ? c.p3 : pointOn(c, 1));

/** First derivative with respect to t. */
function derivative(c: Curve, t: number): Point {
  switch (c.kind) {
    case "line":
      return { x: c.b.x - c.a.x, y: c.b.y - c.a.y };
    case "arc": {
      const a = c.start + c.sweep * t;
      return { x: -c.radius * c.sweep * Math.sin(a), y: c.radius * c.sweep * Math.cos(a) };
    }
    case "cubic": {
      const u = 1 - t;
      const d = (p0: number, p1: number, p2: number, p3: number): number =>
        3 * (u * u * (p1 - p0) + 2 * u * t * (p2 - p1) + t * t * (p3 - p2));
      return { x: d(c.p0.x, c.p1.x, c.p2.x, c.p3.x), y: d(c.p0.y, c.p1.y, c.p2.y, c.p3.y) };
    }
  }
}

function secondDerivative(c: CubicCurve, t: number): Point {
  const u = 1 - t;
  return {
    x: 6 * (u * (c.p0.x - 2 * c.p1.x + c.p2.x) + t * (c.p1.x - 2 * c.p2.x + c.p3.x)),
    y: 6 * (u * (c.p0.y - 2 * c.p1.y + c.p2.y) + t * (c.p1.y - 2 * c.p2.y + c.p3.y)),
  };
}

/** Unit tangent in the direction of travel. A cubic whose handle has no length takes the limit from inside. */
export function tangentOn(c: Curve, t: number): Point {
  let d = derivative(c, t);
  let n = Math.hypot(d.x, d.y);
  if (n < 1e-12 && c.kind === "cubic") {
    const dd = secondDerivative(c, t);
    const s = t < 0.5 ? 1 : -1;
    d = { x: s * dd.x, y: s * dd.y };
    n = Math.hypot(d.x, d.y);
    if (n < 1e-12) {
      d = { x: c.p3.x - c.p0.x, y: c.p3.y - c.p0.y };
      n = Math.hypot(d.x, d.y);
    }
  }
  return n > 0 ? { x: d.x / n, y: d.y / n } : { x: 0, y: 0 };
}

/** Signed curvature, 1/mm: positive where the curve turns left. */
export function curvatureOn(c: Curve, t: number): number {
  switch (c.kind) {
    case "line":
      return 0;
    case "arc":
      return Math.sign(c.sweep) / c.radius;
    case "cubic": {
      const d = derivative(c, t);
      const dd = secondDerivative(c, t);
      const n = Math.hypot(d.x, d.y);
      return n > 0 ? (d.x * dd.y - d.y * dd.x) / (n * n * n) : 0;
    }
  }
}

// five-point Gauss-Legendre (Abramowitz and Stegun 25.4.30), symmetric about 0
const GAUSS_X: readonly number[] = [0, 0.5384693101056831, 0.906179845938664];
const GAUSS_W: readonly number[] = [0.5688888888888889, 0.47862867049936647, 0.23692688505618908];

function gaussLength(c: CubicCurve, a: number, b: number): number {
  const m = (a + b) / 2;
  const h = (b - a) / 2;
  const speed = (t: number): number => {
    const d = derivative(c, t);
    return Math.hypot(d.x, d.y);
  };
  let sum = GAUSS_W[0] * speed(m);
  for (let k = 1; k < 3; k++) sum += GAUSS_W[k] * (speed(m - h * GAUSS_X[k]) + speed(m + h * GAUSS_X[k]));
  return sum * h;
}

function cubicLength(c: CubicCurve, a: number, b: number, whole: number, depth: number): number {
  const m = (a + b) / 2;
  const left = gaussLength(c, a, m);
  const right = gaussLength(c, m, b);
  if (depth === 0 || (depth < 18 && Math.abs(left + right - whole) <= 1e-12 * (1 + whole))) return left + right;
  return cubicLength(c, a, m, left, depth - 1) + cubicLength(c, m, b, right, depth - 1);
}

/** Arc length, exact for lines and arcs, to about 1e-9 for cubics (1e-6 for one with a cusp). */
export function curveLength(c: Curve): Mm {
  if (c.kind === "line") return Math.hypot(c.b.x - c.a.x, c.b.y - c.a.y);
  if (c.kind === "arc") return c.radius * Math.abs(c.sweep);
  return cubicLength(c, 0, 1, gaussLength(c, 0, 1), 20);
}

export const contourLength = (contour: Contour): Mm => contour.curves.reduce((sum, c) => sum + curveLength(c), 0);

/** Parameters strictly inside 0..1 at which the curve's x or y is extreme. */
function extremes(c: Curve): number[] {
  const out: number[] = [];
  if (c.kind === "arc" && c.sweep !== 0) {
    const a = Math.min(c.start, c.start + c.sweep);
    const b = Math.max(c.start, c.start + c.sweep);
    for (let q = Math.ceil(a / (Math.PI / 2)); q * (Math.PI / 2) < b; q++) out.push((q * (Math.PI / 2) - c.start) / c.sweep);
  } else if (c.kind === "cubic") {
    for (const k of ["x", "y"] as const) {
      // derivative / 3 = A t^2 + B t + C
      const A = -c.p0[k] + 3 * c.p1[k] - 3 * c.p2[k] + c.p3[k];
      const B = 2 * (c.p0[k] - 2 * c.p1[k] + c.p2[k]);
      const C = c.p1[k] - c.p0[k];
      const disc = B * B - 4 * A * C;
      if (disc < 0) continue;
      const q = -(B + (B < 0 ? -1 : 1) * Math.sqrt(disc)) / 2;
      if (A !== 0) out.push(q / A);
      if (q !== 0) out.push(C / q);
    }
  }
  return out.filter((t) => t > 0 && t < 1);
}

/** Exact bounds of one curve. */
export function curveBounds(c: Curve): Box {
  let [xMin, yMin, xMax, yMax] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const p of [startOf(c), endOf(c), ...extremes(c).map((t) => pointOn(c, t))]) {
    xMin = Math.min(xMin, p.x);
    yMin = Math.min(yMin, p.y);
    xMax = Math.max(xMax, p.x);
    yMax = Math.max(yMax, p.y);
  }
  return { xMin, yMin, xMax, yMax };
}

/** Exact bounds of a contour; an empty contour has none and throws. */
export function contourBounds(contour: Contour): Box {
  if (contour.curves.length === 0) throw new Error(`contour "${contour.name}" has no curves`);
  return contour.curves.map(curveBounds).reduce((a, b) => ({
    xMin: Math.min(a.xMin, b.xMin),
    yMin: Math.min(a.yMin, b.yMin),
    xMax: Math.max(a.xMax, b.xMax),
    yMax: Math.max(a.yMax, b.yMax),
  }));
}

/** Most chord length that keeps within `error` of a circle: L = 2 sqrt(2 R e - e^2) (plane geometry, sagitta of a chord). */
export const chordFor = (radius: Mm, error: Mm): Mm => (error >= radius ? 2 * radius : 2 * Math.sqrt(2 * radius * error - error * error));

function flattenArc(c: ArcCurve, tolerance: Mm, out: number[]): void {
  // half the angle a chord may span: sin(a) = L / 2R; a quarter turn at most, so that tiny circles stay round enough to have an area
  const half = Math.min(Math.PI / 4, Math.asin(Math.min(1, chordFor(c.radius, tolerance) / (2 * c.radius))));
  const n = Math.max(1, Math.ceil(Math.abs(c.sweep) / (2 * half) - 1e-9));
  for (let k = 1; k <= n; k++) {
    const p = pointOn(c, k / n);
    out.push(p.x, p.y);
  }
}

/**
 * Halves until the control points are near the chord. A cubic lies within 3/4 of the larger control distance of its
 * chord's line (its Bernstein weights of p1 and p2 sum to at most 3/4), and within the chord's ends when the control
 * points project between them.
 */
function flattenCubic(c: CubicCurve, tolerance: Mm, out: number[], depth: number): void {
  const { p0, p1, p2, p3 } = c;
  const dx = p3.x - p0.x;
  const dy = p3.y - p0.y;
  const L = Math.hypot(dx, dy);
  let flat = false;
  if (L > 0) {
    const d1 = Math.abs((p1.x - p0.x) * dy - (p1.y - p0.y) * dx) / L;
    const d2 = Math.abs((p2.x - p0.x) * dy - (p2.y - p0.y) * dx) / L;
    const s1 = ((p1.x - p0.x) * dx + (p1.y - p0.y) * dy) / (L * L);
    const s2 = ((p2.x - p0.x) * dx + (p2.y - p0.y) * dy) / (L * L);
    flat = 0.75 * Math.max(d1, d2) <= tolerance && s1 >= 0 && s1 <= 1 && s2 >= 0 && s2 <= 1;
  } else {
    flat = Math.max(Math.hypot(p1.x - p0.x, p1.y - p0.y), Math.hypot(p2.x - p0.x, p2.y - p0.y)) * 0.75 <= tolerance;
  }
  if (flat || depth === 0) {
    out.push(p3.x, p3.y);
    return;
  }
  const mid = (a: Point, b: Point): Point => ({ x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 });
  const a = mid(p0, p1);
  const b = mid(p1, p2);
  const d = mid(p2, p3);
  const ab = mid(a, b);
  const bd = mid(b, d);
  const m = mid(ab, bd);
  flattenCubic({ kind: "cubic", p0, p1: a, p2: ab, p3: m }, tolerance, out, depth - 1);
  flattenCubic({ kind: "cubic", p0: m, p1: bd, p2: d, p3 }, tolerance, out, depth - 1);
}

/** The polyline of one curve from its start to its end, x, y pairs, nowhere farther than `tolerance` from the curve. */
export function flattenCurve(c: Curve, tolerance: Mm): Float64Array {
  if (!(tolerance > 0)) throw new Error(`chord tolerance must be above 0, not ${tolerance}`);
  const s = startOf(c);
  const out = [s.x, s.y];
  if (c.kind === "line") out.push(c.b.x, c.b.y);
  else if (c.kind === "arc") flattenArc(c, tolerance, out);
  else flattenCubic(c, tolerance, out, 24);
  return Float64Array.from(out);
}

/**
 * The closed polygon of a contour, x, y pairs, the first vertex not repeated. Vertices lie on the curves; no point of the
 * polygon is farther than `chordTolerance` from the contour nor the other way round. Joints keep their exact place.
 */
export function flatten(contour: Contour, chordTolerance: Mm): Float64Array {
  const out: number[] = [];
  for (const c of contour.curves) {
    const p = flattenCurve(c, chordTolerance);
    // the last vertex of a curve is the first of the next
    for (let k = 0; k < p.length - 2; k += 2) {
      const n = out.length;
      if (n > 0 && Math.hypot(p[k] - out[n - 2], p[k + 1] - out[n - 1]) < 1e-9) continue;
      out.push(p[k], p[k + 1]);
    }
  }
  while (out.length > 2 && Math.hypot(out[0] - out[out.length - 2], out[1] - out[out.length - 1]) < 1e-9) out.length -= 2;
  return Float64Array.from(out);
}

export interface ClosestOnCurve {
  readonly t: number;
  readonly x: Mm;
  readonly y: Mm;
  readonly distance: Mm;
}

function at(c: Curve, t: number, x: Mm, y: Mm): ClosestOnCurve {
  const p = pointOn(c, t);
  return { t, x: p.x, y: p.y, distance: Math.hypot(p.x - x, p.y - y) };
}

/** The place of a curve nearest to (x, y). Exact for lines and arcs; for cubics the best of the minima among 32 pieces, refined to 1e-12 in t. */
export function closestOnCurve(c: Curve, x: Mm, y: Mm): ClosestOnCurve {
  const clamp = (t: number): number => Math.min(1, Math.max(0, t));
  if (c.kind === "line") {
    const dx = c.b.x - c.a.x;
    const dy = c.b.y - c.a.y;
    const q = dx * dx + dy * dy;
    return at(c, q > 0 ? clamp(((x - c.a.x) * dx + (y - c.a.y) * dy) / q) : 0, x, y);
  }
  if (c.kind === "arc") {
    const ends = at(c, 0, x, y).distance <= at(c, 1, x, y).distance ? at(c, 0, x, y) : at(c, 1, x, y);
    let best = ends;
    const angle = Math.atan2(y - c.centre.y, x - c.centre.x);
    const turns = 2 * Math.PI;
    const from = Math.min(c.start, c.start + c.sweep);
    const to = Math.max(c.start, c.start + c.sweep);
    for (let k = Math.ceil((from - angle) / turns); angle + k * turns <= to; k++) {
      const hit = at(c, c.sweep === 0 ? 0 : clamp((angle + k * turns - c.start) / c.sweep), x, y);
      if (hit.distance < best.distance) best = hit;
    }
    return best;
  }
  // every sampled minimum is refined: two strands of a narrow loop may be nearly as near
  const pieces = 32;
  const samples: ClosestOnCurve[] = [];
  for (let k = 0; k <= pieces; k++) samples.push(at(c, k / pieces, x, y));
  let best = samples[0];
  for (let k = 0; k <= pieces; k++) {
    if (k > 0 && samples[k - 1].distance < samples[k].distance) continue;
    if (k < pieces && samples[k + 1].distance < samples[k].distance) continue;
    let lo = clamp((k - 1) / pieces);
    let hi = clamp((k + 1) / pieces);
    for (let step = 0; step < 100 && hi - lo > 1e-12; step++) {
      const a = lo + (hi - lo) / 3;
      const b = hi - (hi - lo) / 3;
      if (at(c, a, x, y).distance <= at(c, b, x, y).distance) hi = b;
      else lo = a;
    }
    for (const hit of [samples[k], at(c, (lo + hi) / 2, x, y)]) if (hit.distance < best.distance) best = hit;
  }
  return best;
}

export interface ClosestOnContour extends ClosestOnCurve {
  /** Index into contour.curves. */
  readonly curve: number;
}

/** The place of a contour nearest to (x, y); ties go to the earlier curve. */
export function closestOnContour(contour: Contour, x: Mm, y: Mm): ClosestOnContour {
  let best: ClosestOnContour | null = null;
  for (let k = 0; k < contour.curves.length; k++) {
    const hit = closestOnCurve(contour.curves[k], x, y);
    if (best === null || hit.distance < best.distance) best = { curve: k, ...hit };
  }
  if (best === null) throw new Error(`contour "${contour.name}" has no curves`);
  return best;
}
