import type { Mm, Rad } from "../../units/index.ts";
import { openUncut, type UncutKernel } from "../wasm/clearing.ts";
import { type Grid, valueAt } from "./grid.ts";

/** What reaches less than this into the disc's rim is taken for nothing. */
const GRAZE: Mm = 0.005;
const FRONT = 36;

/**
 * Where there is still something to take away: per cell the signed distance to its edge (positive: uncut), lowered by the sweep
 * of a disc along capsules. Edges are known to a few micrometres, not to a cell.
 */
export class Uncut {
  readonly grid: Grid;
  readonly m: Float32Array;
  readonly radius: Mm;
  private readonly band: Mm;
  private readonly cos = new Float64Array(FRONT + 1);
  private readonly sin = new Float64Array(FRONT + 1);
  /** Null: in plain TypeScript, with the same results. */
  private readonly kernel: UncutKernel | null;

  constructor(grid: Grid, m: Float32Array, radius: Mm, band: Mm) {
    this.grid = grid;
    this.radius = radius;
    this.band = band;
    for (let k = 0; k <= FRONT; k++) {
      const a = Math.PI * (k / FRONT - 0.5);
      this.cos[k] = Math.cos(a);
      this.sin[k] = Math.sin(a);
    }
    this.kernel = openUncut(grid, m, radius, band, this.cos, this.sin);
    this.m = this.kernel?.m ?? m;
  }

  /** Angle of the disc's front half (about (x, y), going along the unit vector (ux, uy)) that stands in what is uncut. */
  met(x: Mm, y: Mm, ux: number, uy: number): Rad {
    if (this.kernel !== null) return this.kernel.met(x, y, ux, uy);
    const { m, radius: r, cos, sin } = this;
    const { nx, ny, x0, y0, cell } = this.grid;
    const inv = 1 / cell;
    const gx = (x - x0) * inv;
    const gy = (y - y0) * inv;
    const rx = r * ux * inv;
    const ry = r * uy * inv;
    let sum = 0;
    let before = -1;
    for (let k = 0; k <= FRONT; k++) {
      const c = cos[k];
      const s = sin[k];
      const fx = gx + c * rx - s * ry;
      const fy = gy + s * rx + c * ry;
      const i = Math.floor(fx);
      const j = Math.floor(fy);
      let v = -1;
      if (i >= 0 && j >= 0 && i < nx - 1 && j < ny - 1) {
        const p = j * nx + i;
        const q = p + nx;
        const tx = fx - i;
        const a = m[p] + (m[p + 1] - m[p]) * tx;
        const b = m[q] + (m[q + 1] - m[q]) * tx;
        v = a + (b - a) * (fy - j) - GRAZE;
      }
      if (k > 0) {
        if (v > 0) sum += before > 0 ? 1 : v / (v - before);
        else if (before > 0) sum += before / (before - v);
      }
      before = v;
    }
    return (sum * Math.PI) / FRONT;
  }

  /** Whether the disc can stand at (x, y) without touching anything uncut: its rim, and its middle. */
  isFree(x: Mm, y: Mm): boolean {
    return this.met(x, y, 1, 0) === 0 && this.met(x, y, -1, 0) === 0 && this.at(x, y) <= 0;
  }

  /** Signed distance into what is uncut. */
  depthAt(x: Mm, y: Mm): Mm {
    return valueAt(this.grid, this.m, x, y, -1);
  }

  at(x: Mm, y: Mm): number {
    const { nx, ny, x0, y0, cell } = this.grid;
    const i = Math.round((x - x0) / cell);
    const j = Math.round((y - y0) / cell);
    return i >= 0 && j >= 0 && i < nx && j < ny ? this.m[j * nx + i] : -1;
  }

  /** Takes away what the disc sweeps from a to b. `joined`: it has stood at a before. */
  sweep(ax: Mm, ay: Mm, bx: Mm, by: Mm, joined: boolean): void {
    if (this.kernel !== null) {
      this.kernel.sweep(ax, ay, bx, by, joined);
      return;
    }
    const { m, radius: r, band } = this;
    const { nx, ny, x0, y0, cell } = this.grid;
    const dx = bx - ax;
    const dy = by - ay;
    const l2 = dx * dx + dy * dy;
    const inv = l2 > 0 ? 1 / l2 : 0;
    const wide = r + band;
    const wide2 = wide * wide;
    const deep = Math.max(0, r - band);
    const deep2 = deep * deep;
    const j0 = Math.max(0, Math.ceil((Math.min(ay, by) - wide - y0) / cell));
    const j1 = Math.min(ny - 1, Math.floor((Math.max(ay, by) + wide - y0) / cell));
    const i0 = Math.max(0, Math.ceil((Math.min(ax, bx) - wide - x0) / cell));
    const i1 = Math.min(nx - 1, Math.floor((Math.max(ax, bx) + wide - x0) / cell));
    const wall = 1 / Math.max(1e-12, Math.abs(dy));
    const len = Math.sqrt(l2);
    for (let j = j0; j <= j1; j++) {
      const y = y0 + j * cell - ay;
      let lo = i0;
      let hi = i1;
      if (len > r) {
        // a long sweep: only where the slab (or an end) can be
        const c = y * dx * (dy < 0 ? -wall : wall);
        const s = wide * len * wall;
        lo = Math.max(i0, Math.ceil((ax + c - s - x0) / cell));
        hi = Math.min(i1, Math.floor((ax + c + s - x0) / cell));
      }
      let skip = nx;
      let skipTo = 0;
      if (joined && deep2 > y * y) {
        const w = Math.sqrt(deep2 - y * y);
        skip = Math.ceil((ax - w - x0) / cell);
        skipTo = Math.floor((ax + w - x0) / cell) + 1;
      }
      const row = j * nx;
      for (let i = lo; i <= hi; i++) {
        if (i >= skip && i < skipTo) {
          i = skipTo;
          if (i > hi) break;
        }
        const x = x0 + i * cell - ax;
        let t = (x * dx + y * dy) * inv;
        if (t < 0) {
          if (joined) continue;
          t = 0;
        } else if (t > 1) t = 1;
        const ex = x - t * dx;
        const ey = y - t * dy;
        const d2 = ex * ex + ey * ey;
        if (d2 >= wide2) continue;
        const d = d2 <= deep2 ? -band : Math.sqrt(d2) - r;
        const p = row + i;
        if (d < m[p]) m[p] = d;
      }
    }
  }
}
