import type { Polygon } from "../../kernel/polygon.ts";
import type { Mm } from "../../units/index.ts";

/*
 * A row of a level: places along it, how low the tip may go there, and what stands there by now.
 */

/** Bits of wood thinner than this are left to the next level or to finishing. */
export const LEAST_CUT: Mm = 0.02;

/** Where the field rises faster than this between two samples (a wall), both take the higher one. */
const STEEP = 1.5;

/** A row, or a pass round an edge. */
export interface Line {
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

/** Neighbouring samples of a line, both ends counted. */
export interface Piece {
  readonly line: Line;
  readonly from: number;
  readonly to: number;
}

/** Samples cl along straight runs of a line; walls are widened by one sample so that no straight between samples gouges. */
export function makeLine(
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
export function crossings(rings: readonly Polygon[], v: number, alongX: boolean): number[] {
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
export function piecesOf(line: Line, level: Mm, maxRide: Mm): Piece[] {
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

/** Whether a row has samples all the way between two places along it, and nothing stands there above `most`. */
export function runsBelow(line: Line, at: 0 | 1, u0: Mm, u1: Mm, sampling: Mm, most: Mm): boolean {
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
