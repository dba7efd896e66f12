import type { MoveBuilder } from "../../kernel/moves.ts";
import { type Polygon, polygonBounds, polygonLength } from "../../kernel/polygon.ts";
import type { Mm, Rad } from "../../units/index.ts";
import { above0, checkMotion, follow, goAbove, type Motion, type Path, retract } from "./common.ts";
import { crossings, LEAST_CUT, type Line, makeLine, type Piece, piecesOf } from "./row.ts";
import { linkTo } from "./row-link.ts";
import { walkPiece } from "./row-walk.ts";
import { thinPath } from "./thin.ts";

/*
 * Clears down to a height field, level by level, in rows:
 *
 *   top  ~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~
 *   1    =======_        _===============     the tip goes along max(level, cl(x, y)), only where the level
 *   2    ========\      /======          before stood higher than that
 *   3              \__ /       cl(x, y): lowest height of the tip that spares the target
 *
 * Pieces of neighbouring rows are joined sideways (`row-link.ts`); the cutter goes down into standing wood by ramps, at a new piece as
 * behind a wall (`row-walk.ts`). Rapids go down only onto places where the tip has been: the disc there is free.
 */
export interface LevelsOptions extends Motion {
  /** Height of the wood before the first level, at its highest in the region. */
  readonly top: Mm;
  /** Most depth per level. */
  readonly depth: Mm;
  /** Distance between rows, at most. */
  readonly step: Mm;
  /** Rows run along x (default) or y. */
  readonly along?: "x" | "y";
  /** Distance between samples along a row; default 0.25 mm. */
  readonly sampling?: Mm;
  /** Never lower than this, whatever cl says. */
  readonly floor?: Mm;
  /** A pass round the region's edges closes each level. */
  readonly edgePass?: boolean;
  /** Steepest way down into standing wood; default 10 degrees (common practice, no source). */
  readonly rampAngle?: Rad;
  /** Longest sideways or diagonal link through the level; default four steps. */
  readonly maxLink?: Mm;
  /** Gaps in a row shorter than this are ridden over instead of lifted over; default 8 mm. */
  readonly maxRide?: Mm;
  /** Points dropped within this height; default 5 um: roughing leaves a hundred times as much. */
  readonly tolerance?: Mm;
}

/**
 * Clears a region. `region`: where the cutter's centre may go (outer rings counter-clockwise, holes clockwise);
 * `cl(x, y)`: lowest height of the tip there (the drop of its shape on the target, plus what roughing leaves). Wood is
 * taken to stand at `top` all over. Makes no move when there is nothing to cut.
 */
export function levels(b: MoveBuilder, region: readonly Polygon[], cl: (x: Mm, y: Mm) => Mm, o: LevelsOptions): void {
  checkMotion(o);
  above0("depth", o.depth);
  above0("step", o.step);
  const {
    along = "x",
    sampling = 0.25,
    floor = -Infinity,
    edgePass = false,
    rampAngle = (10 * Math.PI) / 180,
    maxRide = 8,
    tolerance = 0.005,
  } = o;
  const maxLink = o.maxLink ?? 4 * o.step;
  above0("sampling", sampling);
  retract(b, o);
  if (region.length === 0) return;

  // rows, evenly spaced, the outer ones a hair inside the region
  const alongX = along === "x";
  let [vMin, vMax] = [Infinity, -Infinity];
  for (const r of region) {
    const box = polygonBounds(r);
    vMin = Math.min(vMin, alongX ? box.yMin : box.xMin);
    vMax = Math.max(vMax, alongX ? box.yMax : box.xMax);
  }
  const inset = Math.min(1e-4, (vMax - vMin) / 4);
  const span = vMax - vMin - 2 * inset;
  const count = Math.max(1, Math.ceil(span / o.step - 1e-9) + 1);
  const lines: Line[] = [];
  for (let j = 0; j < count; j++) {
    const v = count === 1 ? (vMin + vMax) / 2 : vMin + inset + (span * j) / (count - 1);
    const cuts = crossings(region, v, alongX);
    const runs: [number, number, number, number][] = [];
    for (let k = 0; k + 1 < cuts.length; k += 2)
      if (cuts[k + 1] - cuts[k] > 1e-6) runs.push(alongX ? [cuts[k], v, cuts[k + 1], v] : [v, cuts[k], v, cuts[k + 1]]);
    if (runs.length > 0) lines.push(makeLine(runs, cl, floor, o.top, sampling, j));
  }
  const edges: Line[] = [];
  if (edgePass)
    for (const r of region) {
      const runs: [number, number, number, number][] = [];
      const n = r.length;
      for (let k = 0; k < n; k += 2) runs.push([r[k], r[k + 1], r[(k + 2) % n], r[(k + 3) % n]]);
      if (polygonLength(r) > 0) edges.push(makeLine(runs, cl, floor, o.top, sampling, -1));
    }

  let lowest = Infinity;
  for (const l of [...lines, ...edges]) for (const z of l.low) if (z < lowest) lowest = z;
  if (!Number.isFinite(lowest)) throw new RangeError("the height field has no lowest place: give a floor");
  if (!(lowest < o.top - LEAST_CUT)) return;
  const n = Math.max(1, Math.ceil((o.top - lowest) / o.depth - 1e-9));
  for (let k = 1; k <= n; k++) {
    const level = k === n ? lowest : o.top - ((o.top - lowest) * k) / n;
    clearLevel(b, lines, level, region, cl, { ...o, along, floor, sampling, rampAngle, maxLink, maxRide, tolerance });
    if (edgePass) clearLevel(b, edges, level, region, cl, { ...o, along, floor, sampling, rampAngle, maxLink: 0, maxRide, tolerance });
  }
  retract(b, o);
}

type Full = LevelsOptions &
  Required<Pick<LevelsOptions, "along" | "floor" | "sampling" | "rampAngle" | "maxLink" | "maxRide" | "tolerance">>;

function clearLevel(
  b: MoveBuilder,
  lines: readonly Line[],
  level: Mm,
  region: readonly Polygon[],
  cl: (x: Mm, y: Mm) => Mm,
  o: Full,
): void {
  const waiting = lines.map((l) => piecesOf(l, level, o.maxRide));
  const cut = (p: Piece, backward: boolean, linked: boolean): boolean => {
    // one sample alone is too small a bit to ramp into: left to the next level or to finishing
    if (p.from === p.to && !linked) return false;
    const first = backward ? p.to : p.from;
    const { xy, low, stands } = p.line;
    if (!linked) goAbove(b, xy[2 * first], xy[2 * first + 1], o, Math.max(level, low[first], stands[first]));
    const way = walkPiece(p, backward, level, b.pz, Math.tan(o.rampAngle));
    follow(b, thinPath(way, { vertical: o.tolerance, lateral: 0.001 }), o.feed);
    return true;
  };
  for (;;) {
    // the nearest start to where the cutter is, by row and then by place: first row that still has a piece
    const j0 = waiting.findIndex((w) => w.length > 0);
    if (j0 < 0) break;
    let piece = waiting[j0].shift() as Piece;
    let j = j0;
    let backward = false;
    let linked = false;
    for (;;) {
      if (!cut(piece, backward, linked)) break;
      // a piece of the next row beside this one, entered at its end nearer to the cutter
      const next = j + 1 < lines.length && lines[j + 1].row === lines[j].row + 1 ? waiting[j + 1] : [];
      let best: { index: number; backward: boolean; link: Path } | null = null;
      let nearest = Infinity;
      for (let i = 0; i < next.length; i++) {
        const q = next[i];
        for (const back of [false, true]) {
          const s = back ? q.to : q.from;
          const x = q.line.xy[2 * s];
          const y = q.line.xy[2 * s + 1];
          const d = Math.hypot(x - b.px, y - b.py);
          if (d >= nearest || q.from === q.to) continue;
          const link = linkTo(b, lines[j], lines[j + 1], s, region, cl, o);
          if (link === null) continue;
          nearest = d;
          best = { index: i, backward: back, link };
        }
      }
      if (best === null) break;
      follow(b, best.link, o.feed);
      piece = next.splice(best.index, 1)[0];
      backward = best.backward;
      linked = true;
      j++;
    }
  }
}
