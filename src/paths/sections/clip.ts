import { MoveKind, type MoveList } from "../../kernel/moves.ts";
import type { Mm } from "../../units/index.ts";

/*
 * Moves cut off at a window along one axis. A stroke is a run of feed moves between rapids; what of it lies in the window is one or more
 * pieces:
 *
 *      lo                hi
 *       |   .-----------.|...        <- piece 1 ends at the edge
 *   ....|...'            |  :
 *       |    .-----------|..'        <- piece 2 begins at it
 */

/** Feed moves within a window; arcs stay arcs of the same circle. */
export interface Piece {
  readonly start: readonly [Mm, Mm, Mm];
  /** True where the stroke itself begins here; false where it comes in over the window's edge. */
  readonly planned: boolean;
  readonly moves: readonly PieceMove[];
}

export interface PieceMove {
  readonly kind: number;
  readonly x: Mm;
  readonly y: Mm;
  readonly z: Mm;
  readonly feed: number;
  readonly cx: Mm;
  readonly cy: Mm;
  readonly cz: Mm;
  readonly sweep: number;
  readonly plane: number;
}

/** Of a move, the coordinates in the order (u, v) of its plane, and along the plane's normal. */
const U = [0, 2, 1] as const;
const V = [1, 0, 2] as const;
const W = [2, 1, 0] as const;

/** Shares of a move, ascending, at which it crosses a place along an axis. */
function crossings(from: readonly [Mm, Mm, Mm], m: PieceMove, axis: 0 | 1, at: Mm): number[] {
  const to = [m.x, m.y, m.z];
  if (m.kind === MoveKind.line) {
    const d = to[axis] - from[axis];
    if (d === 0) return [];
    const t = (at - from[axis]) / d;
    return t > 0 && t < 1 ? [t] : [];
  }
  if (m.kind !== MoveKind.arc) return [];
  if (axis === W[m.plane]) {
    const d = to[axis] - from[axis];
    const t = d === 0 ? -1 : (at - from[axis]) / d;
    return t > 0 && t < 1 ? [t] : [];
  }
  const c = [m.cx, m.cy, m.cz];
  const du = from[U[m.plane]] - c[U[m.plane]];
  const dv = from[V[m.plane]] - c[V[m.plane]];
  const r = Math.hypot(du, dv);
  const a0 = Math.atan2(dv, du);
  const share = (at - c[axis]) / r;
  if (!(Math.abs(share) < 1)) return [];
  // the angle at which the axis' component is `share`: cosine on u, sine on v
  const base = axis === U[m.plane] ? 0 : Math.PI / 2;
  const half = Math.acos(share);
  const out: number[] = [];
  for (const a of [base - half, base + half]) {
    for (let turn = -2; turn <= 2; turn++) {
      const t = (a + turn * 2 * Math.PI - a0) / m.sweep;
      if (t > 1e-12 && t < 1 - 1e-12) out.push(t);
    }
  }
  return out.sort((p, q) => p - q);
}

/** Where a move stands at a share of it. */
export function placeOn(from: readonly [Mm, Mm, Mm], m: PieceMove, t: number): [Mm, Mm, Mm] {
  if (t >= 1) return [m.x, m.y, m.z];
  const to = [m.x, m.y, m.z];
  const out: [Mm, Mm, Mm] = [0, 1, 2].map((a) => from[a] + (to[a] - from[a]) * t) as [Mm, Mm, Mm];
  if (m.kind !== MoveKind.arc) return out;
  const [u, v] = [U[m.plane], V[m.plane]];
  const c = [m.cx, m.cy, m.cz];
  const a = Math.atan2(from[v] - c[v], from[u] - c[u]) + m.sweep * t;
  const r0 = Math.hypot(from[u] - c[u], from[v] - c[v]);
  const r1 = Math.hypot(to[u] - c[u], to[v] - c[v]);
  const r = r0 + (r1 - r0) * t;
  out[u] = c[u] + r * Math.cos(a);
  out[v] = c[v] + r * Math.sin(a);
  return out;
}

/** The part of a move from share t0 to share t1; its end is given. */
const part = (m: PieceMove, t0: number, t1: number, end: readonly [Mm, Mm, Mm]): PieceMove => ({
  ...m,
  x: end[0],
  y: end[1],
  z: end[2],
  sweep: m.sweep * (t1 - t0),
});

/** What of a stroke from `start` lies within [lo, hi] along an axis. */
export function clipStroke(start: readonly [Mm, Mm, Mm], stroke: readonly PieceMove[], axis: 0 | 1, lo: Mm, hi: Mm): Piece[] {
  const out: Piece[] = [];
  let open: { start: readonly [Mm, Mm, Mm]; planned: boolean; moves: PieceMove[] } | null = null;
  let from = start;
  let first = true;
  const within = (p: readonly [Mm, Mm, Mm]): boolean => p[axis] >= lo - 1e-9 && p[axis] <= hi + 1e-9;
  const close = (): void => {
    if (open !== null && open.moves.length > 0) out.push(open);
    open = null;
  };
  for (const m of stroke) {
    const end: [Mm, Mm, Mm] = [m.x, m.y, m.z];
    if (m.kind === MoveKind.dwell) {
      if (open !== null) open.moves.push(m);
      continue;
    }
    const cuts = [0, ...[...crossings(from, m, axis, lo), ...crossings(from, m, axis, hi)].sort((p, q) => p - q), 1];
    let here = from;
    for (let k = 1; k < cuts.length; k++) {
      const [t0, t1] = [cuts[k - 1], cuts[k]];
      if (t1 - t0 < 1e-12 && t1 < 1) continue;
      const there = t1 >= 1 ? end : placeOn(from, m, t1);
      if (within(placeOn(from, m, (t0 + t1) / 2))) {
        if (open === null) open = { start: here, planned: first && t0 === 0, moves: [] };
        open.moves.push(t0 === 0 && t1 === 1 ? m : part(m, t0, t1, there));
      } else close();
      here = there;
    }
    from = end;
    first = false;
  }
  close();
  return out;
}

/** One move of a list as a record. */
export const moveAt = (m: MoveList, k: number): PieceMove => ({
  kind: m.kind[k],
  x: m.x[k],
  y: m.y[k],
  z: m.z[k],
  feed: m.feed[k],
  cx: m.cx[k],
  cy: m.cy[k],
  cz: m.cz[k],
  sweep: m.sweep[k],
  plane: m.plane[k],
});

/** From leaving the safe height to being back at it: indices from <= k < to, and the reach along an axis. */
export interface Island {
  readonly from: number;
  readonly to: number;
  readonly min: Mm;
  readonly max: Mm;
}

/** Splits a cut where it stands at the safe height. Moves at that height belong to none. */
export function islands(m: MoveList, axis: 0 | 1, safeZ: Mm): Island[] {
  const out: Island[] = [];
  const along = axis === 0 ? m.x : m.y;
  let from = -1;
  let min = 0;
  let max = 0;
  let prev = m.start[axis];
  let low = m.start[2] < safeZ - 1e-6;
  for (let k = 0; k < m.count; k++) {
    const nowLow = m.z[k] < safeZ - 1e-6;
    if (nowLow || low) {
      if (from < 0) {
        from = k;
        min = max = prev;
      }
      min = Math.min(min, prev, along[k]);
      max = Math.max(max, prev, along[k]);
      if (m.kind[k] === MoveKind.arc && W[m.plane[k]] !== axis) {
        const c = axis === 0 ? m.cx[k] : m.cy[k];
        const start: [Mm, Mm, Mm] = k > 0 ? [m.x[k - 1], m.y[k - 1], m.z[k - 1]] : [m.start[0], m.start[1], m.start[2]];
        const one = moveAt(m, k);
        const u = start[U[one.plane]] - [m.cx[k], m.cy[k], m.cz[k]][U[one.plane]];
        const v = start[V[one.plane]] - [m.cx[k], m.cy[k], m.cz[k]][V[one.plane]];
        const r = Math.hypot(u, v);
        for (const s of [-r, r])
          if (crossings(start, one, axis, c + s * (1 - 1e-9)).length > 0) {
            min = Math.min(min, c + s);
            max = Math.max(max, c + s);
          }
      }
    }
    if (from >= 0 && !nowLow) {
      out.push({ from, to: k + 1, min, max });
      from = -1;
    }
    prev = along[k];
    low = nowLow;
  }
  if (from >= 0) out.push({ from, to: m.count, min, max });
  return out;
}
