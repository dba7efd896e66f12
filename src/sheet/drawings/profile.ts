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

/** Ordinates across a section, closer together toward the edges. */
export function across(lo: number, hi: number, count: number): number[] {
  const mid = (lo + hi) / 2;
  const half = (hi - lo) / 2;
  // a hair inside: the back is defined on the plan only
  const keep = half * (1 - 1e-9);
  return Array.from({ length: count + 1 }, (_, i) => mid - keep * Math.cos((Math.PI * i) / count));
}

/** Lowest back and highest top over the section at x: what an elevation shows. */
export function silhouetteAt(neck: Neck, x: number): { readonly low: number; readonly high: number } {
  const [lo, hi] = neck.edges(x);
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const y of across(lo, hi, 24)) {
    const b = neck.back(x, y);
    const t = neck.top(x, y);
    if (b < low) low = b;
    if (t > high) high = t;
  }
  return { low, high };
}

/** Whether the board covers the neck at x. */
export const hasBoard = (neck: Neck, x: number): boolean =>
  neck.order.blank.kind === "board-glued" && x >= neck.places.boardFront - 1e-9 && x <= neck.places.boardEnd + 1e-9;
