import { endOf, startOf } from "../../kernel/contour.ts";
import type { Curve, Point } from "../../kernel/curve.ts";
import type { Mm } from "../../units/index.ts";
import { mapPiece, numbersOf, stretch } from "./affine.ts";
import { ovalCurves } from "./oval.ts";
import { LIMIT, MAX_CURVES, NUMBER, refuse } from "./rules.ts";
import { splineCurves } from "./spline.ts";
import type { Piece, Stroke } from "./types.ts";

/** Curves shorter than this are nothing. */
const NOTHING: Mm = 1e-9;
/** Farthest that a curve may lie from the origin. */
const FAR: Mm = 1e6;

/** Curves in mm, and which of their ends the file joins. End 2k is curve k's start, 2k + 1 its end. */
export interface Loose {
  readonly curves: readonly Curve[];
  /** Place in the file, per curve. */
  readonly from: readonly string[];
  /** Pairs of ends that meet because the file says so, flat. */
  readonly joined: readonly number[];
  readonly nothings: number;
}

/** The strokes as curves, `mm` millimetres to the unit. Throws a Refusal. */
export function looseCurves(strokes: readonly Stroke[], mm: number): Loose {
  const curves: Curve[] = [];
  const from: string[] = [];
  const joined: number[] = [];
  const scale = stretch(mm, mm);
  let nothings = 0;
  let first = -1;
  let last = -1;
  for (const s of strokes) {
    if (!s.follows) {
      first = -1;
      last = -1;
    }
    const piece = mapPiece(scale, s.piece);
    for (const v of numbersOf(piece)) {
      if (Math.abs(v) <= FAR) continue;
      refuse(
        NUMBER,
        s.from,
        `A coordinate of ${v.toPrecision(6)} mm is no part of a headstock.`,
        "Check the unit, or draw the outline near the origin.",
        {
          value: v,
          limit: FAR,
          unit: "mm",
        },
      );
    }
    for (const c of curvesOf(piece, s.from)) {
      if (roughLength(c) < NOTHING) {
        nothings++;
        continue;
      }
      const k = 2 * curves.length;
      curves.push(c);
      from.push(s.from);
      if (last >= 0) joined.push(last, k);
      if (first < 0) first = k;
      last = k + 1;
    }
    if (s.closes && first >= 0) joined.push(last, first);
    if (curves.length > 2 * MAX_CURVES)
      refuse(LIMIT, s.from, "The drawing becomes more curves than can be joined.", "Save the outline alone.", { limit: 2 * MAX_CURVES });
  }
  return { curves, from, joined, nothings };
}

/** One spline may become this many curves. */
const MOST_OF_SPLINE = 50_000;

function curvesOf(p: Piece, from: string): readonly Curve[] {
  switch (p.kind) {
    case "line":
    case "cubic":
      return [p];
    case "oval":
      return ovalCurves(p);
    case "spline":
      return (
        splineCurves(p, MOST_OF_SPLINE) ??
        refuse(LIMIT, from, `This spline needs more than ${MOST_OF_SPLINE} curves, or weights too far apart.`, "Draw it again, simpler.", {
          limit: MOST_OF_SPLINE,
        })
      );
  }
}

const apart = (a: Point, b: Point): number => Math.hypot(a.x - b.x, a.y - b.y);

/** Length of the control polygon: no less than the curve's. */
export function roughLength(c: Curve): Mm {
  if (c.kind === "line") return apart(c.a, c.b);
  if (c.kind === "arc") return c.radius * Math.abs(c.sweep);
  return apart(c.p0, c.p1) + apart(c.p1, c.p2) + apart(c.p2, c.p3);
}

export function reversed(c: Curve): Curve {
  if (c.kind === "line") return { kind: "line", a: c.b, b: c.a };
  if (c.kind === "arc") return { ...c, start: c.start + c.sweep, sweep: -c.sweep };
  return { kind: "cubic", p0: c.p3, p1: c.p2, p2: c.p1, p3: c.p0 };
}

/** The curve turned, stretched and moved as one so that it runs from `a` to `b`; its own ends must lie apart. */
export function between(c: Curve, a: Point, b: Point): Curve {
  if (c.kind === "line") return { kind: "line", a, b };
  const p = startOf(c);
  const q = endOf(c);
  const [ux, uy] = [q.x - p.x, q.y - p.y];
  const [wx, wy] = [b.x - a.x, b.y - a.y];
  const d = ux * ux + uy * uy;
  // complex quotient w / u
  const re = (wx * ux + wy * uy) / d;
  const im = (wy * ux - wx * uy) / d;
  const map = (o: Point): Point => ({ x: a.x + re * (o.x - p.x) - im * (o.y - p.y), y: a.y + im * (o.x - p.x) + re * (o.y - p.y) });
  if (c.kind === "cubic") return { kind: "cubic", p0: a, p1: map(c.p1), p2: map(c.p2), p3: b };
  return { kind: "arc", centre: map(c.centre), radius: c.radius * Math.hypot(re, im), start: c.start + Math.atan2(im, re), sweep: c.sweep };
}

/** Signed area between the curve and the origin, by Green's theorem: half the integral of x dy - y dx. */
export function sweptArea(c: Curve): number {
  if (c.kind === "line") return (c.a.x * c.b.y - c.b.x * c.a.y) / 2;
  if (c.kind === "arc") {
    const e = c.start + c.sweep;
    const r = c.radius;
    return (r * r * c.sweep + c.centre.x * r * (Math.sin(e) - Math.sin(c.start)) - c.centre.y * r * (Math.cos(e) - Math.cos(c.start))) / 2;
  }
  const { p0, p1, p2, p3 } = c;
  const x = (a: Point, b: Point): number => a.x * b.y - b.x * a.y;
  // the integral of B_i B_j' over the cubic Bernstein polynomials
  return (6 * x(p0, p1) + 3 * x(p0, p2) + x(p0, p3) + 3 * x(p1, p2) + 3 * x(p1, p3) + 6 * x(p2, p3)) / 20;
}
