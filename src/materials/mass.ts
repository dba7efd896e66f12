import type { Mm, Mm2, Mm3 } from "../units/index.ts";

/*
 * Mass and balance of things lying along x. Volumes in mm3, densities in kg/m3 (1 kg/m3 = 1e-6 g/mm3), masses in grams.
 */

export interface MassAt {
  readonly grams: number;
  /** Centre of mass. NaN never: a body without mass balances at 0. */
  readonly x: Mm;
}

export function massOfVolume(volume: Mm3, density: number): number {
  return volume * density * 1e-6;
}

/** Mass and centre of a body from section areas at places along x, the area varying linearly between them (exact for that). */
export function massOfSections(xs: ArrayLike<number>, areas: ArrayLike<Mm2>, density: number): MassAt {
  if (xs.length !== areas.length) throw new RangeError(`${xs.length} places and ${areas.length} areas: as many of each`);
  let volume = 0;
  let moment = 0;
  for (let i = 1; i < xs.length; i++) {
    const h = xs[i] - xs[i - 1];
    const [a, b] = [areas[i - 1], areas[i]];
    volume += (h * (a + b)) / 2;
    moment += (h * (xs[i - 1] * (2 * a + b) + xs[i] * (a + 2 * b))) / 6;
  }
  return { grams: massOfVolume(volume, density), x: volume === 0 ? 0 : moment / volume };
}

/** Several bodies as one; negative grams are holes. */
export function combineMasses(bodies: readonly MassAt[]): MassAt {
  let grams = 0;
  let moment = 0;
  for (const body of bodies) {
    grams += body.grams;
    moment += body.grams * body.x;
  }
  return { grams, x: grams === 0 ? 0 : moment / grams };
}
