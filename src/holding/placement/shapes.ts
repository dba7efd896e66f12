import { type Polygon, polygonBounds } from "../../kernel/polygon.ts";
import { convexParts, counterClockwise, hollows, hull, type Nearest, nearest } from "./convex.ts";
import type { Contact, PlacementProblem } from "./types.ts";

/* A placement problem made ready: pieces as hulls and convex parts about one pivot, what they lie in as sides, what they keep off as pairs. */

export interface Side {
  readonly region: string;
  readonly nx: number;
  readonly ny: number;
  readonly c: number;
  readonly piece: number;
}
export interface Pair {
  readonly region: string;
  readonly piece: number;
  /** About the pivot. */
  readonly part: Polygon;
  readonly reach: number;
  readonly keepOut: Polygon;
  /** Circles around both: a quick look whether they can be near. */
  readonly ring: readonly [number, number, number];
  readonly keepOutRing: readonly [number, number, number];
}
export interface Shapes {
  readonly px: number;
  readonly py: number;
  readonly reach: number;
  readonly hulls: readonly Polygon[];
  readonly sides: readonly Side[];
  readonly pairs: readonly Pair[];
  readonly names: readonly string[];
  readonly needs: readonly number[];
}
/** Math.hypot guards against overflow, which lengths in mm do not need, and costs ten times as much. */
export const hypot = (x: number, y: number): number => Math.sqrt(x * x + y * y);
const about = (p: Polygon, x: number, y: number): Polygon => p.map((v, k) => v - (k & 1 ? y : x));
const farthest = (p: Polygon): number => {
  let r = 0;
  for (let k = 0; k < p.length; k += 2) r = Math.max(r, hypot(p[k], p[k + 1]));
  return r;
};

/** A circle around a polygon: centre of its box, radius to its farthest vertex. */
function ringOf(p: Polygon): readonly [number, number, number] {
  const b = polygonBounds(p);
  const [x, y] = [(b.xMin + b.xMax) / 2, (b.yMin + b.yMax) / 2];
  return [x, y, farthest(about(p, x, y))];
}

/** The two are at least this far apart. */
export function atLeast(pair: Pair, cos: number, sin: number, tx: number, ty: number): number {
  const [x, y, r] = pair.ring;
  const [u, v, q] = pair.keepOutRing;
  return hypot(cos * x - sin * y + tx - u, sin * x + cos * y + ty - v) - r - q;
}

export function prepare(problem: PlacementProblem): Shapes {
  const boxes = problem.pieces.map((p) => polygonBounds(p.polygon));
  const px = (Math.min(...boxes.map((b) => b.xMin)) + Math.max(...boxes.map((b) => b.xMax))) / 2;
  const py = (Math.min(...boxes.map((b) => b.yMin)) + Math.max(...boxes.map((b) => b.yMax))) / 2;
  const hulls = problem.pieces.map((p) => about(hull(p.polygon), px, py));
  const sides: Side[] = [];
  const pairs: Pair[] = [];
  const parts = new Map<number, Polygon[]>();
  const partsOf = (k: number): Polygon[] => {
    const known = parts.get(k) ?? convexParts(about(counterClockwise(problem.pieces[k].polygon), px, py));
    parts.set(k, known);
    return known;
  };
  const concerned = (names: readonly string[] | undefined): number[] =>
    problem.pieces.flatMap((p, k) => (names === undefined || names.includes(p.name) ? [k] : []));
  const keepOff = (region: string, polygon: Polygon, pieces: readonly number[]): void => {
    for (const keepOut of convexParts(polygon))
      for (const piece of pieces)
        for (const part of partsOf(piece))
          pairs.push({ region, piece, part, reach: farthest(part), keepOut, ring: ringOf(part), keepOutRing: ringOf(keepOut) });
  };
  for (const r of problem.within) {
    const outer = hull(r.polygon);
    for (const piece of concerned(r.pieces))
      for (let k = 0, m = outer.length - 2; k < outer.length; m = k, k += 2) {
        const [ex, ey] = [outer[k] - outer[m], outer[k + 1] - outer[m + 1]];
        const l = hypot(ex, ey);
        const [nx, ny] = [-ey / l, ex / l];
        sides.push({ region: r.name, nx, ny, c: nx * outer[m] + ny * outer[m + 1], piece });
      }
    for (const hollow of hollows(r.polygon)) keepOff(r.name, hollow, concerned(r.pieces));
  }
  for (const r of problem.without) keepOff(r.name, counterClockwise(r.polygon), concerned(r.pieces));
  return {
    px,
    py,
    reach: Math.max(...hulls.map(farthest)),
    hulls,
    sides,
    pairs,
    names: problem.pieces.map((p) => p.name),
    needs: problem.pieces.map((p) => p.need),
  };
}

export const rotated = (p: Polygon, angle: number): Polygon => {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const out = new Float64Array(p.length);
  for (let k = 0; k < p.length; k += 2) {
    out[k] = c * p[k] - s * p[k + 1];
    out[k + 1] = s * p[k] + c * p[k + 1];
  }
  return out;
};

export const SPOT: Nearest = { distance: 0, ax: 0, ay: 0, bx: 0, by: 0 };

/** Margins against outer sides and against what is kept off, of one placement of the pivot. Contacts are told to `tell`. */
export function measure(s: Shapes, angle: number, tx: number, ty: number, tell?: (c: Contact) => void): { sides: number; pairs: number } {
  let sides = Number.POSITIVE_INFINITY;
  let pairs = Number.POSITIVE_INFINITY;
  const turned = s.hulls.map((h) => rotated(h, angle));
  for (const side of s.sides) {
    const h = turned[side.piece];
    let low = Number.POSITIVE_INFINITY;
    let at = 0;
    for (let k = 0; k < h.length; k += 2) {
      const v = side.nx * h[k] + side.ny * h[k + 1];
      if (v < low) {
        low = v;
        at = k;
      }
    }
    const m = low + side.nx * tx + side.ny * ty - side.c - s.needs[side.piece];
    if (m < sides) sides = m;
    if (tell) {
      const [x, y] = [h[at] + tx, h[at + 1] + ty];
      const d = m + s.needs[side.piece];
      tell({ piece: s.names[side.piece], region: side.region, margin: m, x, y, onRegion: [x - side.nx * d, y - side.ny * d] });
    }
  }
  const parts = new Map<Polygon, Polygon>();
  const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
  for (const pair of s.pairs) {
    if (!tell && atLeast(pair, cos, sin, tx, ty) - s.needs[pair.piece] > Math.min(sides, pairs)) continue;
    let part = parts.get(pair.part);
    if (part === undefined) {
      part = rotated(pair.part, angle);
      parts.set(pair.part, part);
    }
    nearest(part, tx, ty, pair.keepOut, SPOT);
    const m = SPOT.distance - s.needs[pair.piece];
    if (m < pairs) pairs = m;
    if (tell) tell({ piece: s.names[pair.piece], region: pair.region, margin: m, x: SPOT.ax, y: SPOT.ay, onRegion: [SPOT.bx, SPOT.by] });
  }
  return { sides, pairs };
}
