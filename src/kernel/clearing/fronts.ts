import type { Mm } from "../../units/index.ts";
import { distances, type Grid, valueAt, type Window } from "./grid.ts";
import type { Uncut } from "./uncut.ts";

/*
 * A coarser map over the same rectangle: which cells hold something uncut that the disc can reach, how far it is from every
 * place to the nearest such cell, and so where the disc's centre is free to go, and where it touches the front.
 */
const COARSE = 2;
/** Cells within which a free centre counts as touching the front. */
const TOUCH = 2.4;
const [NOT_FREE, FREE, BESIDE] = [0, 1, 2];

export interface Place {
  readonly x: Mm;
  readonly y: Mm;
}

export class Fronts {
  readonly grid: Grid;
  /** Distance to what is uncut and within reach, mm; held to `reach`. */
  readonly d: Float32Array;
  /** Centres allowed, by the sign of the field at the coarse cell's centre; none on the map's border, so that every place has eight neighbours. */
  private readonly may: Uint8Array;
  /** What `may` and `d` come to: NOT_FREE, FREE, or BESIDE the front. */
  private readonly free: Uint8Array;
  private readonly holds: Uint8Array;
  private readonly banned: Uint8Array;
  private readonly seen: Int32Array;
  private readonly from: Int32Array;
  private readonly queue: Int32Array;
  private mark = 0;
  private readonly u: Uncut;
  private readonly target: Uint8Array;
  private readonly far: Mm;

  /** `target`: fine cells that are to be cleared. */
  constructor(u: Uncut, fine: Float32Array, target: Uint8Array) {
    const g = u.grid;
    const nx = Math.ceil(g.nx / COARSE);
    const ny = Math.ceil(g.ny / COARSE);
    const cell = g.cell * COARSE;
    const half = ((COARSE - 1) * g.cell) / 2;
    this.grid = { nx, ny, x0: g.x0 + half, y0: g.y0 + half, cell };
    this.u = u;
    this.target = target;
    this.far = u.radius + 5 * cell;
    const n = nx * ny;
    this.d = new Float32Array(n).fill(this.far);
    this.may = new Uint8Array(n);
    this.free = new Uint8Array(n);
    this.holds = new Uint8Array(n);
    this.banned = new Uint8Array(n);
    this.seen = new Int32Array(n);
    this.from = new Int32Array(n);
    this.queue = new Int32Array(n);
    for (let j = 1; j < ny - 1; j++)
      for (let p = j * nx + 1; p < (j + 1) * nx - 1; p++) if (valueAt(g, fine, this.x(p), this.y(p), -1) >= 0) this.may[p] = 1;
    this.renew({ i0: 0, j0: 0, i1: g.nx - 1, j1: g.ny - 1 });
  }

  x(p: number): Mm {
    return this.grid.x0 + (p % this.grid.nx) * this.grid.cell;
  }

  y(p: number): Mm {
    return this.grid.y0 + Math.floor(p / this.grid.nx) * this.grid.cell;
  }

  /** Looks anew at a window of fine cells (grown to all that it can change). */
  renew(fine: Window): void {
    const { u, target, holds, d, far, may, free } = this;
    const { nx, ny, cell } = this.grid;
    const fnx = u.grid.nx;
    const fny = u.grid.ny;
    const i0 = Math.max(0, Math.floor(fine.i0 / COARSE));
    const j0 = Math.max(0, Math.floor(fine.j0 / COARSE));
    const i1 = Math.min(nx - 1, Math.floor(fine.i1 / COARSE));
    const j1 = Math.min(ny - 1, Math.floor(fine.j1 / COARSE));
    if (i0 > i1 || j0 > j1) return;
    for (let j = j0; j <= j1; j++)
      for (let i = i0; i <= i1; i++) {
        let any = 0;
        for (let b = j * COARSE; b < Math.min(fny, (j + 1) * COARSE) && !any; b++)
          for (let a = i * COARSE; a < Math.min(fnx, (i + 1) * COARSE); a++)
            if (target[b * fnx + a] && u.m[b * fnx + a] > LEAST) {
              any = 1;
              break;
            }
        holds[j * nx + i] = any;
      }
    const reach = Math.ceil(far / cell);
    const inner = {
      i0: Math.max(0, i0 - reach),
      j0: Math.max(0, j0 - reach),
      i1: Math.min(nx - 1, i1 + reach),
      j1: Math.min(ny - 1, j1 + reach),
    };
    const outer = {
      i0: Math.max(0, inner.i0 - reach),
      j0: Math.max(0, inner.j0 - reach),
      i1: Math.min(nx - 1, inner.i1 + reach),
      j1: Math.min(ny - 1, inner.j1 + reach),
    };
    const found = distances(nx, holds, outer);
    const w = outer.i1 - outer.i0 + 1;
    for (let j = inner.j0; j <= inner.j1; j++)
      for (let i = inner.i0; i <= inner.i1; i++) {
        const p = j * nx + i;
        d[p] = Math.min(far, found[(j - outer.j0) * w + i - outer.i0] * cell);
        free[p] = may[p] === 0 || d[p] < u.radius ? NOT_FREE : d[p] < u.radius + TOUCH * cell ? BESIDE : FREE;
      }
  }

  /** Whether the centre may be at coarse cell p and the disc touches nothing there. */
  isFree(p: number): boolean {
    return this.free[p] !== NOT_FREE;
  }

  private touches(p: number): boolean {
    return this.free[p] === BESIDE && this.banned[p] === 0;
  }

  private cellAt(x: Mm, y: Mm): number {
    const { nx, ny, x0, y0, cell } = this.grid;
    const i = Math.max(0, Math.min(nx - 1, Math.round((x - x0) / cell)));
    const j = Math.max(0, Math.min(ny - 1, Math.round((y - y0) / cell)));
    return j * nx + i;
  }

  /** Nearest free place by a way through free places from (x, y), that touches the front; -1 when there is none. */
  nearestByWay(x: Mm, y: Mm): number {
    return this.search(x, y, -1);
  }

  /**
   * Breadth first through free cells (the first may be not quite free: the disc stands there) to one beside `goal` or, where that is -1, one that
   * touches the front.
   */
  private search(x: Mm, y: Mm, goal: number): number {
    const { seen, from, queue, free, banned } = this;
    const { nx, ny } = this.grid;
    const gi = goal % nx;
    const gj = Math.floor(goal / nx);
    const next = NEXT_I.map((di, k) => NEXT_J[k] * nx + di);
    const mark = ++this.mark;
    const start = this.cellAt(x, y);
    let head = 0;
    let tail = 0;
    const { i, j } = { i: start % nx, j: Math.floor(start / nx) };
    // where the disc stands may be between free cells
    for (let b = Math.max(0, j - 2); b <= Math.min(ny - 1, j + 2); b++)
      for (let a = Math.max(0, i - 2); a <= Math.min(nx - 1, i + 2); a++) {
        const p = b * nx + a;
        if (!this.isFree(p)) continue;
        seen[p] = mark;
        from[p] = -1;
        queue[tail++] = p;
      }
    while (head < tail) {
      const p = queue[head++];
      if (goal < 0) {
        if (free[p] === BESIDE && banned[p] === 0) return p;
      } else if (Math.abs((p % nx) - gi) <= 1 && Math.abs(Math.floor(p / nx) - gj) <= 1) return p;
      for (let k = 0; k < 8; k++) {
        const q = p + next[k];
        if (free[q] === NOT_FREE || seen[q] === mark) continue;
        seen[q] = mark;
        from[q] = p;
        queue[tail++] = q;
      }
    }
    return -1;
  }

  /** The way through free places from a to b, corners pulled straight; null when there is none. Both ends as given. */
  way(a: Place, b: Place, clear: (x0: Mm, y0: Mm, x1: Mm, y1: Mm) => boolean): number[] | null {
    if (clear(a.x, a.y, b.x, b.y)) return [a.x, a.y, b.x, b.y];
    const goal = this.cellAt(b.x, b.y);
    let p = this.search(a.x, a.y, goal);
    if (p < 0) return null;
    const back: number[] = [b.x, b.y];
    for (; p >= 0; p = this.from[p]) back.push(this.x(p), this.y(p));
    back.push(a.x, a.y);
    const pts: number[] = [];
    for (let k = back.length - 2; k >= 0; k -= 2) pts.push(back[k], back[k + 1]);
    // pull straight: from every kept place to the farthest that is seen from it
    const out = [pts[0], pts[1]];
    const n = pts.length / 2;
    let at = 0;
    while (at < n - 1) {
      let to = at + 1;
      for (let jump = 1; at + jump < n; jump *= 2)
        if (clear(pts[2 * at], pts[2 * at + 1], pts[2 * (at + jump)], pts[2 * (at + jump) + 1])) to = at + jump;
        else break;
      for (let k = Math.min(n - 1, to + (to - at)); k > to; k--)
        if (clear(pts[2 * at], pts[2 * at + 1], pts[2 * k], pts[2 * k + 1])) {
          to = k;
          break;
        }
      if (to === at + 1 && !clear(pts[2 * at], pts[2 * at + 1], pts[2 * to], pts[2 * to + 1])) return null;
      out.push(pts[2 * to], pts[2 * to + 1]);
      at = to;
    }
    return out;
  }

  /** Nearest free place that touches the front, as the crow flies; -1 when there is none. */
  nearest(x: Mm, y: Mm): number {
    let best = -1;
    let least = Infinity;
    const n = this.d.length;
    for (let p = 0; p < n; p++) {
      if (!this.touches(p)) continue;
      const l = (this.x(p) - x) ** 2 + (this.y(p) - y) ** 2;
      if (l < least) {
        least = l;
        best = p;
      }
    }
    return best;
  }

  /**
   * Walks along the front from a free place, the uncut on the right when `side` is +1: to where the front ends (a wall, the
   * end of what is uncut), or once around it. Returns the last place, the heading there, and the length.
   */
  walk(x: Mm, y: Mm, side: 1 | -1, longest: Mm): { x: Mm; y: Mm; h: number; length: Mm; around: boolean } {
    const { cell } = this.grid;
    const step = cell;
    const want = this.u.radius + 1.1 * cell;
    const far = this.u.radius + TOUCH * cell;
    const [sx, sy] = [x, y];
    let length = 0;
    let h = 0;
    let away = false;
    let [tx, ty] = [0, 0];
    while (length < longest) {
      const g = this.slope(x, y);
      if (g === null) break;
      // toward the uncut, then along with it on the right (left)
      const [ux, uy] = [-side * g.y, side * g.x];
      if (length > 0 && ux * tx + uy * ty < -0.2) break;
      [tx, ty] = [ux, uy];
      h = Math.atan2(uy, ux);
      const off = Math.max(-1, Math.min(1, (g.d - want) / cell)) * 0.7;
      const vx = ux + g.x * off;
      const vy = uy + g.y * off;
      const l = Math.hypot(vx, vy);
      const nx = x + (vx / l) * step;
      const ny = y + (vy / l) * step;
      const p = this.cellAt(nx, ny);
      if (!this.isFree(p) || this.d[p] >= far) break;
      x = nx;
      y = ny;
      length += step;
      const home = Math.hypot(x - sx, y - sy);
      if (home > 4 * cell) away = true;
      else if (away && home < 1.5 * cell) return { x, y, h, length, around: true };
    }
    return { x, y, h, length, around: false };
  }

  /** Unit vector toward what is uncut, and the distance, at a place; null where it is not told. */
  slope(x: Mm, y: Mm): { x: number; y: number; d: Mm } | null {
    const { grid, d, far } = this;
    const e = grid.cell;
    const at = valueAt(grid, d, x, y, far);
    if (at >= far) return null;
    const dx = valueAt(grid, d, x + e, y, far) - valueAt(grid, d, x - e, y, far);
    const dy = valueAt(grid, d, x, y + e, far) - valueAt(grid, d, x, y - e, far);
    const l = Math.hypot(dx, dy);
    if (l < 0.3 * e) return null;
    return { x: -dx / l, y: -dy / l, d: at };
  }

  /** Forbids starts within `radius` of a place, or allows all again. */
  ban(x: Mm, y: Mm, radius: Mm): void {
    const { nx, ny, x0, y0, cell } = this.grid;
    const r = Math.max(1, Math.round(radius / cell));
    const ci = Math.round((x - x0) / cell);
    const cj = Math.round((y - y0) / cell);
    for (let j = Math.max(0, cj - r); j <= Math.min(ny - 1, cj + r); j++)
      for (let i = Math.max(0, ci - r); i <= Math.min(nx - 1, ci + r); i++)
        if ((i - ci) ** 2 + (j - cj) ** 2 <= r * r) this.banned[j * nx + i] = 1;
  }

  unban(): void {
    this.banned.fill(0);
  }

  /** Of all allowed centres over something uncut the one with the most room around it, and that room; null when there is none. */
  deepest(room: Float32Array, tried: Uint8Array): { p: number; room: Mm } | null {
    const { may, d } = this;
    let best = -1;
    let most = 0;
    for (let p = 0; p < d.length; p++) {
      if (!may[p] || tried[p] || d[p] > this.u.radius * 0.5) continue;
      if (room[p] > most) {
        most = room[p];
        best = p;
      }
    }
    return best < 0 ? null : { p: best, room: most };
  }

  /** Distance from every allowed coarse centre to the nearest that is not, mm. */
  room(): Float32Array {
    const { nx, ny, cell } = this.grid;
    // a border of cells that are not allowed around the map
    const w = nx + 2;
    const not = new Uint8Array(w * (ny + 2)).fill(1);
    for (let j = 0; j < ny; j++) for (let i = 0; i < nx; i++) if (this.may[j * nx + i]) not[(j + 1) * w + i + 1] = 0;
    const found = distances(w, not, { i0: 0, j0: 0, i1: w - 1, j1: ny + 1 });
    const out = new Float32Array(nx * ny);
    for (let j = 0; j < ny; j++) for (let i = 0; i < nx; i++) out[j * nx + i] = Math.max(0, found[(j + 1) * w + i + 1] - 0.7) * cell;
    return out;
  }
}

/** What is left thinner than this (signed distance, mm) is not gone after. */
const LEAST: Mm = 0.03;
const NEXT_I = [1, 0, -1, 0, 1, -1, -1, 1];
const NEXT_J = [0, 1, 0, -1, 1, 1, -1, -1];
