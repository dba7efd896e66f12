import { flatten, pointOn } from "../kernel/contour.ts";
import type { Contour, CubicCurve, Curve, Point } from "../kernel/curve.ts";
import { ovalCurves } from "../spec/drawing/oval.ts";
import type { Mm, Rad } from "../units/index.ts";

/** The part of a closed counter-clockwise contour that lies at x below a line, from its treble-side to its bass-side crossing. */
export interface HeadCut {
  readonly curves: readonly Curve[];
  readonly from: Point;
  readonly to: Point;
}

/** Cuts the contour at x; null when it does not cross that line exactly twice. */
export function cutAt(contour: Contour, x: Mm): HeadCut | null {
  const pieces: Curve[] = [];
  for (const c of contour.curves) pieces.push(...splitAt(c, x));
  // a piece lies on one side: its middle tells
  const below = pieces.map((c) => pointOn(c, 0.5).x < x);
  const n = pieces.length;
  const starts = below.flatMap((b, i) => (b && !below[(i + n - 1) % n] ? [i] : []));
  if (starts.length !== 1) return null;
  const curves: Curve[] = [];
  for (let k = 0; k < n && below[(starts[0] + k) % n]; k++) curves.push(pieces[(starts[0] + k) % n]);
  if (curves.length === n) return null;
  return { curves, from: pointOn(curves[0], 0), to: pointOn(curves[curves.length - 1], 1) };
}

/**
 * A drawing of a tilted headstock's face, true to size, as it is seen from above: beyond the line at `hinge` all is nearer by the
 * tilt's cosine, as the tuners' places are. Arcs become cubics within 1e-6 mm.
 */
export function seenFromAbove(drawing: Contour, hinge: Mm, tilt: Rad): Contour {
  if (tilt === 0) return drawing;
  const nearer = Math.cos(tilt);
  const p = (q: Point): Point => ({ x: hinge + (q.x - hinge) * nearer, y: q.y });
  const curves = drawing.curves
    .flatMap((c) => splitAt(c, hinge))
    .flatMap((c): Curve[] => {
      if (pointOn(c, 0.5).x >= hinge) return [c];
      if (c.kind === "line") return [{ kind: "line", a: p(c.a), b: p(c.b) }];
      if (c.kind === "cubic") return [{ kind: "cubic", p0: p(c.p0), p1: p(c.p1), p2: p(c.p2), p3: p(c.p3) }];
      return ovalCurves({
        kind: "oval",
        c: p(c.centre),
        u: { x: c.radius * nearer, y: 0 },
        v: { x: 0, y: c.radius },
        start: c.start,
        sweep: c.sweep,
      });
    });
  return { name: drawing.name, curves };
}

/** Where, and how far, the contour's part below x turns back along x before or after its tip; null when it does not. */
export function reachesBack(contour: Contour, x: Mm): { readonly at: Point; readonly by: Mm } | null {
  const poly = flatten(contour, 0.005);
  const n = poly.length / 2;
  const inside = (k: number): boolean => poly[2 * (k % n)] < x;
  let first = 0;
  while (first < n && !(inside(first) && !inside(first + n - 1))) first++;
  const run: Point[] = [];
  for (let k = first; k < first + n && inside(k); k++) run.push({ x: poly[2 * (k % n)], y: poly[2 * (k % n) + 1] });
  const tip = run.reduce((best, p, k) => (p.x < run[best].x ? k : best), 0);
  let worst: { at: Point; by: Mm } | null = null;
  for (const side of [run.slice(0, tip + 1), run.slice(tip).reverse()]) {
    let lowest = Number.POSITIVE_INFINITY;
    for (const p of side) {
      if (p.x - lowest > (worst?.by ?? 0.02)) worst = { at: p, by: p.x - lowest };
      lowest = Math.min(lowest, p.x);
    }
  }
  return worst;
}

/** Lowest and highest y of the curves at x; null when none reaches it. Curves are walked in short monotone steps. */
export function spanAt(curves: readonly Curve[], x: Mm): readonly [Mm, Mm] | null {
  let lo = Number.POSITIVE_INFINITY;
  let hi = Number.NEGATIVE_INFINITY;
  for (const c of curves)
    for (const t of crossings(c, x)) {
      const { y } = pointOn(c, t);
      lo = Math.min(lo, y);
      hi = Math.max(hi, y);
    }
  return lo <= hi ? [lo, hi] : null;
}

const STEPS = 48;

/** Parameters at which a curve crosses x (its ends included), by bisection in short steps. */
function crossings(c: Curve, x: Mm): number[] {
  const n = c.kind === "line" ? 1 : STEPS;
  const out: number[] = [];
  let a = pointOn(c, 0).x - x;
  if (a === 0) out.push(0);
  for (let k = 1; k <= n; k++) {
    const b = pointOn(c, k / n).x - x;
    if (b === 0) out.push(k / n);
    else if (a * b < 0) {
      let lo = (k - 1) / n;
      let hi = k / n;
      for (let i = 0; i < 50; i++) {
        const m = (lo + hi) / 2;
        if ((pointOn(c, m).x - x) * a > 0) lo = m;
        else hi = m;
      }
      out.push((lo + hi) / 2);
    }
    a = b;
  }
  return out;
}

function splitAt(c: Curve, x: Mm): Curve[] {
  const ts = crossings(c, x).filter((t) => t > 1e-12 && t < 1 - 1e-12);
  const out: Curve[] = [];
  let from = 0;
  for (const t of [...ts, 1]) {
    out.push(part(c, from, t));
    from = t;
  }
  return out;
}

/** The part of a curve between two parameters. */
export function part(c: Curve, t0: number, t1: number): Curve {
  if (t0 === 0 && t1 === 1) return c;
  if (c.kind === "line") return { kind: "line", a: pointOn(c, t0), b: pointOn(c, t1) };
  if (c.kind === "arc") return { ...c, start: c.start + c.sweep * t0, sweep: c.sweep * (t1 - t0) };
  return upTo(from(c, t0), (t1 - t0) / (1 - t0));
}

const mix = (a: Point, b: Point, t: number): Point => ({ x: a.x + (b.x - a.x) * t, y: a.y + (b.y - a.y) * t });

/** de Casteljau: the part of a cubic before t. */
function upTo(c: CubicCurve, t: number): CubicCurve {
  const a = mix(c.p0, c.p1, t);
  const b = mix(c.p1, c.p2, t);
  const d = mix(c.p2, c.p3, t);
  const e = mix(a, b, t);
  const f = mix(b, d, t);
  return { kind: "cubic", p0: c.p0, p1: a, p2: e, p3: mix(e, f, t) };
}

function from(c: CubicCurve, t: number): CubicCurve {
  if (t === 0) return c;
  const r = upTo({ kind: "cubic", p0: c.p3, p1: c.p2, p2: c.p1, p3: c.p0 }, 1 - t);
  return { kind: "cubic", p0: r.p3, p1: r.p2, p2: r.p1, p3: r.p0 };
}
