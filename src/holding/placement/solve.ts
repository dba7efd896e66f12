// One file because bound, branching and measure share one set of prepared shapes.
import { type Polygon, polygonBounds } from "../../kernel/polygon.ts";
import { convexParts, counterClockwise, hollows, hull, type Nearest, nearest } from "./convex.ts";
import { maximise } from "./lp.ts";
import type { Contact, Placed, PlacementProblem } from "./types.ts";

/*
 * Largest smallest margin over shift and rotation, with a proof of how far from the best it may be.
 *
 * Against the outer sides of a region the margin of a rotated piece is, for every vertex p and side n.x >= c,
 *     n.(R(a)p + t) - c,
 * linear in t, and in the angle linear but for |p| h^2 / 2 within h of a middle angle. Against a convex region to keep out
 * of, the distance is a convex function of t, so inside a triangle of shifts it lies below the plane through its values at
 * the corners; in the angle the distance of the two nearest places bounds it, linear but for a square of h. So every cell
 * (a triangle of shifts x a span of angles) has a linear program in shift, angle and margin whose value no placement of the
 * cell exceeds, and whose error falls with the square of the cell's size. Cells are split best first until the best bound
 * is within the gap of the best placement found.
 */

interface Side {
  readonly region: string;
  readonly nx: number;
  readonly ny: number;
  readonly c: number;
  readonly piece: number;
}
interface Pair {
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
interface Shapes {
  readonly px: number;
  readonly py: number;
  readonly reach: number;
  readonly hulls: readonly Polygon[];
  readonly sides: readonly Side[];
  readonly pairs: readonly Pair[];
  readonly names: readonly string[];
  readonly needs: readonly number[];
}
interface Cell {
  readonly bound: number;
  readonly angle: number;
  readonly half: number;
  /** Three corners of the triangle of shifts; null when nothing depends on it. */
  readonly corners: readonly number[] | null;
  readonly pairs: readonly number[];
  readonly splitAngle: boolean;
}

/** Math.hypot guards against overflow, which lengths in mm do not need, and costs ten times as much. */
const hypot = (x: number, y: number): number => Math.sqrt(x * x + y * y);
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
function atLeast(pair: Pair, cos: number, sin: number, tx: number, ty: number): number {
  const [x, y, r] = pair.ring;
  const [u, v, q] = pair.keepOutRing;
  return hypot(cos * x - sin * y + tx - u, sin * x + cos * y + ty - v) - r - q;
}

function prepare(problem: PlacementProblem): Shapes {
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

const rotated = (p: Polygon, angle: number): Polygon => {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const out = new Float64Array(p.length);
  for (let k = 0; k < p.length; k += 2) {
    out[k] = c * p[k] - s * p[k + 1];
    out[k + 1] = s * p[k] + c * p[k + 1];
  }
  return out;
};

const SPOT: Nearest = { distance: 0, ax: 0, ay: 0, bx: 0, by: 0 };

/** Margins against outer sides and against what is kept off, of one placement of the pivot. Contacts are told to `tell`. */
function measure(s: Shapes, angle: number, tx: number, ty: number, tell?: (c: Contact) => void): { sides: number; pairs: number } {
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

/** The linear program of a cell. `cut`: pairs that can be no nearer than this are left out. null: the cell is empty. */
function boundCell(
  s: Shapes,
  cell: Omit<Cell, "bound" | "splitAngle">,
  cut: number,
): { bound: number; x: readonly number[]; pairs: number[] } | null {
  const { angle, half, corners } = cell;
  const rows: number[] = [];
  const limits: number[] = [];
  const { reach } = s;
  // variables: shift x, shift y, angle from the middle times reach, margin
  const spread = half * reach;
  const turned = s.hulls.map((h) => rotated(h, angle));
  for (const side of s.sides) {
    const h = turned[side.piece];
    const need = s.needs[side.piece] + side.c;
    let least = Number.POSITIVE_INFINITY;
    for (let k = 0; k < h.length; k += 2) {
      const v = side.nx * h[k] + side.ny * h[k + 1];
      const g = Math.abs(side.ny * h[k] - side.nx * h[k + 1]);
      least = Math.min(least, v + g * half + (hypot(h[k], h[k + 1]) * half * half) / 2);
    }
    for (let k = 0; k < h.length; k += 2) {
      const v = side.nx * h[k] + side.ny * h[k + 1];
      const g = side.ny * h[k] - side.nx * h[k + 1];
      if (v - Math.abs(g) * half > least) continue;
      const e = (hypot(h[k], h[k + 1]) * half * half) / 2;
      rows.push(-side.nx, -side.ny, -g / reach, 1);
      limits.push(v + e - need);
    }
  }
  const kept: number[] = [];
  let [x0, y0, x1, y1] = [-1e5, -1e5, 1e5, 1e5];
  if (corners !== null) {
    const [ax, ay, bx, by, cx, cy] = corners;
    [x0, x1, y0, y1] = [Math.min(ax, bx, cx), Math.max(ax, bx, cx), Math.min(ay, by, cy), Math.max(ay, by, cy)];
    const area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
    const sign = area > 0 ? 1 : -1;
    for (const [ux, uy, vx, vy] of [
      [ax, ay, bx, by],
      [bx, by, cx, cy],
      [cx, cy, ax, ay],
    ]) {
      // inside: sign * cross(v - u, t - u) >= 0
      const l = hypot(vx - ux, vy - uy) * sign;
      rows.push((vy - uy) / l, -(vx - ux) / l, 0, 0);
      limits.push(((vy - uy) * ux - (vx - ux) * uy) / l);
    }
    const size = Math.max(hypot(bx - ax, by - ay), hypot(cx - bx, cy - by), hypot(ax - cx, ay - cy));
    const parts = new Map<Polygon, Polygon>();
    const d = [0, 0, 0];
    const g = [0, 0, 0];
    const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
    for (const id of cell.pairs) {
      const pair = s.pairs[id];
      if (atLeast(pair, cos, sin, ax, ay) - size - pair.reach * half - s.needs[pair.piece] > cut) continue;
      let part = parts.get(pair.part);
      if (part === undefined) {
        part = rotated(pair.part, angle);
        parts.set(pair.part, part);
      }
      const need = s.needs[pair.piece];
      let surely = Number.NEGATIVE_INFINITY;
      for (let k = 0; k < 3; k++) {
        const [tx, ty] = [corners[2 * k], corners[2 * k + 1]];
        nearest(part, tx, ty, pair.keepOut, SPOT);
        surely = Math.max(surely, SPOT.distance - size - pair.reach * half - need);
        const [wx, wy] = [SPOT.ax - tx, SPOT.ay - ty];
        const w = hypot(wx, wy);
        d[k] = SPOT.distance + w * half;
        g[k] = 0;
        if (SPOT.distance > 0) {
          const [nx, ny] = [(SPOT.ax - SPOT.bx) / SPOT.distance, (SPOT.ay - SPOT.by) / SPOT.distance];
          const along = ny * wx - nx * wy;
          const left = SPOT.distance - Math.abs(along) * half;
          if (left > 0) {
            const error = (w * half * half) / 2 + (half * half * Math.max(0, w * w - along * along)) / (2 * left);
            if (error < w * half) {
              d[k] = SPOT.distance + error;
              g[k] = along;
            }
          }
        }
      }
      if (surely > cut) continue;
      kept.push(id);
      const gMid = (Math.max(g[0], g[1], g[2]) + Math.min(g[0], g[1], g[2])) / 2;
      const gOff = (Math.max(g[0], g[1], g[2]) - Math.min(g[0], g[1], g[2])) / 2;
      // plane through the corners: d = d0 + sx (x - ax) + sy (y - ay)
      const [d1, d2] = [d[1] - d[0], d[2] - d[0]];
      const sx = (d1 * (cy - ay) - d2 * (by - ay)) / area;
      const sy = (d2 * (bx - ax) - d1 * (cx - ax)) / area;
      rows.push(-sx, -sy, -gMid / reach, 1);
      limits.push(d[0] - sx * ax - sy * ay + gOff * half - need);
    }
  }
  const solved = maximise({
    d: 4,
    rows: Float64Array.from(rows),
    limits: Float64Array.from(limits),
    count: limits.length,
    lower: [x0, y0, -spread, -1e6],
    upper: [x1, y1, spread, 1e6],
    c: [0, 0, 0, 1],
  });
  return solved === null ? null : { bound: solved.value, x: solved.x, pairs: kept };
}

/** A heap of cells, the largest bound on top. */
class Heap {
  private readonly cells: Cell[] = [];
  get top(): Cell | undefined {
    return this.cells[0];
  }
  push(cell: Cell): void {
    const a = this.cells;
    let k = a.push(cell) - 1;
    while (k > 0) {
      const up = (k - 1) >> 1;
      if (a[up].bound >= cell.bound) break;
      a[k] = a[up];
      k = up;
    }
    a[k] = cell;
  }
  pop(): Cell | undefined {
    const a = this.cells;
    const first = a[0];
    const last = a.pop();
    if (last === undefined || a.length === 0) return first;
    let k = 0;
    for (;;) {
      let m = 2 * k + 1;
      if (m >= a.length) break;
      if (m + 1 < a.length && a[m + 1].bound > a[m].bound) m++;
      if (a[m].bound <= last.bound) break;
      a[k] = a[m];
      k = m;
    }
    a[k] = last;
    return first;
  }
}

interface Best {
  margin: number;
  angle: number;
  x: number;
  y: number;
}

/** Of the shifts with the same smallest margin, one with the largest next margin: what may still slide comes to lie in the middle. */
function settle(s: Shapes, best: Best): Best {
  const turned = s.hulls.map((h) => rotated(h, best.angle));
  const lows = s.sides.map((side) => {
    const h = turned[side.piece];
    let low = Number.POSITIVE_INFINITY;
    for (let k = 0; k < h.length; k += 2) low = Math.min(low, side.nx * h[k] + side.ny * h[k + 1]);
    return low - side.c - s.needs[side.piece];
  });
  const box = { lower: [best.x - 1e4, best.y - 1e4], upper: [best.x + 1e4, best.y + 1e4] };
  const first = maximise({
    d: 3,
    rows: Float64Array.from(s.sides.flatMap((side) => [-side.nx, -side.ny, 1])),
    limits: Float64Array.from(lows),
    count: s.sides.length,
    lower: [...box.lower, -1e6],
    upper: [...box.upper, 1e6],
    c: [0, 0, 1],
  });
  // what holds the margin stays; where something else than outer sides holds it, all that touches stays
  const held = new Set(first !== null && first.value <= best.margin + 1e-6 ? first.binding.map((b) => b.row) : []);
  const tight = s.sides.map((side, k) =>
    held.size > 0 ? held.has(k) : lows[k] + side.nx * best.x + side.ny * best.y <= best.margin + 1e-6,
  );
  const solved = maximise({
    d: 3,
    rows: Float64Array.from(s.sides.flatMap((side, k) => [-side.nx, -side.ny, tight[k] ? 0 : 1])),
    limits: Float64Array.from(lows.map((low, k) => (tight[k] ? low - best.margin + 2e-9 : low))),
    count: s.sides.length,
    lower: [...box.lower, best.margin - 1e-6],
    upper: [...box.upper, 1e5],
    c: [0, 0, 1],
  });
  if (solved === null || !solved.optimal) return best;
  const [x, y] = solved.x;
  const m = measure(s, best.angle, x, y);
  return Math.min(m.sides, m.pairs) >= best.margin - 1e-8 ? { ...best, margin: Math.min(m.sides, m.pairs), x, y } : best;
}

/** The placement with the largest smallest margin, and the proof that none is better by more than the gap. Pure and repeatable. */
export function place(problem: PlacementProblem): Placed {
  const gap = problem.gap ?? 1e-4;
  const limit = problem.cells ?? 60000;
  const s = prepare(problem);
  const { min, max } = problem.rotation;
  let best: Best = { margin: Number.NEGATIVE_INFINITY, angle: 0, x: 0, y: 0 };
  const offer = (angle: number, x: number, y: number): { sides: number; pairs: number } => {
    const m = measure(s, angle, x, y);
    const margin = Math.min(m.sides, m.pairs);
    if (margin > best.margin) best = { margin, angle, x, y };
    return m;
  };
  const heap = new Heap();
  let cells = 0;
  /** Puts a cell on the heap with its bound, its best guess tried and the way it wants to be split. */
  const add = (angle: number, half: number, corners: readonly number[] | null, pairs: readonly number[], above: number): void => {
    cells++;
    const b = boundCell(s, { angle, half, corners, pairs }, above);
    if (b === null || b.bound <= best.margin + gap) return;
    const bound = Math.min(b.bound, above);
    const at = angle + Math.max(-half, Math.min(half, b.x[2] / s.reach));
    const m = offer(at, b.x[0], b.x[1]);
    if (bound <= best.margin + gap) return;
    let splitAngle = true;
    if (corners !== null && bound - m.pairs > bound - m.sides) {
      const [ax, ay, bx, by, cx, cy] = corners;
      const size = Math.max(hypot(bx - ax, by - ay), hypot(cx - bx, cy - by), hypot(ax - cx, ay - cy));
      splitAngle = half * s.reach > size;
    }
    heap.push({ bound, angle, half, corners, pairs: b.pairs, splitAngle });
  };
  const all = s.pairs.map((_, k) => k);
  const middle = (min + max) / 2;
  const half = (max - min) / 2;
  let triangles: (readonly number[] | null)[] = [null];
  if (all.length > 0) {
    const boxes = problem.within.map((r) => polygonBounds(r.polygon));
    const [x0, x1] = [Math.min(...boxes.map((b) => b.xMin)) - s.reach, Math.max(...boxes.map((b) => b.xMax)) + s.reach];
    const [y0, y1] = [Math.min(...boxes.map((b) => b.yMin)) - s.reach, Math.max(...boxes.map((b) => b.yMax)) + s.reach];
    triangles = [
      [x0, y0, x1, y0, x1, y1],
      [x0, y0, x1, y1, x0, y1],
    ];
  }
  // unrotated first: among equals the neck lies along the grain
  for (const angle of min <= 0 && max >= 0 ? [0, middle] : [middle]) {
    const b = boundCell(s, { angle, half: 0, corners: null, pairs: [] }, Number.POSITIVE_INFINITY);
    if (b !== null) offer(angle, b.x[0], b.x[1]);
  }
  for (const t of triangles) add(middle, half, t, all, Number.POSITIVE_INFINITY);
  while (cells < limit) {
    const top = heap.top;
    if (top === undefined || top.bound <= best.margin + gap) break;
    heap.pop();
    if (top.splitAngle) {
      for (const side of [-1, 1]) add(top.angle + (side * top.half) / 2, top.half / 2, top.corners, top.pairs, top.bound);
    } else {
      const [ax, ay, bx, by, cx, cy] = top.corners as readonly number[];
      const [ab, bc, ca] = [hypot(bx - ax, by - ay), hypot(cx - bx, cy - by), hypot(ax - cx, ay - cy)];
      const [p, q, r] =
        ab >= bc && ab >= ca
          ? [
              [ax, ay],
              [bx, by],
              [cx, cy],
            ]
          : bc >= ca
            ? [
                [bx, by],
                [cx, cy],
                [ax, ay],
              ]
            : [
                [cx, cy],
                [ax, ay],
                [bx, by],
              ];
      const m = [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2];
      add(top.angle, top.half, [...p, ...m, ...r], top.pairs, top.bound);
      add(top.angle, top.half, [...m, ...q, ...r], top.pairs, top.bound);
    }
  }
  best = settle(s, best);
  const open = heap.top?.bound ?? Number.NEGATIVE_INFINITY;
  const bound = Math.max(open, best.margin + gap);
  const contacts: Contact[] = [];
  measure(s, best.angle, best.x, best.y, (c) => {
    if (c.margin <= best.margin + 0.005 && !contacts.some((o) => hypot(o.x - c.x, o.y - c.y) < 0.01 && o.region === c.region))
      contacts.push(c);
  });
  const [c, sn] = [Math.cos(best.angle), Math.sin(best.angle)];
  const clear = measure(s, best.angle, best.x, best.y);
  return {
    rotation: best.angle,
    shift: { x: best.x - (c * s.px - sn * s.py), y: best.y - (sn * s.px + c * s.py) },
    margin: best.margin,
    bound,
    fits: clear.sides > 0 && clear.pairs > -Math.min(0, ...s.needs) && best.margin > 0,
    contacts,
    cells,
  };
}

/** The margin of a stated placement of the pieces: the same measure that `place` makes as large as can be. */
export function marginAt(
  problem: PlacementProblem,
  at: { readonly rotation: number; readonly shift: { readonly x: number; readonly y: number } },
  near = 0.005,
): { readonly margin: number; readonly contacts: readonly Contact[] } {
  const s = prepare(problem);
  const [c, sn] = [Math.cos(at.rotation), Math.sin(at.rotation)];
  const contacts: Contact[] = [];
  const x = at.shift.x + c * s.px - sn * s.py;
  const y = at.shift.y + sn * s.px + c * s.py;
  const m = measure(s, at.rotation, x, y, (k) => contacts.push(k));
  const margin = Math.min(m.sides, m.pairs);
  return { margin, contacts: contacts.filter((k) => k.margin <= margin + near).sort((a, b) => a.margin - b.margin) };
}
