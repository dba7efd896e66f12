import type { Neck } from "../neck/types.ts";

/* What measurements at the machine mean, for a screen. Uses nothing of Node. */

export { readScribe } from "../holding/correct/scribe.ts";

/**
 * By how many cents a fret sounds sharp that was measured `at` mm from the nut along the centreline: the string's rest is S - x, and pitch goes
 * with its inverse, 1200 log2((S - x ordered) / (S - x measured)); positive sharp.
 */
export function centsOfFret(neck: Neck, fret: number, at: number): number {
  const scale = neck.order.scale;
  return 1200 * Math.log2((scale - neck.fretAt(fret)) / (scale - at));
}
