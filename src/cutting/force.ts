import { DEFAULT_FORCE, type ForceModel } from "../materials/cutting-force.ts";
import type { MegaPascal, Mm, MmPerSecond, Newton, NewtonPerMm, Rad, Rpm, Watt } from "../units/index.ts";
import type { Cutter } from "./types.ts";

/*
 * Chip, force, power and bend as functions of one pass. Lengths mm, feed mm/s, force N, modulus MPa (N/mm2).
 */

/*
 * The force of an edge is materials' law F' = A + B h (cutting-force.ts there: from memory, to be calibrated by a shop's own
 * readings). The edge's share A acts along all of the edge in the wood, the chip's share B on the section of the chip.
 */

/** Share of the electrical power of a spindle that is planned with. From memory. */
export const POWER_SHARE = 0.7;

/** Radial engagement angle: theta = arccos(1 - 2 ae / D) (plane geometry); half a turn for a slot. */
export const engagementAngle = (step: Mm, diameter: Mm): Rad => Math.acos(Math.max(-1, 1 - (2 * Math.min(step, diameter)) / diameter));

/** Thickest chip over feed per tooth: 2 sqrt(q - q^2) with q = ae / D for ae < D / 2, otherwise 1 (chip thinning, machining handbooks). */
export function chipThinning(step: Mm, diameter: Mm): number {
  const q = step / diameter;
  if (q >= 0.5) return 1;
  return 2 * Math.sqrt(q - q * q);
}

/** Mean chip over feed per tooth: the area ae * fz spread over the arc theta * D / 2. */
export const meanChipShare = (step: Mm, diameter: Mm): number =>
  (2 * Math.min(step, diameter)) / (diameter * engagementAngle(step, diameter));

/** Speed of the rim in m/s: pi D n / 60000. */
export const rimSpeed = (diameter: Mm, rpm: Rpm): number => (Math.PI * diameter * rpm) / 60000;

/** Feed from chip: z fz n / 60, mm/s. */
export const feedFrom = (perTooth: Mm, flutes: number, rpm: Rpm): MmPerSecond => (perTooth * flutes * rpm) / 60;

/** How many teeth cut at once on average. */
export const teethInCut = (step: Mm, diameter: Mm, flutes: number): number => (flutes * engagementAngle(step, diameter)) / (2 * Math.PI);

export interface PassGeometry {
  readonly diameter: Mm;
  readonly flutes: number;
  readonly step: Mm;
  readonly depth: Mm;
  /** Edge in the wood, along the profile (depth for a flat cutter, more for a ball). */
  readonly edge: Mm;
}

/** Force of one tooth that takes a chip of thickness h: A along the edge, B on the chip's section, by density. */
const toothForce = (g: PassGeometry, h: Mm, density: number, model: ForceModel): Newton =>
  (model.edge * g.edge + model.perChip * h * g.depth) * (density / model.density) ** model.densityPower;

/** Largest force across the cutter: at least one tooth in its thickest chip. */
export function peakForce(g: PassGeometry, perTooth: Mm, density: number, model: ForceModel = DEFAULT_FORCE): Newton {
  const h = perTooth * chipThinning(g.step, g.diameter);
  const teeth = Math.max(1, teethInCut(g.step, g.diameter, g.flutes));
  return teeth * toothForce(g, h, density, model);
}

/** Mean power at the rim, W: mean force times rim speed. With A = 0 this is kc Q / 60000 (kc N/mm2, Q mm3/min). */
export function meanPower(g: PassGeometry, perTooth: Mm, rpm: Rpm, density: number, model: ForceModel = DEFAULT_FORCE): Watt {
  const hm = perTooth * meanChipShare(g.step, g.diameter);
  const teeth = teethInCut(g.step, g.diameter, g.flutes);
  return teeth * toothForce(g, hm, density, model) * rimSpeed(g.diameter, rpm);
}

/** Bend of a round bar held at one end: F L^3 / (3 E I), I = pi d^4 / 64 (Euler-Bernoulli). */
export const barBend = (force: Newton, length: Mm, diameter: Mm, modulus: MegaPascal): Mm =>
  (force * length ** 3) / (3 * modulus * ((Math.PI * diameter ** 4) / 64));

/** Fluted parts bend like a bar of 0.80 of their diameter (Kops and Vo, CIRP Annals 1990). */
export const FLUTED_SHARE = 0.8;

/**
 * Bend at the tip under a force there: the fluted part of 0.8 D, then the shank up to the holder.
 * Stepped cantilever: delta = F / 3E * (Lf^3 / If + (L^3 - Lf^3) / Is).
 */
export function cutterBend(cutter: Cutter, force: Newton): Mm {
  const L = Math.max(cutter.reach, cutter.fluteLength);
  const Lf = Math.min(cutter.fluteLength, L);
  const d = cutter.shape === "taper" ? Math.max(cutter.tipDiameter, 0.5 * (cutter.tipDiameter + cutter.diameter)) : cutter.diameter;
  const fluted = barBend(force, Lf, FLUTED_SHARE * d, cutter.modulus);
  const shank = barBend(force, L, cutter.shankDiameter, cutter.modulus) - barBend(force, Lf, cutter.shankDiameter, cutter.modulus);
  return fluted + shank;
}

/** Give of the machine at the cutter. */
export const machineGive = (stiffness: { readonly x: NewtonPerMm; readonly y: NewtonPerMm }, force: Newton): Mm =>
  force / Math.min(stiffness.x, stiffness.y);
