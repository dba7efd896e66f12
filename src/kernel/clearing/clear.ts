import type { Mm, Mm2, Rad } from "../../units/index.ts";
import type { Polygon } from "../polygon.ts";
import { Fronts, type Place } from "./fronts.ts";
import { distances, type Grid, gridAround, signedField, valueAt } from "./grid.ts";
import { type MarchOptions, march } from "./march.ts";
import { Uncut } from "./uncut.ts";

/*
 * Clears a region with a disc whose rim never meets more than a given angle of what is uncut: passes along the front, each
 * steered to the angle aimed at. What has been swept is kept as a signed distance; a long open strip becomes long passes,
 * a closed lane short strokes, an island is gone around, without any of them being told apart.
 */
export interface ClearingOptions {
  readonly radius: Mm;
  /** Most of the rim that may stand in what is uncut, rad. */
  readonly limit: Rad;
  /** Uncut on the right of the travel only, or on either side (fewer ways back). Default either. */
  readonly side?: "right" | "either";
  /** Where the disc comes from. */
  readonly from?: Place;
  /** Ways over cleared ground longer than this are lifted over instead. */
  readonly longestLink?: Mm;
  /** Grid cell; default radius / 16. */
  readonly cell?: Mm;
  /** Refuses to think longer than this many passes. */
  readonly mostPasses?: number;
}

/** One stretch of the centre's way, x, y pairs; `helix` is a full circle to sink along, counter-clockwise, at `radius` about a centre. */
export type Stretch =
  | { readonly kind: "cut" | "link"; readonly xy: Float64Array }
  | { readonly kind: "helix"; readonly x: Mm; readonly y: Mm; readonly radius: Mm };

export interface Clearing {
  /** In order; between a stretch and one that begins elsewhere the disc is lifted. */
  readonly stretches: readonly Stretch[];
  /** What is left within reach of the disc, and the part of it where no pass within the limit can go (lanes as wide as the disc). */
  readonly left: Mm2;
  readonly target: Mm2;
}

/** Share of the limit aimed at, and the share never exceeded on the path's own samples. */
const AIM = 0.95;
const MOST = 0.985;
/** A pass that takes less than this (in squares of the radius) is not tried again from there. */
const LITTLE = 0.02;

/** Whether a cell of the map that is not 0 in `holds` lies within r of a place. */
export function holdsWithin(grid: Grid, holds: Uint8Array, x: Mm, y: Mm, r: Mm): boolean {
  const { nx, ny, x0, y0, cell } = grid;
  const i0 = Math.max(0, Math.ceil((x - r - x0) / cell));
  const i1 = Math.min(nx - 1, Math.floor((x + r - x0) / cell));
  const j0 = Math.max(0, Math.ceil((y - r - y0) / cell));
  const j1 = Math.min(ny - 1, Math.floor((y + r - y0) / cell));
  for (let j = j0; j <= j1; j++)
    for (let i = i0; i <= i1; i++) if (holds[j * nx + i] !== 0 && Math.hypot(x0 + i * cell - x, y0 + j * cell - y) < r) return true;
  return false;
}

export class Clearer {
  readonly grid: Grid;
  private readonly o: ClearingOptions;
  private readonly u: Uncut;
  private readonly band: Mm;
  private at: Place | null;
  private readonly out: Stretch[] = [];
  /** Cells that held something at the beginning. */
  private readonly wood: Uint8Array;
  private readonly whole: Float32Array;
  /** Within reach of the last clearing. */
  private target: Uint8Array | null = null;

  /**
   * `box`: rings around all that will be allowed; `wood`: where there is something to take away. `like`: a clearing of the same
   * box, wood and cell, whose first fields are taken over.
   */
  constructor(box: readonly Polygon[], wood: readonly Polygon[], o: ClearingOptions, like?: Clearer) {
    this.o = o;
    const cell = o.cell ?? o.radius / 16;
    this.band = 2.5 * cell;
    this.grid = gridAround(box, o.radius + 3 * cell, cell);
    this.whole = like === undefined ? signedField(this.grid, wood, this.band) : like.whole;
    this.u = new Uncut(this.grid, this.whole.slice(), o.radius, this.band);
    this.at = o.from ?? null;
    this.wood = Uint8Array.from(this.u.m, (v) => (v > 0 ? 1 : 0));
  }

  /** Clears what can be reached from the centres where `allowed` (a field of this grid) is not negative. */
  clear(allowed: Float32Array): Clearing {
    const { u, grid, o } = this;
    const r = o.radius;
    const target = this.reachable(allowed);
    this.target = target;
    const fronts = new Fronts(u, allowed, target);
    const first = this.out.length;
    const marching: MarchOptions = {
      step: r / 14,
      ahead: 0.3 * r,
      leastRadius: 0.25 * r,
      aim: AIM * o.limit,
      most: MOST * o.limit,
    };
    const isClear = (x0: Mm, y0: Mm, x1: Mm, y1: Mm): boolean => this.isClear(allowed, x0, y0, x1, y1);
    const span = Math.hypot(grid.nx, grid.ny) * grid.cell;
    let room: Float32Array | null = null;
    const tried = new Uint8Array(fronts.d.length);
    let forgiven = 0;
    for (let n = 0; n < (o.mostPasses ?? 20_000); n++) {
      const here = this.at;
      let p = here === null ? -1 : fronts.nearestByWay(here.x, here.y);
      if (p < 0) p = fronts.nearest(here?.x ?? grid.x0, here?.y ?? grid.y0);
      if (p < 0) {
        room ??= fronts.room();
        if (this.sink(fronts, room, tried, allowed)) continue;
        if (forgiven++ >= 2) break;
        fronts.unban();
        continue;
      }
      const [px, py] = [fronts.x(p), fronts.y(p)];
      const back = fronts.walk(px, py, -1, span * 4);
      // walking with the uncut on the left, turned around, it is on the right
      let start = { x: back.x, y: back.y, h: back.h + Math.PI, side: 1 as 1 | -1 };
      if (back.around) {
        const s = fronts.slope(px, py);
        start = { x: px, y: py, h: s === null ? back.h : Math.atan2(s.x, -s.y), side: 1 };
      } else if (o.side !== "right") {
        const on = fronts.walk(px, py, 1, span * 4);
        const d = (q: Place): Mm => (here === null ? 0 : Math.hypot(q.x - here.x, q.y - here.y));
        if (d(on) < d(back)) start = { x: on.x, y: on.y, h: on.h + Math.PI, side: -1 };
      }
      if (!this.isClear(allowed, start.x, start.y, start.x, start.y)) start = { ...start, ...this.nudged(fronts, allowed, start) };
      if (!this.isClear(allowed, start.x, start.y, start.x, start.y)) {
        fronts.ban(px, py, 2 * fronts.grid.cell);
        continue;
      }
      const pass = march(u, grid, allowed, start.x, start.y, start.h, start.side, marching, 20 * span);
      if (pass.xy.length >= 4) {
        this.link(fronts, start, isClear);
        this.out.push({ kind: "cut", xy: Float64Array.from(pass.xy) });
        this.at = { x: pass.xy[pass.xy.length - 2], y: pass.xy[pass.xy.length - 1] };
        fronts.renew(this.windowOf(pass.xy));
      }
      if (pass.area < LITTLE * r * r) {
        fronts.ban(start.x, start.y, 0.15 * r);
        fronts.ban(px, py, 0.15 * r);
      }
    }
    return { stretches: this.out.slice(first), ...this.areas(target) };
  }

  /**
   * How far every cell lies outside the discs about what this clearing has left within its reach, mm (negative: a disc there would
   * touch it): another clearing below may take it as its `allowed`, so that it meets nothing of double height.
   */
  clearOfLeft(): Float32Array | null {
    const { grid, u, target, o } = this;
    if (target === null) return null;
    const marked = new Uint8Array(target.length);
    let any = false;
    for (let p = 0; p < marked.length; p++)
      if (target[p] && u.m[p] > 0.02) {
        marked[p] = 1;
        any = true;
      }
    if (!any) return null;
    const d = distances(grid.nx, marked, { i0: 0, j0: 0, i1: grid.nx - 1, j1: grid.ny - 1 });
    for (let p = 0; p < d.length; p++) d[p] = d[p] * grid.cell - o.radius - grid.cell;
    return d;
  }

  /** The cells that still hold something: 1, the others 0. */
  holding(): Uint8Array {
    return Uint8Array.from(this.u.m, (v) => (v > 0 ? 1 : 0));
  }

  /** A way over cleared ground to the start, or nothing: the disc is lifted. */
  private link(fronts: Fronts, to: Place, isClear: (x0: Mm, y0: Mm, x1: Mm, y1: Mm) => boolean): void {
    const here = this.at;
    if (here === null || (here.x === to.x && here.y === to.y)) return;
    const way = fronts.way(here, to, isClear);
    if (way === null) return;
    let length = 0;
    for (let k = 2; k < way.length; k += 2) length += Math.hypot(way[k] - way[k - 2], way[k + 1] - way[k - 1]);
    if (length <= (this.o.longestLink ?? Infinity)) this.out.push({ kind: "link", xy: Float64Array.from(way) });
  }

  /** Sinks along a helix where there is most room over something uncut; false when there is none left to try. */
  private sink(fronts: Fronts, room: Float32Array, tried: Uint8Array, allowed: Float32Array): boolean {
    const r = this.o.radius;
    const best = fronts.deepest(room, tried);
    if (best === null || best.room < 0.12 * r) return false;
    const x = fronts.x(best.p);
    const y = fronts.y(best.p);
    const rho = Math.min(0.6 * r, best.room * 0.9);
    // not again near here
    for (let p = 0; p < tried.length; p++) if (Math.hypot(fronts.x(p) - x, fronts.y(p) - y) < r) tried[p] = 1;
    const n = 24;
    for (let k = 0; k < n; k++) {
      const a = (2 * Math.PI * k) / n;
      if (valueAt(this.grid, allowed, x + rho * Math.cos(a), y + rho * Math.sin(a), -1) < 0) return true;
    }
    this.out.push({ kind: "helix", x, y, radius: rho });
    const xy: number[] = [];
    const fine = Math.max(n, Math.ceil((2 * Math.PI * rho) / 0.05));
    for (let k = 0; k <= fine; k++) {
      const a = (2 * Math.PI * k) / fine;
      xy.push(x + rho * Math.cos(a), y + rho * Math.sin(a));
      if (k > 0) this.u.sweep(xy[2 * k - 2], xy[2 * k - 1], xy[2 * k], xy[2 * k + 1], k > 1);
    }
    this.at = { x: x + rho, y };
    fronts.renew(this.windowOf(xy));
    return true;
  }

  /** A start that is not quite free, moved back from what is uncut. */
  private nudged(fronts: Fronts, allowed: Float32Array, s: Place): Place {
    const slope = fronts.slope(s.x, s.y);
    if (slope === null) return s;
    for (let k = 1; k <= 6; k++) {
      const x = s.x - slope.x * 0.3 * k * this.grid.cell;
      const y = s.y - slope.y * 0.3 * k * this.grid.cell;
      if (this.isClear(allowed, x, y, x, y)) return { x, y };
    }
    return s;
  }

  /** Whether the disc can go straight from one place to another, allowed all the way and touching nothing. */
  private isClear(allowed: Float32Array, x0: Mm, y0: Mm, x1: Mm, y1: Mm): boolean {
    const { u, grid } = this;
    const L = Math.hypot(x1 - x0, y1 - y0);
    const n = Math.max(1, Math.ceil(L / (0.06 * u.radius)));
    for (let k = 0; k <= n; k++) {
      const x = x0 + ((x1 - x0) * k) / n;
      const y = y0 + ((y1 - y0) * k) / n;
      if (valueAt(grid, allowed, x, y, -1) < 0 || !u.isFree(x, y)) return false;
      if (L === 0) break;
    }
    return true;
  }

  /** Fine cells within reach of the disc from an allowed centre. */
  private reachable(allowed: Float32Array): Uint8Array {
    const { grid, o } = this;
    const may = new Uint8Array(allowed.length);
    for (let p = 0; p < may.length; p++) if (allowed[p] >= 0) may[p] = 1;
    const d = distances(grid.nx, may, { i0: 0, j0: 0, i1: grid.nx - 1, j1: grid.ny - 1 });
    const most = o.radius / grid.cell - 0.5;
    const out = new Uint8Array(d.length);
    for (let p = 0; p < d.length; p++) if (d[p] <= most && this.wood[p]) out[p] = 1;
    return out;
  }

  private areas(target: Uint8Array): { left: Mm2; target: Mm2 } {
    let left = 0;
    let all = 0;
    for (let p = 0; p < target.length; p++)
      if (target[p]) {
        all++;
        if (this.u.m[p] > 0) left++;
      }
    const a = this.grid.cell ** 2;
    return { left: left * a, target: all * a };
  }

  private windowOf(xy: readonly number[]): { i0: number; j0: number; i1: number; j1: number } {
    const { x0, y0, cell, nx, ny } = this.grid;
    let [xMin, yMin, xMax, yMax] = [Infinity, Infinity, -Infinity, -Infinity];
    for (let k = 0; k < xy.length; k += 2) {
      xMin = Math.min(xMin, xy[k]);
      xMax = Math.max(xMax, xy[k]);
      yMin = Math.min(yMin, xy[k + 1]);
      yMax = Math.max(yMax, xy[k + 1]);
    }
    const pad = this.o.radius + this.band;
    return {
      i0: Math.max(0, Math.floor((xMin - pad - x0) / cell)),
      j0: Math.max(0, Math.floor((yMin - pad - y0) / cell)),
      i1: Math.min(nx - 1, Math.ceil((xMax + pad - x0) / cell)),
      j1: Math.min(ny - 1, Math.ceil((yMax + pad - y0) / cell)),
    };
  }
}

/** Clears what a disc can reach of `wood` when its centre stays in `centres`. */
export function clearRegion(centres: readonly Polygon[], wood: readonly Polygon[], o: ClearingOptions): Clearing {
  const c = new Clearer(centres, wood, o);
  return c.clear(signedField(c.grid, centres, 2.5 * c.grid.cell));
}
