import { pointOn } from "../../kernel/contour.ts";
import type { ArcCurve, CubicCurve, Curve, Point } from "../../kernel/curve.ts";

/** The points with a x + b y <= c. */
export interface HalfPlane {
  readonly a: number;
  readonly b: number;
  readonly c: number;
}

/** The part of a curve between two of its parameters, exact: of the same kind, on the same curve. */
export function partOf(c: Curve, t0: number, t1: number): Curve {
  switch (c.kind) {
    case "line":
      return { kind: "line", a: pointOn(c, t0), b: pointOn(c, t1) };
    case "arc":
      return { ...c, start: c.start + c.sweep * t0, sweep: c.sweep * (t1 - t0) };
    case "cubic":
      return firstPart(lastPart(c, t0), t0 < 1 ? (t1 - t0) / (1 - t0) : 1);
  }
}

const mix = (p: Point, q: Point, t: number): Point => ({ x: p.x + (q.x - p.x) * t, y: p.y + (q.y - p.y) * t });

/** De Casteljau: the cubic up to t, and from t on. */
function firstPart(c: CubicCurve, t: number): CubicCurve {
  const [a, b, d] = [mix(c.p0, c.p1, t), mix(c.p1, c.p2, t), mix(c.p2, c.p3, t)];
  const [ab, bd] = [mix(a, b, t), mix(b, d, t)];
  return { kind: "cubic", p0: c.p0, p1: a, p2: ab, p3: mix(ab, bd, t) };
}
function lastPart(c: CubicCurve, t: number): CubicCurve {
  const [a, b, d] = [mix(c.p0, c.p1, t), mix(c.p1, c.p2, t), mix(c.p2, c.p3, t)];
  const [ab, bd] = [mix(a, b, t), mix(b, d, t)];
  return { kind: "cubic", p0: mix(ab, bd, t), p1: bd, p2: d, p3: c.p3 };
}

/** Parameters strictly inside 0..1 at which the curve crosses the edge of the half plane, rising. */
function crossings(c: Curve, h: HalfPlane): number[] {
  const f = (p: Point): number => h.a * p.x + h.b * p.y - h.c;
  if (c.kind === "line") {
    const [u, v] = [f(c.a), f(c.b)];
    return u < 0 === v < 0 || u === v ? [] : [u / (u - v)];
  }
  if (c.kind === "arc") return arcCrossings(c, h);
  const out: number[] = [];
  const steps = 64;
  let last = f(c.p0);
  for (let k = 1; k <= steps; k++) {
    const next = f(pointOn(c, k / steps));
    if (last < 0 !== next < 0) out.push(bisect((t) => f(pointOn(c, t)), (k - 1) / steps, k / steps));
    last = next;
  }
  return out;
}

/** a cos + b sin = k has its roots at the direction of (a, b), plus and minus acos(k / |(a, b)|). */
function arcCrossings(c: ArcCurve, h: HalfPlane): number[] {
  const n = Math.hypot(h.a, h.b);
  const k = (h.c - h.a * c.centre.x - h.b * c.centre.y) / (n * c.radius);
  if (!(Math.abs(k) < 1) || c.sweep === 0) return [];
  const mid = Math.atan2(h.b, h.a);
  const out: number[] = [];
  for (const angle of [mid + Math.acos(k), mid - Math.acos(k)]) {
    // every turn of it that falls within the sweep
    const turn = (2 * Math.PI) / Math.abs(c.sweep);
    let t = (angle - c.start) / c.sweep;
    t -= Math.floor(t / turn) * turn;
    for (; t < 1; t += turn) if (t > 0) out.push(t);
  }
  return out;
}

function bisect(f: (t: number) => number, from: number, to: number): number {
  let [lo, hi] = [from, to];
  const below = f(lo) < 0;
  for (let k = 0; k < 54; k++) {
    const t = (lo + hi) / 2;
    if (f(t) < 0 === below) lo = t;
    else hi = t;
  }
  return (lo + hi) / 2;
}

/** What of a chain of curves lies in the half plane, as chains that each run on without a gap. */
export function cutChain(curves: readonly Curve[], h: HalfPlane): Curve[][] {
  const out: Curve[][] = [];
  let run: Curve[] = [];
  const end = (): void => {
    if (run.length > 0) out.push(run);
    run = [];
  };
  for (const c of curves) {
    const ts = [0, ...crossings(c, h).sort((a, b) => a - b), 1];
    for (let k = 0; k + 1 < ts.length; k++) {
      const [t0, t1] = [ts[k], ts[k + 1]];
      if (t1 - t0 < 1e-12) continue;
      const m = pointOn(c, (t0 + t1) / 2);
      if (h.a * m.x + h.b * m.y > h.c) end();
      else run.push(t0 === 0 && t1 === 1 ? c : partOf(c, t0, t1));
    }
  }
  end();
  return out;
}

const endPoint = (c: Curve): Point => pointOn(c, 1);
const startPoint = (c: Curve): Point => pointOn(c, 0);

/**
 * A closed chain cut off by a line: what stays of it, closed again along the line. For outlines that the line crosses twice,
 * as it does a neck; null when nothing stays.
 */
export function cutOff(closed: readonly Curve[], h: HalfPlane): Curve[] | null {
  const runs = cutChain(closed, h);
  if (runs.length === 0) return null;
  const near = (p: Point, q: Point): boolean => Math.hypot(p.x - q.x, p.y - q.y) < 1e-9;
  // the chain's own beginning may lie inside: its last run then goes on in the first
  if (runs.length > 1 && near(endPoint(runs[runs.length - 1].at(-1)!), startPoint(runs[0][0]))) runs[0] = [...runs.pop()!, ...runs[0]];
  const out: Curve[] = [];
  runs.forEach((run, k) => {
    out.push(...run);
    const [a, b] = [endPoint(run.at(-1)!), startPoint(runs[(k + 1) % runs.length][0])];
    if (!near(a, b)) out.push({ kind: "line", a, b });
  });
  return out;
}

/** Cubics for an arc: pieces of at most a sixteenth of a turn, handles 4/3 tan(piece/4) long; off by less than 1e-7 of the radius. */
function cubicsOf(c: ArcCurve): CubicCurve[] {
  const n = Math.max(1, Math.ceil(Math.abs(c.sweep) / (Math.PI / 8)));
  const step = c.sweep / n;
  const k = (4 / 3) * Math.tan(step / 4) * c.radius;
  return Array.from({ length: n }, (_, i): CubicCurve => {
    const [a, b] = [c.start + i * step, c.start + (i + 1) * step];
    const p = (angle: number): Point => ({ x: c.centre.x + c.radius * Math.cos(angle), y: c.centre.y + c.radius * Math.sin(angle) });
    const [p0, p3] = [p(a), p(b)];
    return {
      kind: "cubic",
      p0,
      p1: { x: p0.x - k * Math.sin(a), y: p0.y + k * Math.cos(a) },
      p2: { x: p3.x + k * Math.sin(b), y: p3.y - k * Math.cos(b) },
      p3,
    };
  });
}

/** The curves under an affine map of the plane: lines and cubics stay what they are, arcs become cubics. */
export function mapped(curves: readonly Curve[], map: (p: Point) => Point): Curve[] {
  return curves.flatMap((c): Curve[] => {
    if (c.kind === "line") return [{ kind: "line", a: map(c.a), b: map(c.b) }];
    const cubics = c.kind === "arc" ? cubicsOf(c) : [c];
    return cubics.map((k) => ({ kind: "cubic", p0: map(k.p0), p1: map(k.p1), p2: map(k.p2), p3: map(k.p3) }));
  });
}

/** A whole circle, counter-clockwise from its rightmost point. */
export const circleCurve = (x: number, y: number, radius: number): ArcCurve => ({
  kind: "arc",
  centre: { x, y },
  radius,
  start: 0,
  sweep: 2 * Math.PI,
});
