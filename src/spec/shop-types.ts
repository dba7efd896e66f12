import type { ForceModel } from "../materials/cutting-force.ts";
import type { MegaPascal, Mm, MmPerSecond, MmPerSecond2, NewtonPerMm, Rad, Rpm, Seconds, Watt } from "../units/index.ts";
import type { ShopCorrection } from "./corrections.ts";

/* The shop: machine, cutters, shelf, rates; complete, in mm, radians, seconds (see types.ts). */

export interface ShopSpec {
  readonly name: string;
  readonly title: string;
  readonly machine: MachineSpec;
  readonly cutters: readonly CutterSpec[];
  /** Hardware on the shelf, generic entries by name. */
  readonly hardware?: HardwareSpec;
  /** What was measured of machine and cutters and put right. */
  readonly corrections?: readonly ShopCorrection[];
  /** The law of cutting forces the shop goes by; absent: the default, from memory. */
  readonly coefficients?: ForceModel;
  /** Kind of cutter for a radiused board's finishing rows; absent: ball. */
  readonly boardRadius?: "ball" | "bull" | "flat";
  /** Rates; a cost is shown only with them. */
  readonly costs?: CostsSpec;
}

export interface CostsSpec {
  /** As it stands behind a figure: "EUR". */
  readonly currency: string;
  /** Machine and person together, per hour of program. */
  readonly machineHour?: number;
  /** Added to a program's time for changing and touching off its cutter. */
  readonly cutterChange?: Seconds;
}

export interface HardwareSpec {
  readonly tuners: readonly {
    readonly name: string;
    readonly post: Mm;
    readonly bush: Mm;
    readonly bushDepth: Mm;
    readonly winding: Mm;
    readonly body: { readonly length: Mm; readonly width: Mm };
    readonly screws: readonly { readonly x: Mm; readonly y: Mm }[];
  }[];
  readonly rods: readonly {
    readonly name: string;
    readonly action: "single" | "double";
    readonly width: Mm;
    readonly height: Mm;
    readonly length: Mm;
  }[];
  readonly bars: readonly {
    readonly name: string;
    readonly material: "carbon" | "steel" | "hardwood";
    readonly width: Mm;
    readonly height: Mm;
    readonly length: Mm;
  }[];
  readonly bolts: readonly { readonly name: string; readonly bore: Mm; readonly pilot: Mm; readonly length: Mm; readonly head: Mm }[];
  readonly inserts: readonly { readonly name: string; readonly bore: Mm; readonly length: Mm }[];
  readonly wires: readonly {
    readonly name: string;
    readonly crownWidth: Mm;
    readonly crownHeight: Mm;
    readonly tangWidth: Mm;
    readonly tangDepth: Mm;
  }[];
  readonly nuts: readonly { readonly name: string; readonly length: Mm; readonly width: Mm; readonly height: Mm }[];
}

export interface MachineSpec {
  readonly name: string;
  /** Usable bed. The neck lies along `along`. */
  readonly bed: { readonly x: Mm; readonly y: Mm };
  readonly along: "x" | "y";
  readonly travel: { readonly x: Mm; readonly y: Mm; readonly z: Mm };
  /** Above the highest thing on the bed, for rapids across. */
  readonly clearance: Mm;
  /** Rapids down stop this far above the wood. */
  readonly approach: Mm;
  readonly feed: { readonly x: MmPerSecond; readonly y: MmPerSecond; readonly z: MmPerSecond };
  readonly rapid: { readonly x: MmPerSecond; readonly y: MmPerSecond; readonly z: MmPerSecond };
  readonly acceleration: { readonly x: MmPerSecond2; readonly y: MmPerSecond2; readonly z: MmPerSecond2 };
  readonly junctionDeviation: Mm;
  readonly repeat: Mm;
  readonly stiffness: { readonly x: NewtonPerMm; readonly y: NewtonPerMm; readonly z: NewtonPerMm };
  readonly spindle: {
    readonly min: Rpm;
    readonly max: Rpm;
    readonly power: Watt;
    /** Power by speed, in order of speed, two points or more; absent: constant moment up to the highest speed. */
    readonly curve?: readonly { readonly rpm: Rpm; readonly power: Watt }[];
  };
  readonly controller: {
    /** full: RS274/NGC with tool changes, length offsets, arcs. reduced: one cutter per program, no tool table. */
    readonly dialect: "full" | "reduced";
    readonly arcs: boolean;
    /** Decimals of a millimetre in the text, at least 4. */
    readonly decimals: number;
  };
  /** How and when the stiffness of an axis was measured. */
  readonly measured?: Partial<Readonly<Record<"x" | "y" | "z", Measured>>>;
  /** Whether a neck longer than the bed is cut in sections; absent: yes. */
  readonly sections?: boolean;
  /** Absent: a bed that pins, blocks and screws go into anywhere. */
  readonly grid?: GridSpec;
  /** From the shop's corrections: true way per programmed way along each axis, and how far y leans toward +x. Absent: all true. */
  readonly real?: { readonly x: number; readonly y: number; readonly z: number; readonly square: Rad };
}

/** Holes in the bed, or in a plate on it, in rows along both axes. */
export interface GridSpec {
  readonly holes: "threaded" | "plain";
  /** From hole to hole, both ways. */
  readonly pitch: Mm;
  /** The first hole's middle from the bed's own corner. */
  readonly first: { readonly x: Mm; readonly y: Mm };
  /** Of the bolts that go through blocks into them. */
  readonly diameter: Mm;
}

/** When and how a figure was found. */
export interface Measured {
  /** ISO 8601, a day. */
  readonly date: string;
  readonly note: string;
}

export type CutterShape = "flat" | "ball" | "bull" | "taper" | "vee" | "drill";

export interface CutterSpec {
  readonly number: number;
  readonly name: string;
  readonly shape: CutterShape;
  /** Largest diameter of the cutting part (a taper's large end). */
  readonly diameter: Mm;
  readonly cornerRadius: Mm;
  /** Diameter at the tip (taper, vee), 0 for a point. */
  readonly tipDiameter: Mm;
  /** Included angle (taper, vee, drill). */
  readonly tipAngle: Rad;
  readonly flutes: number;
  readonly fluteLength: Mm;
  /** From the tip to the holder. */
  readonly reach: Mm;
  readonly shankDiameter: Mm;
  /** From the collet nut upward. */
  readonly holder: readonly { readonly diameter: Mm; readonly length: Mm }[];
  /** Chip per tooth for hardwood: least before it rubs, most before it is too much. */
  readonly chip: { readonly min: Mm; readonly max: Mm };
  /** Most depth per pass in a full slot, hardwood, on a stiff machine. */
  readonly maxDepth: Mm;
  /** Largest spindle speed marked on the cutter. */
  readonly maxRpm: Rpm;
  readonly modulus: MegaPascal;
  /** How far it cuts before it is dull, length in wood. */
  readonly life?: Mm;
  readonly price?: number;
  /** Added to the diameter of recesses that this cutter makes, as chosen on a coupon. */
  readonly recess?: { readonly allowance: Mm } & Measured;
}
