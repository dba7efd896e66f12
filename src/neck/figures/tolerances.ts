import { SHRINKAGE_VARIATION } from "../../materials/moisture.ts";
import { VARIATION } from "../../materials/woods.ts";
import type { Figure, Tolerances } from "./types.ts";

/**
 * What the bands are made from. Woods: coefficients of variation of the Wood Handbook FPL-GTR-282 (2021), table 5-6 (shrinkage from
 * memory). Dimensions and strings: common practice, no source.
 */
export const USUAL_TOLERANCES: Tolerances = {
  thickness: 0.25,
  dimension: 0.25,
  height: 0.1,
  plainWeight: 0.03,
  woundWeight: 0.12,
  assumed: 0.2,
  stringModulus: 0.05,
  moe: VARIATION.moe,
  mor: VARIATION.mor,
  gravity: VARIATION.gravity,
  shrinkage: SHRINKAGE_VARIATION,
  grain: (2 * Math.PI) / 180,
};

type Said = Pick<Figure, "id" | "what" | "unit" | "source"> & { readonly short?: true };

/** A figure that moves by a fraction to either side. */
export const within = (said: Said, value: number, fraction: number): Figure => ({
  ...said,
  value,
  low: value - Math.abs(value) * fraction,
  high: value + Math.abs(value) * fraction,
});

/** A figure that moves by so much to either side. */
export const plusMinus = (said: Said, value: number, by: number): Figure => ({ ...said, value, low: value - by, high: value + by });

/** A figure between what the ends of its inputs give. */
export const between = (said: Said, value: number, ends: readonly number[]): Figure => ({
  ...said,
  value,
  low: Math.min(value, ...ends),
  high: Math.max(value, ...ends),
});

/** Independent moves together (JCGM 100:2008, equation 10). */
export const together = (...changes: readonly number[]): number => Math.hypot(...changes);
