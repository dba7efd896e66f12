import { NoBody } from "./body.ts";
import type { XYZ } from "./types.ts";

/*
 * Piecewise cubics that meet with one tangent, as clamped B-splines of degree 3 with double inner knots: each piece is the
 * Hermite cubic of places and derivatives at its ends, so a piece too long is halved without touching the others.
 */

/** Control points row by row (u outer, v inner), and the knots, of which every inner one counts twice and the ends four times. */
export interface SplineCurve {
  readonly points: readonly XYZ[];
  readonly knots: readonly number[];
}

export interface SplineSurface {
  readonly points: readonly (readonly XYZ[])[];
  readonly uKnots: readonly number[];
  readonly vKnots: readonly number[];
}

const MOST_KNOTS = 400;

const tooRough = ([x, y]: XYZ): NoBody =>
  new NoBody("STEP", { x, y }, `A curve or surface here needs more than ${MOST_KNOTS} pieces to be followed closely enough.`);

const mix = (terms: readonly (readonly [number, XYZ])[]): XYZ => {
  let [x, y, z] = [0, 0, 0];
  for (const [f, p] of terms) {
    x += f * p[0];
    y += f * p[1];
    z += f * p[2];
  }
  return [x, y, z];
};
const apart = (p: XYZ, q: XYZ): number => Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]);

/** Derivative of a function of one parameter at t, from inside lo..hi alone. */
function derivative(at: (t: number) => XYZ, t: number, lo: number, hi: number): XYZ {
  const h = (hi - lo) * 1e-5;
  const s = 1 / (2 * h);
  if (t - h < lo)
    return mix([
      [-3 * s, at(t)],
      [4 * s, at(t + h)],
      [-s, at(t + 2 * h)],
    ]);
  if (t + h > hi)
    return mix([
      [3 * s, at(t)],
      [-4 * s, at(t - h)],
      [s, at(t - 2 * h)],
    ]);
  return mix([
    [s, at(t + h)],
    [-s, at(t - h)],
  ]);
}

/** Weights of the Hermite cubic at fraction f of a piece of length w: place, derivative, place, derivative. */
const weights = (f: number, w: number): readonly [number, number, number, number] => {
  const g = 1 - f;
  return [g * g * (1 + 2 * f), w * f * g * g, f * f * (3 - 2 * f), -w * f * f * g];
};

/** Each control point of a row of knots: the knot it stands by, and how far beside it the derivative carries it. */
const slots = (knots: readonly number[]): { readonly k: number; readonly d: number }[] =>
  knots.flatMap((t, k) => {
    const before = k > 0 ? (t - knots[k - 1]) / 3 : 0;
    const after = k < knots.length - 1 ? (knots[k + 1] - t) / 3 : 0;
    return [
      { k, d: -before },
      { k, d: after },
    ];
  });

/** A curve from t = 0 to 1 within the tolerance. */
export function splineCurve(at: (t: number) => XYZ, tolerance: number): SplineCurve {
  const nodes = new Map<number, readonly [XYZ, XYZ]>();
  const node = (t: number): readonly [XYZ, XYZ] => {
    const known = nodes.get(t);
    if (known) return known;
    const made = [at(t), derivative(at, t, 0, 1)] as const;
    nodes.set(t, made);
    return made;
  };
  let knots = [0, 0.25, 0.5, 0.75, 1];
  for (;;) {
    const next = [0];
    for (let k = 1; k < knots.length; k++) {
      const [a, b] = [knots[k - 1], knots[k]];
      const [[pa, da], [pb, db]] = [node(a), node(b)];
      const bad = [0.2, 0.5, 0.8].some((f) => {
        const [w0, w1, w2, w3] = weights(f, b - a);
        return (
          apart(
            mix([
              [w0, pa],
              [w1, da],
              [w2, pb],
              [w3, db],
            ]),
            at(a + f * (b - a)),
          ) > tolerance
        );
      });
      if (bad && b - a > 1e-4) next.push((a + b) / 2);
      next.push(b);
    }
    if (next.length === knots.length) break;
    if (next.length > MOST_KNOTS) throw tooRough(at(0.5));
    knots = next;
  }
  const points = slots(knots).map(({ k, d }) => {
    const [p, q] = node(knots[k]);
    return mix([
      [1, p],
      [d, q],
    ]);
  });
  return { points, knots };
}

/** A surface over a rectangle within the tolerance; `vStops` are always knots. */
export function splineSurface(
  at: (u: number, v: number) => XYZ,
  box: readonly [number, number, number, number],
  vStops: readonly number[],
  tolerance: number,
): SplineSurface {
  const [u0, u1, v0, v1] = box;
  let us = [0, 0.25, 0.5, 0.75, 1].map((f) => u0 + f * (u1 - u0));
  let vs = [...new Set([v0, (v0 + v1) / 2, v1, ...vStops.filter((v) => v > v0 && v < v1)])].sort((a, b) => a - b);
  const du = (u: number, v: number): XYZ => derivative((t) => at(t, v), u, u0, u1);
  const dv = (u: number, v: number): XYZ => derivative((t) => at(u, t), v, v0, v1);
  /** A row of knots with every piece halved that strays along lines of the other parameter. */
  const halved = (ts: readonly number[], others: readonly number[], f: (t: number, o: number) => XYZ, lo: number, hi: number): number[] => {
    const out = [ts[0]];
    for (let k = 1; k < ts.length; k++) {
      const [a, b] = [ts[k - 1], ts[k]];
      const bad = others.some((o) => {
        const g = (t: number): XYZ => f(t, o);
        const [pa, pb, da, db] = [g(a), g(b), derivative(g, a, lo, hi), derivative(g, b, lo, hi)];
        return [0.2, 0.5, 0.8].some((q) => {
          const [w0, w1, w2, w3] = weights(q, b - a);
          const p = mix([
            [w0, pa],
            [w1, da],
            [w2, pb],
            [w3, db],
          ]);
          return apart(p, g(a + q * (b - a))) > tolerance / 2;
        });
      });
      if (bad && (b - a) / (hi - lo) > 1e-4) out.push((a + b) / 2);
      out.push(b);
    }
    return out;
  };
  const between = (lo: number, hi: number): number[] => Array.from({ length: 9 }, (_, k) => lo + ((hi - lo) * k) / 8);
  const [uLines, vLines] = [between(u0, u1), between(v0, v1)];
  for (let n = 0; n < 14; n++) {
    const nextU = halved(us, vLines, at, u0, u1);
    const nextV = halved(vs, uLines, (t, o) => at(o, t), v0, v1);
    if (nextU.length === us.length && nextV.length === vs.length) break;
    if (nextU.length > MOST_KNOTS || nextV.length > MOST_KNOTS) throw tooRough(at((u0 + u1) / 2, (v0 + v1) / 2));
    us = nextU;
    vs = nextV;
  }
  const nodes = us.map((u) => vs.map((v) => [at(u, v), du(u, v), dv(u, v), derivative((t) => dv(t, v), u, u0, u1)] as const));
  const points = slots(us).map(({ k: i, d: a }) =>
    slots(vs).map(({ k: j, d: b }) => {
      const [p, pu, pv, puv] = nodes[i][j];
      return mix([
        [1, p],
        [a, pu],
        [b, pv],
        [a * b, puv],
      ]);
    }),
  );
  return { points, uKnots: us, vKnots: vs };
}
