import type { Mm, Newton, NewtonPerMm, Rad, Watt } from "../units/index.ts";

/*
 * Force of an edge in wood. The shape of the law (a part for the edge, a part for the chip) and its trends are common to the literature
 * on cutting wood; no published table of values for solid hardwood was found, so EVERY coefficient here is from memory and meant to be
 * calibrated: fitForce takes a shop's own readings.
 */

export interface ForceModel {
  /** N per mm of edge at no chip: parting the fibres and rubbing, sharp edge. */
  readonly edge: NewtonPerMm;
  /** N per mm2 of chip section. */
  readonly perChip: number;
  /** kg/m3 the two above belong to; force goes with density to `densityPower`. */
  readonly density: number;
  readonly densityPower: number;
  /** Factor when the edge moves across the fibre ends (90-90) instead of along the grain (90-0), the edge lying across the grain. */
  readonly endGrain: number;
  /** Fraction of force lost per percent of moisture content above 12 %. */
  readonly perMoisture: number;
  /** Factor of a dull edge. */
  readonly dull: number;
  readonly source: string;
}

/** kc 100 N/mm2 at a chip of 0.05 mm and 25 at 0.3 mm, hardwood of 700 kg/m3 along the grain. */
export const DEFAULT_FORCE: ForceModel = {
  edge: 4.5,
  perChip: 10,
  density: 700,
  densityPower: 1,
  endGrain: 1.8,
  perMoisture: 0.015,
  dull: 1.5,
  source: "from memory, not looked up: calibrate",
};

/** The state of wood and edge; left out: 12 % moisture content, along the grain, sharp. */
export interface CutState {
  /** kg/m3 */
  readonly density: number;
  /** Thickness of the chip. */
  readonly chip: Mm;
  readonly moisture?: number;
  /** Between the edge's motion and the grain, in the plane the cutter moves in: 0 along, pi/2 into end grain. */
  readonly grainAngle?: Rad;
  readonly dull?: boolean;
}

/** Force per mm of edge (N/mm): (A + B h) times density, grain, moisture and edge factors. */
export function edgeForce(cut: CutState, model: ForceModel = DEFAULT_FORCE): NewtonPerMm {
  const { density, chip, moisture = 12, grainAngle = 0, dull = false } = cut;
  if (!(chip >= 0)) throw new RangeError(`chip ${chip} mm: must not be negative`);
  if (!(density > 0)) throw new RangeError(`density ${density} kg/m3: must be above 0`);
  const grain = 1 + (model.endGrain - 1) * Math.sin(grainAngle) ** 2;
  // Exponential, so that no moisture makes the force negative; little changes above fibre saturation.
  const wet = Math.exp(-model.perMoisture * (Math.min(moisture, 30) - 12));
  const rough = (density / model.density) ** model.densityPower * grain * wet * (dull ? model.dull : 1);
  return (model.edge + model.perChip * chip) * rough;
}

/** Specific cutting force kc (N/mm2): force per chip section, A/h + B times the same factors. */
export function specificForce(cut: CutState, model: ForceModel = DEFAULT_FORCE): number {
  if (!(cut.chip > 0)) throw new RangeError(`chip ${cut.chip} mm: must be above 0`);
  return edgeForce(cut, model) / cut.chip;
}

/** Force (N) of an edge of that width in the wood. */
export function cutForce(cut: CutState, width: Mm, model: ForceModel = DEFAULT_FORCE): Newton {
  return edgeForce(cut, model) * width;
}

/** Power (W) from the specific force (N/mm2) and the wood taken off (mm3/min): P = kc Q / 60000, units alone. */
export function cutPower(specific: number, removal: number): Watt {
  return (specific * removal) / 60_000;
}

/** A reading of the shop: chip thickness (mm) and force per mm of edge (N/mm), along the grain, sharp, at 12 %. */
export interface ForceReading {
  readonly chip: Mm;
  readonly force: NewtonPerMm;
}

/** Least-squares line F' = A + B h through readings in wood of one density; the other factors are kept from `model`. */
export function fitForce(
  readings: readonly ForceReading[],
  density: number,
  source: string,
  model: ForceModel = DEFAULT_FORCE,
): ForceModel {
  const n = readings.length;
  const mh = readings.reduce((s, r) => s + r.chip, 0) / n;
  const mf = readings.reduce((s, r) => s + r.force, 0) / n;
  const shh = readings.reduce((s, r) => s + (r.chip - mh) ** 2, 0);
  if (!(n >= 2 && shh > 0)) throw new RangeError(`${n} force readings: at least two, at different chip thicknesses`);
  const perChip = readings.reduce((s, r) => s + (r.chip - mh) * (r.force - mf), 0) / shh;
  const edge = mf - perChip * mh;
  if (!(edge > 0 && perChip > 0)) {
    throw new RangeError(`fitted edge force ${edge} N/mm and chip force ${perChip} N/mm2: both must be above 0; measure again`);
  }
  return { ...model, edge, perChip, density, source };
}
