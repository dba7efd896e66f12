import type { DrawingUnit } from "./types.ts";

/** Millimetres per unit. The inch is 25.4 mm exactly (ISO 80000-3); CSS has 96 px, 72 pt and 6 pc to the inch. */
export const UNIT_MM: Readonly<Record<DrawingUnit, number>> = { mm: 1, cm: 10, m: 1000, in: 25.4, ft: 304.8, px: 25.4 / 96, pt: 25.4 / 72 };
export const DRAWING_UNITS: readonly DrawingUnit[] = ["mm", "cm", "m", "in", "ft", "px", "pt"];

/** $INSUNITS of the DXF reference; 0 means that the drawing has none. */
export const INS_UNITS: ReadonlyMap<number, { readonly mm: number; readonly name: DrawingUnit | "other" }> = new Map(
  (
    [
      [1, 25.4, "in"],
      [2, 304.8, "ft"],
      [4, 1, "mm"],
      [5, 10, "cm"],
      [6, 1000, "m"],
      [8, 25.4e-6, "other"],
      [9, 25.4e-3, "other"],
      [10, 914.4, "other"],
      [13, 1e-3, "other"],
      [14, 100, "other"],
    ] as const
  ).map(([code, mm, name]) => [code, { mm, name }]),
);
