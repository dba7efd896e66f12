/*
 * Density and volumetric shrinkage of wood against moisture content.
 * Source of every equation: USDA Forest Products Laboratory, Wood Handbook, FPL-GTR-282 (2021), chapter 4.
 * x is the moisture content in percent of the oven-dry mass, 0 to 30 (30 stands for fibre saturation).
 */

/** kg/m3 of water. */
export const WATER_DENSITY = 1000;
/** Moisture content (%) at which shrinkage is taken to begin in Eq 4-9 and 13-3. */
export const FIBRE_SATURATION = 30;

function checkMoisture(x: number): void {
  if (!(x >= 0 && x <= FIBRE_SATURATION)) throw new RangeError(`moisture content ${x} %: must lie between 0 and ${FIBRE_SATURATION} %`);
}

/** Shrinkage (%) from green to x, from the shrinkage s0 (%) from green to oven-dry. Eq 4-9: Sx = S0 (1 - x/30). */
export function shrinkageAt(s0: number, x: number): number {
  checkMoisture(x);
  return s0 * (1 - x / FIBRE_SATURATION);
}

/** Volumetric shrinkage (%) green to oven-dry from the basic specific gravity. Eq 4-12: S0 = 26.5 Gb. */
export function volumetricShrinkage(gb: number): number {
  return 26.5 * gb;
}

/** Specific gravity on oven-dry mass and volume at x, from the basic one (green volume). Eq 4-13. */
export function specificGravityAt(gb: number, x: number): number {
  checkMoisture(x);
  return gb / (1 - 0.265 * gb * (1 - x / FIBRE_SATURATION));
}

/** Basic specific gravity from the one at x: Eq 4-13 solved for Gb. */
export function basicSpecificGravity(gx: number, x: number): number {
  checkMoisture(x);
  return gx / (1 + 0.265 * gx * (1 - x / FIBRE_SATURATION));
}

/** Density (kg/m3) at x of wood and its water, from the specific gravity at the same x. Eq 4-14: rho = rho_w Gx (1 + x/100). */
export function densityFromGravity(gx: number, x: number): number {
  return WATER_DENSITY * gx * (1 + x / 100);
}

/** Density (kg/m3) at x from the basic specific gravity: Eq 4-13, then 4-14. */
export function densityAt(gb: number, x: number): number {
  return densityFromGravity(specificGravityAt(gb, x), x);
}

/** Highest moisture content (%) the wood can hold. Eq 4-3: 100 (1.54 - Gb) / (1.54 Gb). */
export function maximumMoisture(gb: number): number {
  return (100 * (1.54 - gb)) / (1.54 * gb);
}

/** Specific gravity at moisture content b from the one at a, given the volumetric shrinkages (%) from green to each. Eq 4-10. */
export function gravityFromGravity(ga: number, sa: number, sb: number): number {
  return (ga * (100 - sa)) / (100 - sb);
}

/** Volumetric shrinkage (%) green to oven-dry from the oven-dry density (kg/m3). Eq 4-16: 26.5 rho0 / (rho_w + 0.265 rho0). */
export function volumetricShrinkageFromDensity(rho0: number): number {
  return (26.5 * rho0) / (WATER_DENSITY + 0.265 * rho0);
}
