import type { MoveBuilder } from "../../kernel/moves.ts";
import { insideRegion, type Polygon, polygonBounds, polygonLength } from "../../kernel/polygon.ts";
import type { Mm, Rad } from "../../units/index.ts";
import { above0, checkMotion, follow, goAbove, type Motion, type Path, retract } from "./common.ts";
import { thinPath } from "./thin.ts";

/*
 * Clears down to a height field, level by level, in rows:
 *
 *   top  ~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~
 *   1    =======_        _===============     the tip goes along max(level, cl(x, y)), only where the level
 *   2    ========\      /======          before stood higher than that
 *   3              \__ /       cl(x, y): lowest height of the tip that spares the target
 *
 * Pieces of neighbouring rows are joined sideways. Into standing wood the cutter goes down no steeper than the ramp angle,
 * at a new piece as behind a wall; what such a ramp leaves is taken by going back over it and on again:
 *
 *   before  ----.                 1 down the ramp   2 back at the level   3 on
 *                `-.__1
 *   level   <-2-------'-----3--->
 *
 * Rapids go down only onto what has been cleared. One file because rows, the walk along them and the ways between them share one
 * record of what stands.
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

/** Bits of wood thinner than this are left to the next level or to finishing. */
const LEAST_CUT: Mm = 0.02;

/** A hollow that is not level after so many ramps to and fro is too narrow to be worth it: left to finishing. */
const MOST_ROUNDS = 24;

/** Where the field rises faster than this between two samples (a wall), both take the higher one. */
const STEEP = 1.5;

interface Line {
  /** Samples along the line, x, y pairs, and the lowest height of the tip there. */
  readonly xy: Float64Array;
  readonly low: Float64Array;
  /** Height the tip has been down to at each sample so far: free of wood from there up. */
  readonly stands: Float64Array;
  /** Between samples k and k+1: heights at both ends of the lowest straight that the tip has run, free from there up. */
  readonly ranLow: Float64Array;
  readonly ranHigh: Float64Array;
  /** Consecutive samples k, k+1 of which the straight between lies in the region. */
  readonly joined: Uint8Array;
  /** Place across the rows, for finding neighbours. */
  readonly row: number;
}

interface Piece {
  readonly line: Line;
  readonly from: number;
  readonly to: number;
}

/** Samples cl along straight runs of a line; walls are widened by one sample so that no straight between samples gouges. */
function makeLine(
  runs: readonly (readonly [number, number, number, number])[],
  cl: (x: Mm, y: Mm) => Mm,
  floor: Mm,
  top: Mm,
  sampling: Mm,
  row: number,
): Line {
  const xy: number[] = [];
  const low: number[] = [];
  const joined: number[] = [];
  for (const [xa, ya, xb, yb] of runs) {
    const L = Math.hypot(xb - xa, yb - ya);
    const n = Math.max(1, Math.ceil(L / sampling - 1e-9));
    // a run that begins where the last one ended goes on with it
    const goesOn = xy.length > 0 && xy[xy.length - 2] === xa && xy[xy.length - 1] === ya;
    for (let k = goesOn ? 1 : 0; k <= n; k++) {
      const x = xa + ((xb - xa) * k) / n;
      const y = ya + ((yb - ya) * k) / n;
      const z = cl(x, y);
      if (Number.isNaN(z)) throw new RangeError(`the height field is not a number at (${x}, ${y})`);
      if (xy.length > 0 && (k > 0 || goesOn)) joined[joined.length - 1] = 1;
      xy.push(x, y);
      low.push(Math.max(floor, z));
      joined.push(0);
    }
  }
  const wide = Float64Array.from(low);
  for (let k = 0; k + 1 < low.length; k++) {
    if (!joined[k]) continue;
    const run = Math.hypot(xy[2 * k + 2] - xy[2 * k], xy[2 * k + 3] - xy[2 * k + 1]);
    if (Math.abs(low[k + 1] - low[k]) > STEEP * run) {
      const z = Math.max(low[k], low[k + 1]);
      if (z > wide[k]) wide[k] = z;
      if (z > wide[k + 1]) wide[k + 1] = z;
    }
  }
  return {
    xy: Float64Array.from(xy),
    low: wide,
    stands: new Float64Array(low.length).fill(top),
    ranLow: new Float64Array(low.length).fill(Infinity),
    ranHigh: new Float64Array(low.length).fill(Infinity),
    joined: Uint8Array.from(joined),
    row,
  };
}

/** Where a row at height v crosses the region: sorted pairs along it. */
function crossings(rings: readonly Polygon[], v: number, alongX: boolean): number[] {
  const out: number[] = [];
  const iu = alongX ? 0 : 1;
  const iv = 1 - iu;
  for (const p of rings) {
    const n = p.length;
    for (let k = 0, m = n - 2; k < n; m = k, k += 2) {
      const a = p[m + iv];
      const c = p[k + iv];
      if (a > v !== c > v) out.push(p[m + iu] + ((v - a) / (c - a)) * (p[k + iu] - p[m + iu]));
    }
  }
  return out.sort((x, y) => x - y);
}

/** The parts of a line where this level takes something away, gaps shorter than maxRide ridden over. */
function piecesOf(line: Line, level: Mm, maxRide: Mm): Piece[] {
  const out: Piece[] = [];
  const n = line.low.length;
  let from = -1;
  let last = -1;
  let gap = 0;
  const end = (): void => {
    if (from >= 0) out.push({ line, from, to: last });
    from = -1;
  };
  for (let k = 0; k < n; k++) {
    const run = k > 0 ? Math.hypot(line.xy[2 * k] - line.xy[2 * k - 2], line.xy[2 * k + 1] - line.xy[2 * k - 1]) : 0;
    if (k > 0 && !line.joined[k - 1]) end();
    gap += run;
    if (Math.max(level, line.low[k]) < line.stands[k] - LEAST_CUT) {
      if (from >= 0 && gap - run > maxRide) end();
      if (from < 0) from = k;
      last = k;
      gap = 0;
    }
  }
  end();
  return out;
}

/** Walks the tip over the samples of a line: max(level, low), but down into standing wood no steeper than the ramp. */
class Walker {
  readonly points: number[] = [];
  private readonly line: Line;
  private readonly level: Mm;
  private readonly slope: number;
  private z: Mm;
  private at: number;

  /** Stands on sample `at` at height z. */
  constructor(line: Line, level: Mm, slope: number, at: number, z: Mm) {
    this.line = line;
    this.level = level;
    this.slope = slope;
    this.at = at;
    this.z = z;
    this.points.push(line.xy[2 * at], line.xy[2 * at + 1], z);
    if (z < line.stands[at]) line.stands[at] = z;
  }

  /** On to a neighbouring sample; tells what stays above the target there. */
  step(k: number): Mm {
    const { xy, low, stands, ranLow, ranHigh } = this.line;
    const a = this.at;
    const gap = Math.min(a, k);
    const ranHere = a < k ? ranLow : ranHigh;
    const ranThere = a < k ? ranHigh : ranLow;
    const target = Math.max(this.level, low[k]);
    let from = this.z;
    let z = target;
    let over = false;
    if (target < from) {
      // straight down here as far as is free at both ends, then the ramp
      const free = Math.min(from, Math.max(stands[a], stands[k], target));
      const run = Math.hypot(xy[2 * k] - xy[2 * a], xy[2 * k + 1] - xy[2 * a + 1]);
      const ramp = Math.max(target, free - run * this.slope);
      const ran = from >= ranHere[gap] - 1e-9 ? Math.max(target, ranThere[gap]) : Infinity;
      const there = Math.max(target, stands[k]);
      if (ran <= ramp + 1e-9) z = ran;
      else {
        if (free < from - 1e-9) {
          this.points.push(xy[2 * a], xy[2 * a + 1], free);
          from = free;
        }
        z = ramp;
        if (there < z - 1e-9) {
          // over the edge of what stands here, and straight down into what is free there
          this.points.push(xy[2 * k], xy[2 * k + 1], free);
          z = there;
          over = true;
        }
      }
    }
    this.points.push(xy[2 * k], xy[2 * k + 1], z);
    if (z < stands[k]) stands[k] = z;
    if (!over && (from <= ranHere[gap] || z <= ranThere[gap])) {
      ranHere[gap] = from;
      ranThere[gap] = z;
    }
    this.at = k;
    this.z = z;
    return z - target;
  }
}

/** Walks a whole piece from the sample where the cutter stands; ramps are gone over again until they are level. */
function walkPiece(p: Piece, backward: boolean, level: Mm, z: Mm, slope: number): Path {
  const first = backward ? p.to : p.from;
  const last = backward ? p.from : p.to;
  const d = backward ? -1 : 1;
  const w = new Walker(p.line, level, slope, first, z);
  let wedge = z > Math.max(level, p.line.low[first]) + 1e-6 ? first : -1;
  for (let k = first; k !== last; ) {
    const over = w.step(k + d);
    k += d;
    if (over > 1e-6 && wedge < 0) wedge = k;
    if (wedge < 0 || (over > 1e-6 && k !== last)) continue;
    // the ramp is done, or the piece is: back over it and on, each time as much lower as the ramp allows
    let before = Infinity;
    for (let round = 0; round < MOST_ROUNDS && wedge !== k; round++) {
      for (let j = k - d; j !== wedge - d; j -= d) w.step(j);
      for (let j = wedge + d; j !== k + d; j += d) w.step(j);
      let left = 0;
      for (let j = wedge; j !== k + d; j += d) left = Math.max(left, p.line.stands[j] - Math.max(level, p.line.low[j]));
      // done, or a pit too narrow to ramp into
      if (left < LEAST_CUT || left > before - 1e-3) break;
      before = left;
    }
    wedge = -1;
  }
  return Float64Array.from(w.points);
}

/** Whether a row has samples all the way between two places along it, and nothing stands there above `most`. */
function runsBelow(line: Line, at: 0 | 1, u0: Mm, u1: Mm, sampling: Mm, most: Mm): boolean {
  const [lo, hi] = u0 < u1 ? [u0, u1] : [u1, u0];
  const { xy, stands } = line;
  let reached = lo - sampling;
  for (let k = 0; k < stands.length; k++) {
    const u = xy[2 * k + at];
    if (u < lo - sampling) continue;
    if (u > reached + 2 * sampling) return false;
    if (u > hi + sampling) return true;
    if (stands[k] > most + LEAST_CUT) return false;
    reached = u;
  }
  return reached >= hi - sampling;
}

/**
 * A way from where the cutter is to a sample of the next row, never downward, or null when it would leave the region, is too long or
 * would meet wood higher than a level: along one of the two rows where the tip has been (or may go), and straight across where both run,
 *
 *     next row  ......+------>        ......+--->           so that the disc stays over what levels above have freed
 *     this row  ==>---'                 <---'===>
 */
function linkTo(
  b: MoveBuilder,
  here: Line,
  next: Line,
  sample: number,
  region: readonly Polygon[],
  cl: (x: Mm, y: Mm) => Mm,
  o: {
    readonly floor: Mm;
    readonly maxLink: Mm;
    readonly sampling: Mm;
    readonly tolerance: Mm;
    readonly along: "x" | "y";
    readonly depth: Mm;
  },
): Path | null {
  const [x0, y0, z0] = [b.px, b.py, b.pz];
  const [x1, y1] = [next.xy[2 * sample], next.xy[2 * sample + 1]];
  if (Math.hypot(x1 - x0, y1 - y0) > o.maxLink) return null;
  const at = o.along === "x" ? 0 : 1;
  const [u0, u1] = at === 0 ? [x0, x1] : [y0, y1];
  const most = z0 + o.depth;
  let corner: readonly [Mm, Mm];
  if (runsBelow(here, at, u0, u1, o.sampling, most) && runsBelow(next, at, u1, u1, o.sampling, most))
    corner = at === 0 ? [x1, y0] : [x0, y1];
  else if (runsBelow(next, at, u0, u1, o.sampling, most)) corner = at === 0 ? [x0, y1] : [x1, y0];
  else return null;
  const legs = [[x0, y0, ...corner] as const, [...corner, x1, y1] as const].filter(([ax, ay, bx, by]) => ax !== bx || ay !== by);
  const line = makeLine(legs, cl, o.floor, 0, o.sampling, 0);
  const n = line.low.length;
  const out = new Float64Array(3 * n);
  let z = z0;
  for (let k = 0; k < n; k++) {
    const x = line.xy[2 * k];
    const y = line.xy[2 * k + 1];
    // ends stand on the region's edge, where in or out is a matter of rounding
    if (k > 0 && k < n - 1 && !insideRegion(region, x, y)) return null;
    out[3 * k] = x;
    out[3 * k + 1] = y;
    if (line.low[k] > z) z = line.low[k];
    out[3 * k + 2] = z;
  }
  return thinPath(out, { vertical: o.tolerance, lateral: 0.001 });
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
