import type { Contour, CubicCurve, Curve, Point } from "../kernel/curve.ts";
import type { OrderSpec } from "../spec/types.ts";
import type { Mm } from "../units/index.ts";
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
  /** Bass-side and treble-side chains from tip to the board's corner, x rising. */
  readonly bass: readonly Curve[];
  readonly treble: readonly Curve[];
  /** Along x: the corner of the board's end on either side. */
  readonly corner: Mm;
  readonly end: Curve;
}

export function neckOutline(order: OrderSpec, places: NeckPlaces, edges: (x: Mm) => readonly [Mm, Mm], rows: readonly TunerRow[]): Outline {
  const corner = places.boardEnd - (order.board.end.shape === "curved" ? order.board.end.bow : 0);
  const sides = ([-1, 1] as const).map((side) => shoulder(order, places, edges, rows, side));
  const tip: Point = { x: places.tip, y: (sides[0].b.y + sides[1].b.y) / 2 };
  const [bass, treble] = sides.map((s) => sideChain(order, s, tip, corner, edges));
  const end = boardEnd(order, places, edges, corner);
  const contour: Contour = { name: "neck", curves: [...bass, end, ...[...treble].reverse().map(reversed)] };
  const front: Point[] = edges(places.boardFront).map((y) => ({ x: places.boardFront, y }));
  const corners: Point[] = edges(corner).map((y) => ({ x: corner, y }));
  const board: Contour = {
    name: "board",
    curves: [
      { kind: "line", a: front[0], b: corners[0] },
      end,
      { kind: "line", a: corners[1], b: front[1] },
      { kind: "line", a: front[1], b: front[0] },
    ],
  };
  return { contour, board, bass, treble, corner, end };
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
  places: NeckPlaces,
  edges: (x: Mm) => readonly [Mm, Mm],
  rows: readonly TunerRow[],
  side: -1 | 1,
): Shoulder {
  const h = order.headstock;
  const xB = places.tip + h.tip;
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

function sideChain(order: OrderSpec, s: Shoulder, tip: Point, corner: Mm, edges: (x: Mm) => readonly [Mm, Mm]): Curve[] {
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
  return [round, { kind: "line", a: s.b, b: s.a }, blend, { kind: "line", a: p, b: { x: corner, y: edges(corner)[i] } }];
}

/** The board's end from the bass corner to the treble corner: a line, or an arc through both corners that bulges by `bow`. */
function boardEnd(order: OrderSpec, places: NeckPlaces, edges: (x: Mm) => readonly [Mm, Mm], corner: Mm): Curve {
  const [y0, y1] = edges(corner);
  const a: Point = { x: corner, y: y0 };
  const b: Point = { x: corner, y: y1 };
  const bow = places.boardEnd - corner;
  if (order.board.end.shape === "square" || bow <= 0) return { kind: "line", a, b };
  const half = (y1 - y0) / 2;
  const radius = (half * half + bow * bow) / (2 * bow);
  const centre: Point = { x: places.boardEnd - radius, y: (y0 + y1) / 2 };
  const start = Math.atan2(-half, corner - centre.x);
  return { kind: "arc", centre, radius, start, sweep: -2 * start };
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
