import type { Neck } from "../../neck/types.ts";

/*
 * Profiles of a neck that the side views and sections draw: sampled from the neck's own functions, the only description there is.
 */

/** Stations along x: every `step` mm, the ends and the given places among them, each once, in order. */
export function stations(from: number, to: number, step: number, places: readonly number[]): number[] {
  const n = Math.max(1, Math.ceil((to - from) / step));
  const xs = Array.from({ length: n + 1 }, (_, i) => from + ((to - from) * i) / n);
  for (const p of places) if (p > from && p < to) xs.push(p);
  return xs.sort((a, b) => a - b).filter((x, i, all) => i === 0 || x - all[i - 1] > 1e-9);
}

/** Stations of a view from the side: every `step` mm, and where the kinds of surface meet. */
export function sideStations({ places: p }: Neck, step: number): number[] {
  const meet = [p.rampFoot, p.rampTop, p.boardFront, 0, p.headBack, p.carveStart, p.carveEnd, p.heelFront, p.shaftEnd];
  return stations(p.tip, p.boardEnd, step, meet);
}

/** Ordinates across a section, closer together toward the edges. */
export function across(lo: number, hi: number, count: number): number[] {
  const mid = (lo + hi) / 2;
  const half = (hi - lo) / 2;
  // a hair inside: the back is defined on the plan only
  const keep = half * (1 - 1e-9);
  return Array.from({ length: count + 1 }, (_, i) => mid - keep * Math.cos((Math.PI * i) / count));
}

/** Shares of a half width, closer together toward the edges. */
const CLOSER: readonly number[] = Array.from({ length: 17 }, (_, i) => Math.cos((Math.PI * i) / 16));

/** Lowest back and highest top over the section at x: what an elevation shows. `quick`: of half as many places. */
export function silhouetteAt(neck: Neck, x: number, quick = false): { readonly low: number; readonly high: number } {
  const [lo, hi] = neck.edges(x);
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  const mid = (lo + hi) / 2;
  const keep = ((hi - lo) / 2) * (1 - 1e-9);
  for (let k = 0; k < CLOSER.length; k += quick ? 2 : 1) {
    const y = mid - keep * CLOSER[k];
    const b = neck.back(x, y);
    const t = neck.top(x, y);
    if (b < low) low = b;
    if (t > high) high = t;
  }
  return { low, high };
}

/** z of the back nearest the centreline at x, x held within the shaft: a number for every neck, sound or not. */
export function backAt(neck: Neck, x: number, y = 0): number {
  const { tip, shaftEnd } = neck.places;
  const hair = 1e-7;
  const xIn = Math.max(tip + hair, Math.min(shaftEnd - hair, x));
  const [lo, hi] = neck.edges(xIn);
  const mid = (lo + hi) / 2;
  const half = ((hi - lo) / 2) * (1 - 1e-9);
  const z = neck.back(xIn, Math.max(mid - half, Math.min(mid + half, y)));
  return Number.isFinite(z) ? z : 0;
}

/** Tilt of the headstock's face against the glue plane, radians: 0 for a stepped-down one. */
export function headTilt(neck: Neck): number {
  const x = 0.5 * (neck.places.tip + Math.min(neck.places.headBack, neck.places.rampFoot));
  return Math.atan((neck.top(x + 1, 0) - neck.top(x - 1, 0)) / 2);
}

/** The stations whose section holds the centreline (a headstock may lie to one side of it near its tip). */
export const onCentreline = (neck: Neck, xs: readonly number[]): number[] =>
  xs.filter((x) => {
    const [lo, hi] = neck.edges(x);
    return lo <= 0 && hi >= 0 && hi - lo > 1e-6;
  });

/** Whether the board covers the neck at x. */
export const hasBoard = (neck: Neck, x: number): boolean =>
  neck.order.blank.kind === "board-glued" && x >= neck.places.boardFront - 1e-9 && x <= neck.places.boardEnd + 1e-9;
