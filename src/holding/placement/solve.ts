import { type Polygon, polygonBounds } from "../../kernel/polygon.ts";
import { nearest } from "./convex.ts";
import { Heap } from "./heap.ts";
import { maximise } from "./lp.ts";
import { atLeast, hypot, measure, prepare, rotated, type Shapes, SPOT } from "./shapes.ts";
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

interface Cell {
  readonly bound: number;
  readonly angle: number;
  readonly half: number;
  /** Three corners of the triangle of shifts; null when nothing depends on it. */
  readonly corners: readonly number[] | null;
  readonly pairs: readonly number[];
  readonly splitAngle: boolean;
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
  const heap = new Heap<Cell>();
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
