import type { Curve, Point } from "../../kernel/curve.ts";
import type { Mm } from "../../units/index.ts";
import type { Piece } from "./types.ts";

/*
 * NURBS to cubics. The spline is cut into Bezier pieces by inserting knots (Boehm 1980; Piegl and Tiller, "The NURBS Book",
 * algorithm A5.1), in homogeneous coordinates, which is exact. Plain pieces of degree 1 to 3 then are lines or cubics without
 * error; rational ones and higher degrees are halved until a cubic with the same ends and end derivatives stays within SPLINE_TOLERANCE.
 */

type Spline = Extract<Piece, { kind: "spline" }>;
/** x w, y w, w. */
type Homogeneous = readonly [number, number, number];

/** Cubics that stand for rational splines, or such of degree 4 and more, stay this close. */
export const SPLINE_TOLERANCE: Mm = 1e-5;
const MAX_HALVINGS = 14;

/** What is wrong with the spline; null when it can be read. */
export function splineFault(s: Spline): string | null {
  const { degree: p, knots, points, weights } = s;
  const n = points.length;
  if (!Number.isInteger(p) || p < 1 || p > 11) return `degree ${p} instead of 1 to 11`;
  if (n < p + 1) return `${n} control points, too few for degree ${p}`;
  if (n > 20_000) return `${n} control points, more than 20 000`;
  if (knots.length !== n + p + 1) return `${knots.length} knots instead of ${n + p + 1}`;
  for (let k = 0; k < knots.length; k++) {
    if (!Number.isFinite(knots[k])) return `knot ${k + 1} is no finite number`;
    if (k > 0 && knots[k] < knots[k - 1]) return `knot ${k + 1} is smaller than the one before`;
  }
  if (!(knots[n] > knots[p])) return "knots without length";
  // a knot that stands p+1 times inside breaks the curve in two
  for (let k = p + 1; k + p < n; k++) if (knots[k] === knots[k + p]) return `a knot inside that stands more than ${p} times`;
  if (weights !== null) {
    if (weights.length !== n) return `${weights.length} weights for ${n} control points`;
    for (const w of weights) if (!(w > 0) || !Number.isFinite(w)) return `weight ${w}`;
  }
  return null;
}

/** Bezier pieces of a spline without faults: (degree + 1) control points each. */
export function splinePieces(s: Spline): Homogeneous[][] {
  const p = s.degree;
  const n = s.points.length;
  const from = s.knots[p];
  const to = s.knots[n];
  const out: Homogeneous[][] = [];
  // each span on its own by blossoming: control point j of the piece over [a, b] is the blossom at (a ... a, b ... b), j times b
  const control: Homogeneous[] = s.points.map((q, k) => {
    const w = s.weights === null ? 1 : s.weights[k];
    return [q.x * w, q.y * w, w];
  });
  for (let span = p; span < n; span++) {
    const a = s.knots[span];
    const b = s.knots[span + 1];
    if (!(b > a) || a < from || b > to) continue;
    const piece: Homogeneous[] = [];
    for (let j = 0; j <= p; j++) piece.push(blossom(control, s.knots, p, span, a, b, j));
    out.push(piece);
  }
  // neighbours meet in one point, to the last bit
  for (let k = 1; k < out.length; k++) out[k][0] = out[k - 1][p];
  return out;
}

/** The polar form of the span's polynomial at (p - j) times a and j times b (Ramshaw 1987; de Boor's recursion with one argument per level). */
function blossom(
  control: readonly Homogeneous[],
  knots: readonly number[],
  p: number,
  span: number,
  a: number,
  b: number,
  j: number,
): Homogeneous {
  const d: [number, number, number][] = [];
  for (let k = 0; k <= p; k++) d.push([...control[span - p + k]]);
  for (let r = 1; r <= p; r++) {
    const t = r <= p - j ? a : b;
    for (let k = p; k >= r; k--) {
      const lo = knots[span - p + k];
      const hi = knots[span + 1 + k - r];
      const f = (t - lo) / (hi - lo);
      for (let c = 0; c < 3; c++) d[k][c] = (1 - f) * d[k - 1][c] + f * d[k][c];
    }
  }
  return d[p];
}

/** The spline as at most `most` lines and cubics; null when it would need more, or none come close enough. Ask splineFault first. */
export function splineCurves(s: Spline, most: number): Curve[] | null {
  const out: Curve[] = [];
  const rational = s.weights?.some((w) => w !== s.weights?.[0]) ?? false;
  for (const piece of splinePieces(s)) if (!bezierCurves(piece, rational, out, MAX_HALVINGS) || out.length > most) return null;
  return out;
}

const flat = (h: Homogeneous): Point => ({ x: h[0] / h[2], y: h[1] / h[2] });

/** False when no cubics come within SPLINE_TOLERANCE of the piece. */
function bezierCurves(b: readonly Homogeneous[], rational: boolean, out: Curve[], halvings: number): boolean {
  const p = b.length - 1;
  const p0 = flat(b[0]);
  const p3 = flat(b[p]);
  if (p === 1) out.push({ kind: "line", a: p0, b: p3 });
  else if (!rational && p === 3) out.push({ kind: "cubic", p0, p1: flat(b[1]), p2: flat(b[2]), p3 });
  else if (!rational && p === 2) out.push(raised(p0, flat(b[1]), p3));
  else {
    // ends' derivatives of a rational Bezier: p (w1 / w0) (P1 - P0) (Piegl and Tiller, equation 4.9)
    const q1 = flat(b[1]);
    const q2 = flat(b[p - 1]);
    const f = (p * b[1][2]) / b[0][2] / 3;
    const g = (p * b[p - 1][2]) / b[p][2] / 3;
    const c: Curve = {
      kind: "cubic",
      p0,
      p1: { x: p0.x + f * (q1.x - p0.x), y: p0.y + f * (q1.y - p0.y) },
      p2: { x: p3.x - g * (p3.x - q2.x), y: p3.y - g * (p3.y - q2.y) },
      p3,
    };
    if (parted(b, c) <= SPLINE_TOLERANCE / 2) out.push(c);
    else {
      if (halvings === 0) return false;
      const [left, right] = halves(b);
      return bezierCurves(left, rational, out, halvings - 1) && bezierCurves(right, rational, out, halvings - 1);
    }
  }
  return true;
}

/** A parabola with control points a, b, c as the same cubic. */
export const raised = (a: Point, b: Point, c: Point): Extract<Curve, { kind: "cubic" }> => ({
  kind: "cubic",
  p0: a,
  p1: { x: a.x + (2 / 3) * (b.x - a.x), y: a.y + (2 / 3) * (b.y - a.y) },
  p2: { x: c.x + (2 / 3) * (b.x - c.x), y: c.y + (2 / 3) * (b.y - c.y) },
  p3: c,
});

function halves(b: readonly Homogeneous[]): [Homogeneous[], Homogeneous[]] {
  const row = b.map((h): [number, number, number] => [...h]);
  const left: Homogeneous[] = [[...row[0]]];
  const right: Homogeneous[] = [[...row[row.length - 1]]];
  for (let r = row.length - 1; r > 0; r--) {
    for (let k = 0; k < r; k++) for (let c = 0; c < 3; c++) row[k][c] = (row[k][c] + row[k + 1][c]) / 2;
    left.push([...row[0]]);
    right.push([...row[r - 1]]);
  }
  return [left, right.reverse()];
}

/** Widest distance between the two at eleven equal parameters: no less than the distance of the curves there. */
function parted(b: readonly Homogeneous[], c: Extract<Curve, { kind: "cubic" }>): number {
  let worst = 0;
  for (let k = 1; k < 12; k++) {
    const t = k / 12;
    const row = b.map((h): [number, number, number] => [...h]);
    for (let r = row.length - 1; r > 0; r--)
      for (let i = 0; i < r; i++) for (let d = 0; d < 3; d++) row[i][d] = (1 - t) * row[i][d] + t * row[i + 1][d];
    const u = 1 - t;
    const [b0, b1, b2, b3] = [u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t];
    const x = b0 * c.p0.x + b1 * c.p1.x + b2 * c.p2.x + b3 * c.p3.x;
    const y = b0 * c.p0.y + b1 * c.p1.y + b2 * c.p2.y + b3 * c.p3.y;
    worst = Math.max(worst, Math.hypot(x - row[0][0] / row[0][2], y - row[0][1] / row[0][2]));
  }
  return worst;
}
