import type { Mm } from "../../units/index.ts";

const r2 = (v: number): number => Math.round(v * 100) / 100;

/**
 * How a value that does not fit may have come about: with another unit, a slipped decimal point or digit. null: no idea.
 * `fits` says whether a value would be believed.
 */
export function slip(value: Mm, fits: (v: Mm) => boolean): string | null {
  const tries: readonly (readonly [number, string])[] = [
    [value * 25.4, "is it in inches? All lengths here are millimetres"],
    [value / 25.4, "was it turned from inches twice"],
    [value / 10, `was ${r2(value / 10)} meant`],
    [value * 10, `was ${r2(value * 10)} meant`],
    [value / 100, `was ${r2(value / 100)} meant`],
  ];
  return tries.find(([v]) => fits(v))?.[1] ?? null;
}
