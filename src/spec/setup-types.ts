import type { Mm } from "../units/index.ts";

/* Of an order: what the figures are asked for beside the shape. Parts of OrderSpec (types.ts). */

/** How the growth rings lie to the face: along it (flat), across it (quarter), between (rift). */
export type Rings = "flat" | "quarter" | "rift";

export interface SetupSpec {
  /** From the plane of the fret tops up to the strings' undersides, at the nut. */
  readonly nut?: Mm;
  /** The same at fret 12. */
  readonly twelfth?: Mm;
  /** Relief the strings are to leave, midway. */
  readonly relief?: Mm;
  /** From a fret back to where a finger presses. */
  readonly finger?: Mm;
}

export interface ClimateSpec {
  readonly shop?: { readonly temperature?: number; readonly humidity?: number };
  /** `swing`: how far the relative humidity moves to either side through a year. */
  readonly home?: { readonly temperature?: number; readonly humidity?: number; readonly swing?: number };
}
