/*
 * Laws that every way of moving obeys, as assertions to be reused. Moves are judged by the move list alone and by a height
 * map swept point by point, which shares nothing with the strategies.
 */
import { expect } from "vitest";
import { MoveBuilder, MoveKind, type MoveList } from "../../src/kernel/moves.ts";
import { type Profile, profileHeight } from "../../src/kernel/profile.ts";
import type { Motion } from "../../src/paths/strategies/common.ts";

export type Make = (b: MoveBuilder) => void;

export function movesOf(make: Make, start: readonly [number, number, number] = [0, 0, 100]): MoveList {
  const b = new MoveBuilder(start);
  make(b);
  return b.list();
}

/** Every move as points no farther apart than `step`, the end last; for arcs about their centre. */
export function pointsOf(m: MoveList, k: number, step: number): [number, number, number][] {
  const [px, py, pz] = k > 0 ? [m.x[k - 1], m.y[k - 1], m.z[k - 1]] : m.start;
  if (m.kind[k] === MoveKind.dwell) return [[px, py, pz]];
  if (m.kind[k] !== MoveKind.arc) {
    const n = Math.max(1, Math.ceil(Math.hypot(m.x[k] - px, m.y[k] - py, m.z[k] - pz) / step));
    return Array.from({ length: n + 1 }, (_, i) => [
      px + ((m.x[k] - px) * i) / n,
      py + ((m.y[k] - py) * i) / n,
      pz + ((m.z[k] - pz) * i) / n,
    ]);
  }
  const r = Math.hypot(px - m.cx[k], py - m.cy[k]);
  const a = Math.atan2(py - m.cy[k], px - m.cx[k]);
  const n = Math.max(4, Math.ceil((Math.abs(m.sweep[k]) * r) / step));
  return Array.from({ length: n + 1 }, (_, i) => [
    m.cx[k] + r * Math.cos(a + (m.sweep[k] * i) / n),
    m.cy[k] + r * Math.sin(a + (m.sweep[k] * i) / n),
    pz + ((m.z[k] - pz) * i) / n,
  ]);
}

/** Begins and ends at the safe height or above; feeds and rapids are what they should be; every number is one. */
export function safeEnds(m: MoveList, o: Motion): void {
  expect(m.count).toBeGreaterThan(0);
  expect(m.kind[0]).toBe(MoveKind.rapid);
  expect(m.z[0]).toBeGreaterThanOrEqual(o.safeZ);
  expect(m.kind[m.count - 1]).toBe(MoveKind.rapid);
  expect(m.z[m.count - 1]).toBeGreaterThanOrEqual(o.safeZ);
  for (let k = 0; k < m.count; k++) {
    for (const v of [m.x[k], m.y[k], m.z[k], m.feed[k], m.cx[k], m.cy[k], m.sweep[k]])
      if (!Number.isFinite(v)) throw new Error(`move ${k} holds ${v}`);
    if (m.kind[k] === MoveKind.line || m.kind[k] === MoveKind.arc) expect(m.feed[k]).toBeGreaterThan(0);
    if (m.kind[k] === MoveKind.line || m.kind[k] === MoveKind.arc)
      expect(m.feed[k]).toBeLessThanOrEqual(Math.max(o.feed, o.ramp, o.plunge) + 1e-9);
  }
}

/** Rapids across travel at the safe height; any other rapid is straight up or down. */
export function rapidsAcrossAreHigh(m: MoveList, o: Motion): void {
  let [px, py, pz] = m.start;
  for (let k = 0; k < m.count; k++) {
    if (m.kind[k] === MoveKind.rapid && (m.x[k] !== px || m.y[k] !== py) && Math.min(pz, m.z[k]) < o.safeZ)
      throw new Error(`rapid ${k} goes across from z ${pz} to ${m.z[k]}, below the safe height ${o.safeZ}`);
    [px, py, pz] = [m.x[k], m.y[k], m.z[k]];
  }
}

/** Arc ends lie on the arc: both radii agree, and the end is where the sweep leads. */
export function arcsClose(m: MoveList): void {
  for (let k = 0; k < m.count; k++) {
    if (m.kind[k] !== MoveKind.arc) continue;
    const last = pointsOf(m, k, 1).at(-1) as [number, number, number];
    expect(Math.hypot(last[0] - m.x[k], last[1] - m.y[k])).toBeLessThan(1e-6);
  }
}

export interface Envelope {
  readonly min: readonly [number, number, number];
  readonly max: readonly [number, number, number];
}

/** The tip stays within a box. */
export function staysWithin(m: MoveList, e: Envelope): void {
  for (let k = 0; k < m.count; k++)
    for (const p of pointsOf(m, k, 0.5))
      for (let i = 0; i < 3; i++)
        if (p[i] < e.min[i] - 1e-6 || p[i] > e.max[i] + 1e-6) throw new Error(`move ${k} leaves its envelope at (${p.join(", ")})`);
}

/** The same bytes twice. */
export function sameTwice(make: Make): void {
  const a = movesOf(make);
  const b = movesOf(make);
  expect(a).toEqual(b);
}

/** A bite thinner than this is no plunge: thinning, a pass not worth making, and a slope stamped at steps of half a cell. */
const BITE = 0.04;

/** Steepest descent of a feed move while in the wood: with a cutter that does not cut over its middle none is upright. */
export function neverPlunges(m: MoveList, stock: Wood, profile: Profile, steepest: number): void {
  const wood = stock.copy();
  let [px, py, pz] = m.start;
  for (let k = 0; k < m.count; k++) {
    if (m.kind[k] === MoveKind.line || m.kind[k] === MoveKind.arc) {
      const along =
        m.kind[k] === MoveKind.arc ? Math.abs(m.sweep[k]) * Math.hypot(px - m.cx[k], py - m.cy[k]) : Math.hypot(m.x[k] - px, m.y[k] - py);
      const drop = pz - m.z[k];
      if (drop > 0.005 && drop > along * Math.tan(steepest) + 1e-6 && wood.wouldCut(profile, m, k) > BITE)
        throw new Error(`move ${k} goes down ${drop} mm over ${along} mm into wood at (${px}, ${py})`);
      wood.sweep(profile, m, k, k + 1);
    }
    [px, py, pz] = [m.x[k], m.y[k], m.z[k]];
  }
}

/** No rapid touches wood that stands when it is made; returns the wood that is left. */
export function rapidsAreFree(m: MoveList, stock: Wood, profile: Profile): Wood {
  const wood = stock.copy();
  for (let k = 0; k < m.count; k++) {
    if (m.kind[k] === MoveKind.rapid) {
      const deep = wood.wouldCut(profile, m, k);
      if (deep > 0.011) throw new Error(`rapid ${k} to (${m.x[k]}, ${m.y[k]}, ${m.z[k]}) goes ${deep} mm into wood`);
    } else if (m.kind[k] !== MoveKind.dwell) wood.sweep(profile, m, k, k + 1);
  }
  return wood;
}

/** The list moved by a vector is the list made from moved input. */
export function movesWithTheZero(make: (dx: number, dy: number, dz: number) => Make): void {
  const a = movesOf(make(0, 0, 0));
  const b = movesOf(make(12.5, -40, 7.25), [12.5, -40, 107.25]);
  expect(b.count).toBe(a.count);
  for (let k = 0; k < a.count; k++) {
    expect(b.kind[k]).toBe(a.kind[k]);
    expect(b.x[k] - 12.5).toBeCloseTo(a.x[k], 6);
    expect(b.y[k] + 40).toBeCloseTo(a.y[k], 6);
    expect(b.z[k] - 7.25).toBeCloseTo(a.z[k], 6);
    expect(b.sweep[k]).toBeCloseTo(a.sweep[k], 9);
    expect(b.feed[k]).toBeCloseTo(a.feed[k], 9);
  }
}

/** The same by what is left of the wood: worst difference between what the moved moves leave of moved wood and the rest, mm. */
export function shiftDifference(make: (dx: number, dy: number, dz: number) => Make, stock: Wood, profile: Profile): number {
  const [dx, dy, dz] = [12.5, -40, 7.25];
  const a = stock.copy();
  const b = Object.assign(stock.copy(), { x0: stock.x0 + dx, y0: stock.y0 + dy, z: stock.z.map((z) => z + dz) });
  const ma = movesOf(make(0, 0, 0));
  const mb = movesOf(make(dx, dy, dz), [dx, dy, 100 + dz]);
  a.sweep(profile, ma, 0, ma.count);
  b.sweep(profile, mb, 0, mb.count);
  let worst = 0;
  for (let k = 0; k < a.z.length; k++) worst = Math.max(worst, Math.abs(b.z[k] - dz - a.z[k]));
  return worst;
}

/** What input mirrored in y leaves of the wood is the mirror image of what the input leaves: worst difference, mm. */
export function mirrorDifference(make: (side: 1 | -1) => Make, stock: Wood, profile: Profile): number {
  const a = stock.copy();
  const b = stock.copy();
  const ma = movesOf(make(1));
  const mb = movesOf(make(-1));
  a.sweep(profile, ma, 0, ma.count);
  b.sweep(profile, mb, 0, mb.count);
  let worst = 0;
  for (let j = 0; j < a.ny; j++)
    for (let i = 0; i < a.nx; i++) worst = Math.max(worst, Math.abs(a.z[j * a.nx + i] - b.z[(a.ny - 1 - j) * a.nx + i]));
  return worst;
}

/** A small height map, cut by stamping the cutter's profile at close points: slow and obviously right. */
export class Wood {
  readonly x0: number;
  readonly y0: number;
  readonly cell: number;
  readonly nx: number;
  readonly ny: number;
  readonly z: Float64Array;

  constructor(x0: number, y0: number, x1: number, y1: number, cell: number, top: number | ((x: number, y: number) => number)) {
    this.cell = cell;
    this.nx = Math.round((x1 - x0) / cell);
    this.ny = Math.round((y1 - y0) / cell);
    this.x0 = x0 + cell / 2;
    this.y0 = y0 + cell / 2;
    this.z = new Float64Array(this.nx * this.ny);
    for (let j = 0; j < this.ny; j++)
      for (let i = 0; i < this.nx; i++)
        this.z[j * this.nx + i] = typeof top === "number" ? top : top(this.x0 + i * cell, this.y0 + j * cell);
  }

  copy(): Wood {
    const w = new Wood(0, 0, 0, 0, this.cell, 0);
    return Object.assign(w, { x0: this.x0, y0: this.y0, nx: this.nx, ny: this.ny, z: this.z.slice() });
  }

  at(x: number, y: number): number {
    const i = Math.round((x - this.x0) / this.cell);
    const j = Math.round((y - this.y0) / this.cell);
    return this.z[j * this.nx + i];
  }

  private stamp(profile: Profile, x: number, y: number, z: number, cut: boolean): number {
    // stamps stand half a cell apart, so that the swept edge is scalloped by h^2 / 2R: asked about with a hair less
    const R = profile.radius - (cut ? 1e-4 : Math.max(1e-3, (this.cell * this.cell) / (8 * profile.radius)));
    let deepest = 0;
    const i0 = Math.max(0, Math.ceil((x - R - this.x0) / this.cell));
    const i1 = Math.min(this.nx - 1, Math.floor((x + R - this.x0) / this.cell));
    const j0 = Math.max(0, Math.ceil((y - R - this.y0) / this.cell));
    const j1 = Math.min(this.ny - 1, Math.floor((y + R - this.y0) / this.cell));
    for (let j = j0; j <= j1; j++)
      for (let i = i0; i <= i1; i++) {
        const r = Math.hypot(this.x0 + i * this.cell - x, this.y0 + j * this.cell - y);
        if (r > R) continue;
        const low = z + profileHeight(profile, r);
        const k = j * this.nx + i;
        if (this.z[k] - low > deepest) deepest = this.z[k] - low;
        if (cut && low < this.z[k]) this.z[k] = low;
      }
    return deepest;
  }

  sweep(profile: Profile, m: MoveList, from: number, to: number): void {
    for (let k = from; k < to; k++) {
      if (m.kind[k] !== MoveKind.line && m.kind[k] !== MoveKind.arc) continue;
      for (const [x, y, z] of pointsOf(m, k, this.cell / 2)) this.stamp(profile, x, y, z, true);
    }
  }

  /** Deepest that a move would go into the wood as it stands. */
  wouldCut(profile: Profile, m: MoveList, k: number): number {
    let deepest = 0;
    for (const [x, y, z] of pointsOf(m, k, this.cell / 2)) deepest = Math.max(deepest, this.stamp(profile, x, y, z, false));
    return deepest;
  }
}
