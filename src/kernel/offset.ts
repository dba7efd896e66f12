import { Clipper, ClipperOffset, EndType, FillRule, JoinType, type Path64, type Paths64 } from "clipper2-ts";
import type { Mm } from "../units/index.ts";
import { type Polygon, simplifyPolygon } from "./polygon.ts";

/*
 * Offsets and set operations on regions, by clipper2-ts on an integer grid of 1e-5 mm: the same input gives the same
 * bytes, and a vertex is never more than 0.71e-5 mm from where it should be. Outer rings counter-clockwise, holes
 * clockwise, in and out. Rings closed without repeating the first vertex.
 */

/** Grid units in a millimetre. */
const GRID = 1e5;
/** Beyond this the integers lose their exactness inside the library. */
const FAR_MM = 20_000;

export interface OffsetOptions {
  /** How far the polygon of a round join may stand inside the true arc, mm. */
  readonly arcTolerance?: Mm;
  /** Drop vertices within this of the ring before offsetting (raw outlines of thousands of vertices are slow otherwise). */
  readonly simplify?: Mm;
}

const DEFAULT_ARC_TOLERANCE = 0.0005;

function toGrid(rings: readonly Polygon[]): Paths64 {
  const out: Paths64 = [];
  for (const r of rings) {
    const path: Path64 = [];
    for (let k = 0; k < r.length; k += 2) {
      const x = r[k];
      const y = r[k + 1];
      if (!(Math.abs(x) < FAR_MM && Math.abs(y) < FAR_MM)) throw new Error(`polygon vertex (${x}, ${y}) is not within ${FAR_MM} mm`);
      path.push({ x: Math.round(x * GRID), y: Math.round(y * GRID) });
    }
    if (path.length >= 3) out.push(path);
  }
  return out;
}

function fromGrid(paths: Paths64): Polygon[] {
  const out: Polygon[] = [];
  for (const path of paths) {
    if (path.length < 3) continue;
    const r = new Float64Array(2 * path.length);
    for (let k = 0; k < path.length; k++) {
      r[2 * k] = path[k].x / GRID;
      r[2 * k + 1] = path[k].y / GRID;
    }
    out.push(r);
  }
  return out;
}

/**
 * Grows (delta > 0) or shrinks (delta < 0) a region by a distance, with round joins. Vertices of the result are exact to
 * the grid; between them arcs are chords that stand inside the true arc by at most `arcTolerance` (default 0.5 um).
 * Returns no rings when nothing is left.
 */
export function offsetPolygon(rings: readonly Polygon[], delta: Mm, options: OffsetOptions = {}): Polygon[] {
  const { arcTolerance = DEFAULT_ARC_TOLERANCE, simplify = 0 } = options;
  if (!Number.isFinite(delta)) throw new Error(`offset distance is ${delta}`);
  if (!(arcTolerance > 0)) throw new Error(`arc tolerance must be above 0, not ${arcTolerance}`);
  const input = simplify > 0 ? rings.map((r) => simplifyPolygon(r, simplify)) : rings;
  const co = new ClipperOffset(2, arcTolerance * GRID);
  co.addPaths(Clipper.union(toGrid(input), FillRule.NonZero), JoinType.Round, EndType.Polygon);
  const solution: Paths64 = [];
  co.execute(delta * GRID, solution);
  return fromGrid(solution);
}

/**
 * Offsets a region again and again by `step`, `count` times, each from the last (one-shot offsets of a raw outline cost
 * 150 times more); every tenth ring starts afresh from the input, so that inscribed arcs do not add up.
 */
export function offsetSeries(rings: readonly Polygon[], step: Mm, count: number, options: OffsetOptions = {}): Polygon[][] {
  const { arcTolerance = DEFAULT_ARC_TOLERANCE, simplify = 0.001 } = options;
  const base = rings.map((r) => simplifyPolygon(r, simplify));
  const out: Polygon[][] = [];
  let last: readonly Polygon[] = base;
  for (let k = 1; k <= count && last.length > 0; k++) {
    const fresh = k % 10 === 0;
    const next = offsetPolygon(fresh ? base : last, fresh ? k * step : step, { arcTolerance });
    if (next.length === 0) break;
    out.push(next);
    last = next.map((r) => simplifyPolygon(r, simplify));
  }
  return out;
}

/** All that lies in a or b. */
export const unionOf = (a: readonly Polygon[], b: readonly Polygon[] = []): Polygon[] =>
  fromGrid(b.length > 0 ? Clipper.union(toGrid(a), toGrid(b), FillRule.NonZero) : Clipper.union(toGrid(a), FillRule.NonZero));

/** What lies in a but not in b. */
export const differenceOf = (a: readonly Polygon[], b: readonly Polygon[]): Polygon[] =>
  fromGrid(Clipper.difference(toGrid(a), toGrid(b), FillRule.NonZero));

/** What lies in both a and b. */
export const intersectionOf = (a: readonly Polygon[], b: readonly Polygon[]): Polygon[] =>
  fromGrid(Clipper.intersect(toGrid(a), toGrid(b), FillRule.NonZero));
