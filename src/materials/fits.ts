import type { Mm } from "../units/index.ts";

/*
 * Limits of size for pins and holes: ISO 286. Only rows that were seen in published copies of the standard are here; for any other
 * size or zone the answer is undefined, never a guess. Metal figures: holes in wood and fibreboard move with moisture on top of this.
 */

export interface LimitRow {
  /** Nominal sizes over `over` up to and including `upTo` (mm). */
  readonly over: Mm;
  readonly upTo: Mm;
  /** Capital letters are holes, small ones shafts. */
  readonly zone: string;
  /** Deviations from nominal, micrometres. */
  readonly upper: number;
  readonly lower: number;
  readonly source: string;
}

const rows = (over: Mm, upTo: Mm, source: string, zones: Readonly<Record<string, readonly [number, number]>>): LimitRow[] =>
  Object.entries(zones).map(([zone, [upper, lower]]) => ({ over, upTo, zone, upper, lower, source }));

const COPIES = "ISO 286-2, agreeing copies (JIS B 0401 and DIN ISO 286 tables)";
const EXAMPLE = "worked example of the fits 50 H7/g6 and 50 H7/p6 after ISO 286";

export const LIMITS: readonly LimitRow[] = [
  ...rows(6, 10, COPIES, {
    f7: [-13, -28],
    g5: [-5, -11],
    g6: [-5, -14],
    h5: [0, -6],
    h6: [0, -9],
    h7: [0, -15],
    h8: [0, -22],
    h9: [0, -36],
    h10: [0, -58],
    h11: [0, -90],
    js6: [4.5, -4.5],
    k5: [7, 1],
    k6: [10, 1],
    m5: [12, 6],
    m6: [15, 6],
    n6: [19, 10],
    p6: [24, 15],
    r6: [28, 19],
    s6: [32, 23],
    H7: [15, 0],
    H8: [22, 0],
    H9: [36, 0],
    H10: [58, 0],
    H11: [90, 0],
    G6: [14, 5],
    G7: [20, 5],
    F7: [28, 13],
    E8: [47, 25],
    D9: [76, 40],
  }),
  ...rows(0, 3, COPIES, { m6: [8, 2] }),
  ...rows(3, 6, COPIES, { m6: [12, 4], g6: [-4, -12], h6: [0, -8] }),
  ...rows(10, 18, COPIES, { m6: [18, 7], g6: [-6, -17], h6: [0, -11] }),
  ...rows(18, 30, COPIES, { m6: [21, 8], g6: [-7, -20] }),
  ...rows(30, 50, COPIES, { g6: [-9, -25] }),
  ...rows(30, 50, EXAMPLE, { H7: [25, 0], p6: [42, 26] }),
];

/** The row for a nominal size and zone, or undefined when none was seen. */
export function limitsOf(nominal: Mm, zone: string): LimitRow | undefined {
  return LIMITS.find((r) => r.zone === zone && nominal > r.over && nominal <= r.upTo);
}

/** Least and greatest clearance (mm) between a hole and a shaft of one nominal size; negative is interference. undefined: a row is missing. */
export function fitClearance(nominal: Mm, hole: string, shaft: string): { readonly min: Mm; readonly max: Mm } | undefined {
  const h = limitsOf(nominal, hole);
  const s = limitsOf(nominal, shaft);
  if (!h || !s) return undefined;
  return { min: (h.lower - s.upper) / 1000, max: (h.upper - s.lower) / 1000 };
}
