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
  /** Force square to the edge's motion, pushing it out of the wood, as a share of the force against it. */
  readonly normal: number;
  readonly source: string;
  /** Which of the figures above come from memory and from no source or reading; empty when none does. */
  readonly memory: readonly ForceFigure[];
}

/** The figures of a force model. */
export const FORCE_FIGURES = ["edge", "perChip", "density", "densityPower", "endGrain", "perMoisture", "dull", "normal"] as const;
export type ForceFigure = (typeof FORCE_FIGURES)[number];

/** kc 100 N/mm2 at a chip of 0.05 mm and 25 at 0.3 mm, hardwood of 700 kg/m3 along the grain. */
export const DEFAULT_FORCE: ForceModel = {
  edge: 4.5,
  perChip: 10,
  density: 700,
  densityPower: 1,
  endGrain: 1.8,
  perMoisture: 0.015,
  dull: 1.5,
  normal: 0.3,
  source: "from memory, not looked up: calibrate",
  memory: FORCE_FIGURES,
};

/** A shop's own figures over the default ones; what it leaves out stays from memory and is named so. */
export function forceModel(own: Partial<Record<ForceFigure, number>>, source: string): ForceModel {
  const memory = FORCE_FIGURES.filter((k) => own[k] === undefined);
  return { ...DEFAULT_FORCE, ...own, source, memory };
}

/** Where a model's figures come from, in words: for sheets and checks. */
export function forceSays(model: ForceModel): string {
  if (model.memory.length === FORCE_FIGURES.length) return "Cutting forces: all coefficients are from memory, not measured.";
  const rest = model.memory.length === 0 ? "" : ` From memory: ${model.memory.join(", ")}.`;
  return `Cutting forces: coefficients from ${model.source}.${rest}`;
}

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
  const { chip, grainAngle = 0 } = cut;
  if (!(chip >= 0)) throw new RangeError(`chip ${chip} mm: must not be negative`);
  return (model.edge + model.perChip * chip) * woodFactor(cut, model) * grainFactor(grainAngle, model);
}

/** The part of the law that does not change while a tooth goes round: density, moisture, sharpness. */
export function woodFactor(cut: Pick<CutState, "density" | "moisture" | "dull">, model: ForceModel = DEFAULT_FORCE): number {
  const { density, moisture = 12, dull = false } = cut;
  if (!(density > 0)) throw new RangeError(`density ${density} kg/m3: must be above 0`);
  // Exponential, so that no moisture makes the force negative; little changes above fibre saturation.
  const wet = Math.exp(-model.perMoisture * (Math.min(moisture, 30) - 12));
  return (density / model.density) ** model.densityPower * wet * (dull ? model.dull : 1);
}

/** The part that turns with the tooth: 1 along the grain, `endGrain` square to it. */
export const grainFactor = (grainAngle: Rad, model: ForceModel = DEFAULT_FORCE): number =>
  1 + (model.endGrain - 1) * Math.sin(grainAngle) ** 2;

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
  return {
    ...model,
    edge,
    perChip,
    density,
    source,
    memory: model.memory.filter((k) => k !== "edge" && k !== "perChip" && k !== "density"),
  };
}
