import { curveBounds } from "../kernel/contour.ts";
import type { ArcCurve, Contour, CubicCurve, Curve, LineCurve, Point } from "../kernel/curve.ts";
import type { OrderSpec } from "../spec/types.ts";
import type { Mm } from "../units/index.ts";
import { cutAt, seenFromAbove, spanAt } from "./drawing.ts";
import { crossEdge } from "./fan.ts";
import { tiltOf } from "./places.ts";
import type { TunerRow } from "./tuners.ts";
import type { NeckPlaces } from "./types.ts";

/**
 * The plan of the neck, right-handed (treble at +y). Each side runs, x rising, from the tip:
 *
 *   T --cubic-- B ----line---- A ---cubic--- P --------line (board edge)-------- corner --end--
 *   tip round   along the tuner row           throat
 *
 * The line A-B lies `edge` outside its tuner row; a side without tuners runs to `edge` inside the row's far end instead.
 */
export interface Outline {
  readonly contour: Contour;
  readonly board: Contour;
  /** Bass-side and treble-side chains from tip to the throat, x rising; null where the maker's own drawing stands. */
  readonly head: { readonly bass: readonly Curve[]; readonly treble: readonly Curve[] } | readonly Curve[];
  /** The board's corners, bass and treble. */
  readonly corners: readonly [Point, Point];
  readonly end: LineCurve | ArcCurve;
  /** Ends of the drawing's cut at the throat lie this far off the board's edges (0 without a drawing). */
  readonly drawingGap: Mm;
  /** Lowest x of a drawing; null for the family of shapes, whose tip the places know. */
  readonly tip: Mm | null;
}

export function neckOutline(
  order: OrderSpec,
  places: Omit<NeckPlaces, "end">,
  edges: (x: Mm) => readonly [Mm, Mm],
  rows: readonly TunerRow[],
): Outline {
  const bow = order.board.end.shape === "curved" ? order.board.end.bow : 0;
  const corners = ([0, 1] as const).map((i) => crossEdge({ x0: places.boardEnd - bow, slope: places.endSlope }, (x) => edges(x)[i])) as [
    Point,
    Point,
  ];
  const end = boardEnd(corners, bow);
  const throat = ([0, 1] as const).map((i) => ({ x: -order.headstock.throat, y: edges(-order.headstock.throat)[i] })) as [Point, Point];
  const sideLine = (i: 0 | 1): LineCurve => ({ kind: "line", a: throat[i], b: corners[i] });
  const board: Contour = { name: "board", curves: boardCurves(places, edges, corners, end) };
  const { drawing } = order.headstock;
  if (drawing) {
    const cut = cutAt(seenFromAbove(drawing, places.rampTop, tiltOf(order)), -order.headstock.throat);
    const gap = cut ? Math.max(Math.abs(cut.from.y - throat[1].y), Math.abs(cut.to.y - throat[0].y)) : Number.POSITIVE_INFINITY;
    const head = cut
      ? [...bridge(throat[1], cut.from), ...cut.curves, ...bridge(cut.to, throat[0])]
      : [{ kind: "line" as const, a: throat[1], b: throat[0] }];
    const contour: Contour = { name: "neck", curves: [...head, sideLine(0), end, reversed(sideLine(1))] };
    return { contour, board, head, corners, end, drawingGap: gap, tip: Math.min(...head.map((c) => curveBounds(c).xMin)) };
  }
  const sides = ([-1, 1] as const).map((side) => shoulder(order, places, edges, rows, side));
  const tip: Point = { x: places.tip, y: (sides[0].b.y + sides[1].b.y) / 2 };
  const [bass, treble] = sides.map((s) => sideChain(order, s, tip, edges));
  const contour: Contour = {
    name: "neck",
    curves: [...bass, sideLine(0), end, reversed(sideLine(1)), ...[...treble].reverse().map(reversed)],
  };
  return { contour, board, head: { bass, treble }, corners, end, drawingGap: 0, tip: null };
}

/** A straight piece over a small gap; nothing where there is none. */
const bridge = (a: Point, b: Point): Curve[] => (Math.hypot(a.x - b.x, a.y - b.y) < 1e-9 ? [] : [{ kind: "line", a, b }]);

function boardCurves(
  places: Omit<NeckPlaces, "end">,
  edges: (x: Mm) => readonly [Mm, Mm],
  corners: readonly [Point, Point],
  end: Curve,
): Curve[] {
  const front = ([0, 1] as const).map((i) => crossEdge({ x0: places.boardFront, slope: places.nutSlope }, (x) => edges(x)[i]));
  return [
    { kind: "line", a: front[0], b: corners[0] },
    end,
    { kind: "line", a: corners[1], b: front[1] },
    { kind: "line", a: front[1], b: front[0] },
  ];
}

interface Shoulder {
  readonly side: -1 | 1;
  readonly a: Point;
  readonly b: Point;
  readonly slope: number;
}

/** The straight part of a headstock side: from A (after the throat's blend) to B (level with the last tuner). */
function shoulder(
  order: OrderSpec,
  places: Omit<NeckPlaces, "end">,
  edges: (x: Mm) => readonly [Mm, Mm],
  rows: readonly TunerRow[],
  side: -1 | 1,
): Shoulder {
  const h = order.headstock;
  const xB = places.tip + h.tip * Math.cos(tiltOf(order));
  const xA = Math.max(-(h.throat + h.blend), (xB + -h.throat) / 2);
  const own = rows.find((r) => r.side === side);
  if (own) {
    const off = side * h.edge * Math.sqrt(1 + own.slope * own.slope);
    return { side, a: { x: xA, y: own.lineAt(xA) + off }, b: { x: xB, y: own.lineAt(xB) + off }, slope: own.slope };
  }
  const other = rows[0];
  const throatY = edges(-h.throat)[side < 0 ? 0 : 1];
  const far = other ? other.lineAt(xB) + side * h.edge * Math.sqrt(1 + other.slope * other.slope) : throatY;
  const yB = side < 0 ? Math.min(far, throatY) : Math.max(far, throatY);
  const slope = (yB - throatY) / (xB + h.throat);
  return { side, a: { x: xA, y: throatY + slope * (xA + h.throat) }, b: { x: xB, y: yB }, slope };
}

function sideChain(order: OrderSpec, s: Shoulder, tip: Point, edges: (x: Mm) => readonly [Mm, Mm]): Curve[] {
  const h = order.headstock;
  const i = s.side < 0 ? 0 : 1;
  const p: Point = { x: -h.throat, y: edges(-h.throat)[i] };
  const taper = edges(1)[i] - edges(0)[i];
  const k = 0.95 - 0.4 * h.roundness;
  const dx = s.b.x - tip.x;
  const round: CubicCurve = {
    kind: "cubic",
    p0: tip,
    p1: { x: tip.x, y: tip.y + k * (s.b.y - tip.y) },
    p2: { x: s.b.x - k * dx, y: s.b.y - k * dx * s.slope },
    p3: s.b,
  };
  const reach = (p.x - s.a.x) * 0.5;
  const blend: CubicCurve = {
    kind: "cubic",
    p0: s.a,
    p1: { x: s.a.x + reach, y: s.a.y + reach * s.slope },
    p2: { x: p.x - reach, y: p.y - reach * taper },
    p3: p,
  };
  return [round, { kind: "line", a: s.b, b: s.a }, blend];
}

/** The board's end from the bass corner to the treble corner: a line, or an arc through both corners that bulges by `bow`. */
function boardEnd([a, b]: readonly [Point, Point], bow: Mm): LineCurve | ArcCurve {
  if (bow <= 0) return { kind: "line", a, b };
  const half = Math.hypot(b.x - a.x, b.y - a.y) / 2;
  const radius = (half * half + bow * bow) / (2 * bow);
  // from the chord's middle toward the bridge, square to the chord
  const ux = (b.y - a.y) / (2 * half);
  const uy = -(b.x - a.x) / (2 * half);
  const centre: Point = { x: (a.x + b.x) / 2 + (bow - radius) * ux, y: (a.y + b.y) / 2 + (bow - radius) * uy };
  const start = Math.atan2(a.y - centre.y, a.x - centre.x);
  const stop = Math.atan2(b.y - centre.y, b.x - centre.x);
  return { kind: "arc", centre, radius, start, sweep: stop - start };
}

/** The same curve walked the other way. */
export function reversed(c: Curve): Curve {
  if (c.kind === "line") return { kind: "line", a: c.b, b: c.a };
  if (c.kind === "arc") return { ...c, start: c.start + c.sweep, sweep: -c.sweep };
  return { kind: "cubic", p0: c.p3, p1: c.p2, p2: c.p1, p3: c.p0 };
}

/** The curve mirrored in y; a contour's order must then be reversed to stay counter-clockwise. */
export function mirrored(c: Curve): Curve {
  const m = (p: Point): Point => ({ x: p.x, y: -p.y });
  if (c.kind === "line") return { kind: "line", a: m(c.a), b: m(c.b) };
  if (c.kind === "arc") return { kind: "arc", centre: m(c.centre), radius: c.radius, start: -c.start, sweep: -c.sweep };
  return { kind: "cubic", p0: m(c.p0), p1: m(c.p1), p2: m(c.p2), p3: m(c.p3) };
}

export function mirroredContour(c: Contour): Contour {
  return { name: c.name, curves: [...c.curves].reverse().map((k) => mirrored(reversed(k))) };
}

/** Lowest and highest y of the outline at x: board edges, cut off by the board's end; the headstock's chains beyond the throat. */
export function edgesOf(order: OrderSpec, outline: Outline, boardEdges: (x: Mm) => readonly [Mm, Mm]): (x: Mm) => readonly [Mm, Mm] {
  const { corners, end, head } = outline;
  const first = Math.min(corners[0].x, corners[1].x);
  const at = (x: Mm): readonly [Mm, Mm] => {
    if (x > first) return endEdges(x, boardEdges(x), corners, end);
    if (x >= -order.headstock.throat) return boardEdges(x);
    if ("bass" in head) return [chainAt(head.bass, x), chainAt(head.treble, x)];
    return spanAt(head, x) ?? [0, 0];
  };
  // surfaces are asked across one x after another: the last answer is kept
  let lastX = Number.NaN;
  let last: readonly [Mm, Mm] = [0, 0];
  return (x) => {
    if (x !== lastX) {
      last = at(x);
      lastX = x;
    }
    return last;
  };
}

/** Past the first corner one side (square, slanted) or both (curved) follow the board's end. */
function endEdges(x: Mm, [lo, hi]: readonly [Mm, Mm], corners: readonly [Point, Point], end: LineCurve | ArcCurve): readonly [Mm, Mm] {
  if (end.kind === "line") {
    const { a, b } = end;
    const y = b.x === a.x ? (a.y + b.y) / 2 : a.y + ((b.y - a.y) * (x - a.x)) / (b.x - a.x);
    const inside = Math.min(hi, Math.max(lo, y));
    if (x > Math.max(corners[0].x, corners[1].x)) return [inside, inside];
    return [x > corners[0].x ? inside : lo, x > corners[1].x ? inside : hi];
  }
  const { centre, radius } = end;
  const half = Math.sqrt(Math.max(0, radius * radius - (x - centre.x) ** 2));
  return [x > corners[0].x ? centre.y - half : lo, x > corners[1].x ? centre.y + half : hi];
}

/** y at x on a chain of curves with x rising along it (lines and cubics monotone in x); ends are extended level. */
export function chainAt(chain: readonly Curve[], x: Mm): Mm {
  for (const c of chain) {
    if (c.kind === "line") {
      if (x <= c.b.x || c === chain[chain.length - 1])
        return c.a.x === c.b.x ? c.b.y : c.a.y + ((c.b.y - c.a.y) * (x - c.a.x)) / (c.b.x - c.a.x);
    } else if (c.kind === "cubic") {
      if (x <= c.p3.x) return cubicAt(c, x);
    }
  }
  return Number.NaN;
}

/** y at x on a cubic whose x rises along it, by bisection to the last bit that matters (1e-13 of the parameter). */
function cubicAt(c: CubicCurve, x: Mm): Mm {
  let lo = 0;
  let hi = 1;
  if (x <= c.p0.x) return c.p0.y;
  for (let k = 0; k < 46; k++) {
    const t = (lo + hi) / 2;
    if (bezier(c.p0.x, c.p1.x, c.p2.x, c.p3.x, t) < x) lo = t;
    else hi = t;
  }
  return bezier(c.p0.y, c.p1.y, c.p2.y, c.p3.y, (lo + hi) / 2);
}

function bezier(a: number, b: number, c: number, d: number, t: number): number {
  const u = 1 - t;
  return u * u * u * a + 3 * u * u * t * b + 3 * u * t * t * c + t * t * t * d;
}
