import { endOf, pointOn, startOf } from "../../kernel/contour.ts";
import type { Contour, Curve, Point } from "../../kernel/curve.ts";
import { reversed } from "../../neck/outline.ts";
import type { Mm } from "../../units/index.ts";
import type { Group, Piece, PieceUse, PlanVertex } from "./types.ts";

/** Places nearer than this are the same. */
export const SAME = 1e-7;

/** Plan vertices and pieces, numbered as they are made. */
export interface Plan {
  vertex(x: Mm, y: Mm): PlanVertex;
  piece(a: PlanVertex, b: PlanVertex, curve: Curve): Piece;
  /** A curve known by its points; `at` must begin at a and end at b. */
  free(a: PlanVertex, b: PlanVertex, at: (t: number) => Point): Piece;
  line(a: PlanVertex, b: PlanVertex): Piece;
  readonly pieces: readonly Piece[];
  readonly vertices: readonly PlanVertex[];
}

export function makePlan(): Plan {
  const pieces: Piece[] = [];
  const vertices: PlanVertex[] = [];
  const add = (a: PlanVertex, b: PlanVertex, at: (t: number) => Point, curve: Curve | null): Piece => {
    const group: Group = { edges: [] };
    const piece: Piece = { id: pieces.length, a, b, at, curve, group };
    pieces.push(piece);
    return piece;
  };
  return {
    pieces,
    vertices,
    vertex: (x, y) => {
      const v: PlanVertex = { id: vertices.length, x, y, levels: [] };
      vertices.push(v);
      return v;
    },
    piece: (a, b, curve) => add(a, b, (t) => pointOn(curve, t), curve),
    free: (a, b, at) => add(a, b, at, null),
    line: (a, b) => {
      const curve: Curve = { kind: "line", a: { x: a.x, y: a.y }, b: { x: b.x, y: b.y } };
      return add(a, b, (t) => pointOn(curve, t), curve);
    },
  };
}

/** A closed hole or pocket, counter-clockwise, as pieces. */
export function ring(plan: Plan, curves: readonly Curve[]): PieceUse[] {
  const vs = curves.map((c) => plan.vertex(startOf(c).x, startOf(c).y));
  return curves.map((c, k) => ({ piece: plan.piece(vs[k], vs[(k + 1) % vs.length], c), forward: true }));
}

/** A circle as two arcs. */
export function circleCurves(x: Mm, y: Mm, radius: Mm): Curve[] {
  const centre: Point = { x, y };
  return [0, Math.PI].map((start) => ({ kind: "arc", centre, radius, start, sweep: Math.PI }));
}

/** A slot with round ends of half its width that reach exactly to a and b, counter-clockwise. */
export function obroundCurves(a: Point, b: Point, width: Mm): Curve[] {
  const r = width / 2;
  const length = Math.hypot(b.x - a.x, b.y - a.y);
  const ux = (b.x - a.x) / length;
  const uy = (b.y - a.y) / length;
  if (length <= width + SAME) return circleCurves((a.x + b.x) / 2, (a.y + b.y) / 2, r);
  const ca: Point = { x: a.x + r * ux, y: a.y + r * uy };
  const cb: Point = { x: b.x - r * ux, y: b.y - r * uy };
  const start = Math.atan2(-ux, uy);
  const right = (p: Point): Point => ({ x: p.x + r * uy, y: p.y - r * ux });
  const left = (p: Point): Point => ({ x: p.x - r * uy, y: p.y + r * ux });
  return [
    { kind: "line", a: right(ca), b: right(cb) },
    { kind: "arc", centre: cb, radius: r, start, sweep: Math.PI },
    { kind: "line", a: left(cb), b: left(ca) },
    { kind: "arc", centre: ca, radius: r, start: start + Math.PI, sweep: Math.PI },
  ];
}

export function partOf(c: Curve, t0: number, t1: number): Curve {
  if (t0 === 0 && t1 === 1) return c;
  if (c.kind === "line") return { kind: "line", a: pointOn(c, t0), b: pointOn(c, t1) };
  if (c.kind === "arc") return { ...c, start: c.start + c.sweep * t0, sweep: c.sweep * (t1 - t0) };
  // de Casteljau: the part from t0 on, then its part up to t1
  const head = (k: typeof c, t: number): typeof c => {
    const m = (a: Point, b: Point): Point => ({ x: a.x + (b.x - a.x) * t, y: a.y + (b.y - a.y) * t });
    const [p01, p12, p23] = [m(k.p0, k.p1), m(k.p1, k.p2), m(k.p2, k.p3)];
    const [p012, p123] = [m(p01, p12), m(p12, p23)];
    return { kind: "cubic", p0: k.p0, p1: p01, p2: p012, p3: m(p012, p123) };
  };
  const upTo = t1 === 1 ? c : head(c, t1);
  if (t0 === 0) return upTo;
  return reversed(head(reversed(upTo) as typeof c, 1 - t0 / t1)) as typeof c;
}

/** A place on a contour: the curve's number and the parameter on it. */
export interface Place {
  readonly curve: number;
  readonly t: number;
}

/** Where a function of the plan changes its sign along a contour, to the last bits of the parameter, by order along it. */
export function crossings(contour: Contour, f: (p: Point) => number): Place[] {
  const out: Place[] = [];
  const { curves } = contour;
  const last = curves.length - 1;
  const sign = (v: number): number => (v >= 0 ? 1 : -1);
  for (let k = 0; k <= last; k++) {
    const c = curves[k];
    const steps = c.kind === "line" ? 32 : 96;
    let t0 = 0;
    let s0 = sign(f(pointOn(c, 0)));
    for (let i = 1; i <= steps; i++) {
      const t1 = i / steps;
      const s1 = sign(f(pointOn(c, t1)));
      if (s1 !== s0) {
        let [lo, hi] = [t0, t1];
        for (let n = 0; n < 60; n++) {
          const m = (lo + hi) / 2;
          if (sign(f(pointOn(c, m))) === s0) lo = m;
          else hi = m;
        }
        out.push({ curve: k, t: (lo + hi) / 2 });
      }
      t0 = t1;
      s0 = s1;
    }
    // a joint where the sign changes between the end of one curve and the start of the next
    const after = curves[k === last ? 0 : k + 1];
    if (sign(f(startOf(after))) !== sign(f(endOf(c)))) out.push({ curve: k, t: 1 });
  }
  return out;
}

/** The outline cut at places: joints of the curves and the places given. */
export interface Rim {
  readonly vertices: readonly PlanVertex[];
  /** Piece k runs from vertex k to vertex k + 1; counter-clockwise. */
  readonly pieces: readonly Piece[];
  /** Number of the vertex at each place given. */
  readonly at: readonly number[];
  /** Pieces from vertex i to vertex j, counter-clockwise. */
  run(i: number, j: number): PieceUse[];
}

export function cutRim(plan: Plan, contour: Contour, places: readonly Place[]): Rim {
  const stops: { s: number; x: number; y: number; from: number[] }[] = [];
  const { curves } = contour;
  const place = (curve: number, t: number, from: number): void => {
    const p = pointOn(curves[curve], t);
    stops.push({ s: curve + t, x: p.x, y: p.y, from: from < 0 ? [] : [from] });
  };
  curves.forEach((c, k) => {
    const p = startOf(c);
    stops.push({ s: k, x: p.x, y: p.y, from: [] });
  });
  places.forEach((q, i) => {
    place(q.curve, q.t, i);
  });
  stops.sort((a, b) => a.s - b.s);
  // what lies at the same place is one stop, also over the contour's seam; a curve's own joint keeps its numbers
  const merged: typeof stops = [];
  for (const q of stops) {
    const before = merged[merged.length - 1];
    if (before && Math.hypot(before.x - q.x, before.y - q.y) < 1e-6) {
      before.from.push(...q.from);
      if (Number.isInteger(q.s) && !Number.isInteger(before.s)) Object.assign(before, { s: q.s, x: q.x, y: q.y });
    } else merged.push({ ...q, from: [...q.from] });
  }
  const first = merged[0];
  const end = merged[merged.length - 1];
  if (merged.length > 1 && Math.hypot(first.x - end.x, first.y - end.y) < 1e-6) {
    first.from.push(...end.from);
    merged.pop();
  }
  const vertices = merged.map((q) => plan.vertex(q.x, q.y));
  const at = places.map((_, i) => merged.findIndex((q) => q.from.includes(i)));
  const n = merged.length;
  const pieces = merged.map((q, k) => {
    const after = merged[(k + 1) % n];
    const c = Math.floor(q.s);
    const t1 = k + 1 < n && Math.floor(after.s) === c ? after.s - c : 1;
    return plan.piece(vertices[k], vertices[(k + 1) % n], partOf(curves[c], q.s - c, t1));
  });
  return {
    vertices,
    pieces,
    at,
    run: (i, j) => {
      const out: PieceUse[] = [];
      for (let k = i; k !== j; k = (k + 1) % n) out.push({ piece: pieces[k], forward: true });
      return out;
    },
  };
}
