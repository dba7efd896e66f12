import { flatten } from "../../kernel/contour.ts";
import type { Curve } from "../../kernel/curve.ts";
import type { Mm } from "../../units/index.ts";
import { DENSE, refuse } from "./rules.ts";

/** Chords stand for the curves within this. */
const CHORD: Mm = 1e-3;
/** Strands this close touch. */
const TOUCH: Mm = 1e-6;
/** Pieces of one ring closer along it than this are neighbours. */
const BESIDE: Mm = 1e-5;
const MOST_ENTRIES = 4_000_000;
const MOST_TESTS = 30_000_000;
const MOST_FOUND = 50;

export interface Crossing {
  readonly x: Mm;
  readonly y: Mm;
  /** The other strand belongs to another closed curve. */
  readonly other: boolean;
}

/**
 * Places where the first ring crosses or touches itself or one of the others, at most 50, in the order of the first ring. All chords go
 * into a grid of cells and meet only their cell's others; work beyond a bound is refused rather than cut short.
 */
export function crossings(rings: readonly (readonly Curve[])[]): Crossing[] {
  const flat = rings.map((curves) => flatten({ name: "ring", curves }, CHORD));
  const counts = flat.map((p) => p.length / 2);
  const n = counts.reduce((a, b) => a + b, 0);
  const own = counts[0];
  // segment i runs from (ax, ay) to (bx, by)
  const ax = new Float64Array(n);
  const ay = new Float64Array(n);
  const bx = new Float64Array(n);
  const by = new Float64Array(n);
  /** Length of the first ring up to its segment i. */
  const along = new Float64Array(own + 1);
  let [xMin, yMin, xMax, yMax, total] = [Infinity, Infinity, -Infinity, -Infinity, 0];
  let i = 0;
  for (const p of flat) {
    for (let k = 0; k < p.length; k += 2, i++) {
      const m = k + 2 < p.length ? k + 2 : 0;
      ax[i] = p[k];
      ay[i] = p[k + 1];
      bx[i] = p[m];
      by[i] = p[m + 1];
      total += Math.hypot(bx[i] - ax[i], by[i] - ay[i]);
      if (i < own) along[i + 1] = total;
      xMin = Math.min(xMin, ax[i]);
      yMin = Math.min(yMin, ay[i]);
      xMax = Math.max(xMax, ax[i]);
      yMax = Math.max(yMax, ay[i]);
    }
  }
  const round = along[own];
  const span = Math.max(xMax - xMin, yMax - yMin, 1e-3);
  let cell = Math.max(total / n, span / 1500);
  let cells = fill(cell);
  for (let k = 0; cells === null && k < 12; k++) {
    cell *= 2;
    cells = fill(cell);
  }
  if (cells === null) return dense();

  const found: Crossing[] = [];
  const told = new Set<number>();
  let tests = 0;
  const { start, entries, columns, rows } = cells;
  for (let c = 0; c < columns * rows; c++) {
    const to = start[c + 1];
    for (let u = start[c]; u < to && entries[u] < own; u++) {
      tests += to - u;
      if (tests > MOST_TESTS) return dense();
      const a = entries[u];
      for (let v = u + 1; v < to; v++) {
        const b = entries[v];
        if (!meet(a, b)) continue;
        const key = a * n + b;
        if (told.has(key)) continue;
        told.add(key);
        found.push({ ...meetingPlace(a, b), other: b >= own });
        if (found.length >= MOST_FOUND) return found;
      }
    }
  }
  return found;

  function dense(): never {
    return refuse(
      DENSE,
      "the drawing",
      "The curves lie too thickly to be checked for crossings.",
      "Save the outline alone, in fewer and longer curves.",
      { value: n, unit: "pieces" },
    );
  }

  /** Segments by cell, ascending in each; null when there would be too many entries. */
  function fill(size: Mm): { start: Int32Array; entries: Int32Array; columns: number; rows: number } | null {
    const columns = Math.floor((xMax - xMin) / size) + 1;
    const rows = Math.floor((yMax - yMin) / size) + 1;
    if (columns * rows > MOST_ENTRIES) return null;
    const start = new Int32Array(columns * rows + 1);
    let count = 0;
    const visit = (s: number, put: (cellIndex: number) => void): void => {
      const [x0, x1] = ax[s] <= bx[s] ? [ax[s], bx[s]] : [bx[s], ax[s]];
      const slope = x1 > x0 ? (by[s] - ay[s]) / (bx[s] - ax[s]) : 0;
      const first = Math.max(0, Math.floor((x0 - TOUCH - xMin) / size));
      const final = Math.min(columns - 1, Math.floor((x1 + TOUCH - xMin) / size));
      const lowest = Math.min(ay[s], by[s]);
      const highest = Math.max(ay[s], by[s]);
      for (let col = first; col <= final; col++) {
        let lo = lowest;
        let hi = highest;
        if (final > first && x1 - x0 > 8 * TOUCH) {
          // the part of the segment within this column, a little wider
          const ya = ay[s] + slope * (xMin + col * size - 2 * TOUCH - ax[s]);
          const yb = ay[s] + slope * (xMin + (col + 1) * size + 2 * TOUCH - ax[s]);
          lo = Math.max(lo, Math.min(ya, yb));
          hi = Math.min(hi, Math.max(ya, yb));
        }
        const r0 = Math.max(0, Math.floor((lo - TOUCH - yMin) / size));
        const r1 = Math.min(rows - 1, Math.floor((hi + TOUCH - yMin) / size));
        for (let row = r0; row <= r1; row++) put(row * columns + col);
      }
    };
    for (let s = 0; s < n; s++) {
      visit(s, (at) => {
        start[at + 1]++;
        count++;
      });
      if (count > MOST_ENTRIES) return null;
    }
    for (let k = 1; k < start.length; k++) start[k] += start[k - 1];
    const entries = new Int32Array(count);
    const next = start.slice();
    for (let s = 0; s < n; s++) {
      visit(s, (at) => {
        entries[next[at]++] = s;
      });
    }
    return { start, entries, columns, rows };
  }

  /** Do segments a < b of the first ring, or a of it and b of another, come within TOUCH of each other? */
  function meet(a: number, b: number): boolean {
    if (Math.max(ax[a], bx[a]) < Math.min(ax[b], bx[b]) - TOUCH || Math.max(ax[b], bx[b]) < Math.min(ax[a], bx[a]) - TOUCH) return false;
    if (Math.max(ay[a], by[a]) < Math.min(ay[b], by[b]) - TOUCH || Math.max(ay[b], by[b]) < Math.min(ay[a], by[a]) - TOUCH) return false;
    if (b < own) {
      const ahead = along[b] - along[a + 1];
      const behind = round - (along[b + 1] - along[a]);
      if (ahead === 0 || behind === 0) {
        // neighbours share an end; they meet elsewhere only by turning back on themselves
        const [ux, uy, vx, vy] = [bx[a] - ax[a], by[a] - ay[a], bx[b] - ax[b], by[b] - ay[b]];
        return ux * vx + uy * vy < 0 && Math.abs(ux * vy - uy * vx) <= 1e-9 * Math.hypot(ux, uy) * Math.hypot(vx, vy);
      }
      if (Math.min(ahead, behind) <= BESIDE) return false;
    }
    const d1 = side(a, ax[b], ay[b]);
    const d2 = side(a, bx[b], by[b]);
    const d3 = side(b, ax[a], ay[a]);
    const d4 = side(b, bx[a], by[a]);
    if (d1 * d2 < 0 && d3 * d4 < 0) return true;
    return off(a, ax[b], ay[b]) <= TOUCH || off(a, bx[b], by[b]) <= TOUCH || off(b, ax[a], ay[a]) <= TOUCH || off(b, bx[a], by[a]) <= TOUCH;
  }

  function side(s: number, x: number, y: number): number {
    return (bx[s] - ax[s]) * (y - ay[s]) - (by[s] - ay[s]) * (x - ax[s]);
  }

  function off(s: number, x: number, y: number): number {
    const dx = bx[s] - ax[s];
    const dy = by[s] - ay[s];
    const q = dx * dx + dy * dy;
    const t = q > 0 ? Math.min(1, Math.max(0, ((x - ax[s]) * dx + (y - ay[s]) * dy) / q)) : 0;
    return Math.hypot(x - ax[s] - t * dx, y - ay[s] - t * dy);
  }

  function meetingPlace(a: number, b: number): { x: Mm; y: Mm } {
    const d3 = side(b, ax[a], ay[a]);
    const d4 = side(b, bx[a], by[a]);
    if (d3 * d4 < 0 && side(a, ax[b], ay[b]) * side(a, bx[b], by[b]) < 0) {
      const t = d3 / (d3 - d4);
      return { x: ax[a] + t * (bx[a] - ax[a]), y: ay[a] + t * (by[a] - ay[a]) };
    }
    for (const [s, x, y] of [
      [a, ax[b], ay[b]],
      [a, bx[b], by[b]],
      [b, ax[a], ay[a]],
      [b, bx[a], by[a]],
    ]) {
      if (off(s, x, y) <= TOUCH) return { x, y };
    }
    return { x: bx[a], y: by[a] };
  }
}
