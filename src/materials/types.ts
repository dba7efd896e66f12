import type { MegaPascal, Newton } from "../units/index.ts";

/** Stiffness ratios to EL (along the grain). L along, R radial, T tangential. */
export interface ElasticRatios {
  readonly et: number;
  readonly er: number;
  readonly glr: number | null;
  readonly glt: number | null;
  readonly source: string;
}

export interface Shrinkage {
  /** Percent of the green size. */
  readonly radial: number;
  readonly tangential: number;
  readonly volumetric: number | null;
  readonly basis: "green to oven-dry" | "green to 12 %";
  readonly source: string;
}

export interface MovementCoefficients {
  /** Change of size per percent of moisture content, as a fraction of the size (Wood Handbook Table 13-5), about 6 to 14 %. */
  readonly radial: number;
  readonly tangential: number;
  /** True: no table value was found; derived from the shrinkage by coefficientFromShrinkage. */
  readonly estimated: boolean;
  readonly source: string;
}

export interface WoodRow {
  readonly name: string;
  /** Other names a maker may write, lower case. */
  readonly aliases: readonly string[];
  readonly botanical: string;
  readonly kind: "hardwood" | "softwood";
  /** Oven-dry mass over the volume at `basis`, over the density of water. */
  readonly specificGravity: number;
  readonly gravityBasis: "volume at 12 %" | "green volume";
  /** Modulus of elasticity in bending, 12 % moisture content. */
  readonly moe: MegaPascal;
  /** Modulus of rupture, 12 %. */
  readonly mor: MegaPascal;
  /** Shear strength along the grain, 12 %; null: no value seen. */
  readonly shear: MegaPascal | null;
  /** Side hardness (ball test), 12 %. */
  readonly hardness: Newton;
  /** The same in green wood, for Eq 5-3; null: no value seen. */
  readonly green: { readonly mor: MegaPascal; readonly moe: MegaPascal | null } | null;
  /** Moisture content (%) where drying begins to change the strength (Mp of Eq 5-3, Table 5-13); 25 where the table names none. */
  readonly strengthMoisture: number;
  /** null: no value seen. */
  readonly shrinkage: Shrinkage | null;
  /** Left out: estimated from the shrinkage. */
  readonly coefficients?: MovementCoefficients;
  readonly elastic: ElasticRatios | null;
  /** What the dust does to people, for the sheets; empty: nothing beyond the limits for all wood dust was seen. */
  readonly dust: string;
  /** Of density and mechanical values. */
  readonly source: string;
  /** What is uncertain about the row, or where sources disagree. */
  readonly notes: string;
}

export interface Wood extends WoodRow {
  /** kg/m3 at 12 % moisture content (wood and its water). */
  readonly density: number;
  /** Basic specific gravity: oven-dry mass, green volume. */
  readonly basicGravity: number;
  readonly coefficients: MovementCoefficients;
}
