import type { Mm, Rad } from "../units/index.ts";
import type { MovementCoefficients } from "./types.ts";

/*
 * What wood does when the air changes: the moisture content it comes to, how much it then moves, and how its strength follows.
 * Source: USDA Forest Products Laboratory, Wood Handbook, FPL-GTR-282 (2021), equations 4-5, 4-6, 4-7 (after Glass, Zelinka and
 * Johnson 2014), 5-3, 13-2, 13-3. Temperatures in degrees Celsius, relative humidity and moisture content in percent.
 */

/** Which equation a moisture content came from. The two differ by up to 0.5 % MC near 20 C and by 1.5 % MC at 0 C; never mix them. */
export type EmcEquation = "4-5" | "4-6";

/** The equation used when nobody asks for another: the one behind the printed Table 4-2. */
export const DEFAULT_EMC_EQUATION: EmcEquation = "4-5";

function checkAir(temperature: number, humidity: number): void {
  if (!(temperature >= -30 && temperature <= 130)) throw new RangeError(`temperature ${temperature} C: must lie between -30 and 130 C`);
  if (!(humidity >= 0 && humidity < 100)) throw new RangeError(`relative humidity ${humidity} %: must be at least 0 and below 100 %`);
}

/** Equilibrium moisture content (%), Eq 4-5 (Hailwood and Horrobin's form, one-hydrate sorption with temperature polynomials). */
export function emcHailwoodHorrobin(temperature: number, humidity: number): number {
  checkAir(temperature, humidity);
  const t = temperature;
  const w = 349 + 1.29 * t + 0.0135 * t * t;
  const k = 0.805 + 0.000736 * t - 0.00000273 * t * t;
  const k1 = 6.27 - 0.00938 * t - 0.000303 * t * t;
  const k2 = 1.91 + 0.0407 * t - 0.000293 * t * t;
  const kh = (k * humidity) / 100;
  return (1800 / w) * (kh / (1 - kh) + (k1 * kh + 2 * k1 * k2 * kh * kh) / (1 + k1 * kh + k1 * k2 * kh * kh));
}

/* Constants of Eq 4-6 and 4-7; T in kelvin. */
const A = -0.000612;
const B = 2.43;
const C = 0.0577;
const D = 0.43;
const CRITICAL = 647.1;
const KELVIN = 273.15;

/** Equilibrium moisture content (%), Eq 4-6 (Glass et al. 2014). */
export function emcGlass(temperature: number, humidity: number): number {
  checkAir(temperature, humidity);
  const t = temperature + KELVIN;
  return 100 * (A * t * (1 - t / CRITICAL) ** B * Math.log(1 - humidity / 100)) ** (C * t ** D);
}

/** Relative humidity (%) at which wood stays at the moisture content emc (%), Eq 4-7: Eq 4-6 turned round. */
export function humidityGlass(temperature: number, emc: number): number {
  checkAir(temperature, 0);
  if (!(emc >= 0)) throw new RangeError(`moisture content ${emc} %: must not be negative`);
  const t = temperature + KELVIN;
  return 100 * (1 - Math.exp((1 / (A * t)) * (1 - t / CRITICAL) ** -B * (emc / 100) ** ((1 / C) * t ** -D)));
}

/** Equilibrium moisture content of a room, with the equation it came from so that a sheet can print it. */
export function equilibriumMoisture(
  temperature: number,
  humidity: number,
  equation: EmcEquation = DEFAULT_EMC_EQUATION,
): { readonly moisture: number; readonly equation: EmcEquation } {
  return { moisture: equation === "4-5" ? emcHailwoodHorrobin(temperature, humidity) : emcGlass(temperature, humidity), equation };
}

/** Change of size (mm) by Eq 13-2: D C (to - from), meant for moisture contents of 6 to 14 %. */
export function dimensionalChange(size: Mm, coefficient: number, from: number, to: number): Mm {
  return size * coefficient * (to - from);
}

/** Change of size (mm) by Eq 13-3: D (to - from) / (3000/S - 30 + from), S (%) shrinkage green to oven-dry; 0 to 30 % moisture content. */
export function dimensionalChangeFromShrinkage(size: Mm, shrinkage: number, from: number, to: number): Mm {
  for (const x of [from, to]) if (!(x >= 0 && x <= 30)) throw new RangeError(`moisture content ${x} %: must lie between 0 and 30 %`);
  return (size * (to - from)) / (3000 / shrinkage - 30 + from);
}

/** The shrinkage (%) green to oven-dry that a coefficient of Table 13-5 stands for: S0 = 3000 / (1/C + 20). */
export function shrinkageFromCoefficient(coefficient: number): number {
  return 3000 / (1 / coefficient + 20);
}

/**
 * How a fraction across the grain mixes when the rings lie at an angle to the piece: e = et cos^2 a + er sin^2 a, the rotation
 * of plane strain with R and T as principal directions. a is the angle between the rings and the direction asked about:
 * 0 along the rings (width of a flat-sawn piece), pi/2 across them (width of a quartersawn piece).
 */
export function mixRings(radial: number, tangential: number, ringAngle: Rad): number {
  const s = Math.sin(ringAngle) ** 2;
  return tangential * (1 - s) + radial * s;
}

export interface Movement {
  /** Positive: grows. */
  readonly change: Mm;
  readonly equation: "13-2" | "13-3";
  /** True when the coefficient is not a table value. */
  readonly estimated: boolean;
}

/** Moisture contents between which Eq 13-2 and its coefficients hold. */
export const COEFFICIENT_RANGE: { readonly min: number; readonly max: number } = { min: 6, max: 14 };

/** Coefficient of variation of shrinkage between pieces of one wood. From memory, not looked up: an order of magnitude for bands. */
export const SHRINKAGE_VARIATION = 0.15;

/**
 * How much a piece moves across the grain when its moisture content goes from `from` to `to` (%). Eq 13-2 where both lie within 6 to
 * 14 % and the coefficients are table values; else Eq 13-3 with the shrinkage those coefficients stand for, so that both agree
 * at 10 %. `ringAngle` as in mixRings.
 */
export function movement(coefficients: MovementCoefficients, size: Mm, ringAngle: Rad, from: number, to: number): Movement {
  const { radial, tangential, estimated } = coefficients;
  const within = [from, to].every((x) => x >= COEFFICIENT_RANGE.min && x <= COEFFICIENT_RANGE.max);
  if (within && !estimated) {
    return { change: dimensionalChange(size, mixRings(radial, tangential, ringAngle), from, to), equation: "13-2", estimated };
  }
  const along = (c: number): number => dimensionalChangeFromShrinkage(size, shrinkageFromCoefficient(c), from, to);
  return { change: mixRings(along(radial), along(tangential), ringAngle), equation: "13-3", estimated };
}

/** How far each fret end stands out of the board's edge when the board dries: half of what its width loses; 0 when it grows. */
export function fretEndsProud(coefficients: MovementCoefficients, boardWidth: Mm, ringAngle: Rad, from: number, to: number): Mm {
  return Math.max(0, -movement(coefficients, boardWidth, ringAngle, from, to).change / 2);
}

/**
 * A strength or stiffness at moisture content m (%) from its values at 12 % and green. Eq 5-3:
 * P = P12 (P12/Pg)^((12 - m)/(mp - 12)), mp where drying begins to matter (Table 5-13). At and above mp the green value holds.
 */
export function strengthAtMoisture(p12: number, green: number, m: number, mp: number): number {
  if (!(p12 > 0 && green > 0)) throw new RangeError(`strengths ${p12} and ${green}: must be above 0`);
  if (!(mp > 12)) throw new RangeError(`moisture content of onset ${mp} %: must be above 12 %`);
  if (!(m >= 0)) throw new RangeError(`moisture content ${m} %: must not be negative`);
  return p12 * (p12 / green) ** ((12 - Math.min(m, mp)) / (mp - 12));
}
