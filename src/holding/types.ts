import type { Affine } from "../kernel/map-moves.ts";
import type { Finding, Mm, Rad } from "../units/index.ts";
import type { SectionPlan, SideSection } from "./sections/types.ts";

export type SideName = "board" | "carve";

/** Rigid transform, row-major 3x4: p' = M p + t. */
export type Transform = readonly [number, number, number, number, number, number, number, number, number, number, number, number];

/** What holds or touches the piece, in its side's program frame. */
export type Solid = (
  | { readonly kind: "box"; readonly min: readonly [Mm, Mm, Mm]; readonly max: readonly [Mm, Mm, Mm] }
  | { readonly kind: "cylinder"; readonly x: Mm; readonly y: Mm; readonly diameter: Mm; readonly zMin: Mm; readonly zMax: Mm }
  | { readonly kind: "prism"; readonly points: readonly (readonly [Mm, Mm])[]; readonly zMin: Mm; readonly zMax: Mm }
) & { readonly name: string; readonly role: "fence pin" | "end stop" | "block" | "screw" | "support" | "index pin" };

/** A hole through the waste, neck frame: round, or slotted between two places. */
export interface WasteBore {
  readonly id: string; // "turn-pin-1"
  readonly diameter: Mm;
  readonly from: readonly [Mm, Mm];
  readonly to: readonly [Mm, Mm];
}

/**
 * One side as it lies on the bed. Program frame: origin where the datum edge's line meets the end stop's line, on the bed
 * (z = 0 is the bed). The board side's blank lies at y >= 0 of it; after the turn about x the piece lies at y <= 0.
 */
export interface Side {
  readonly name: SideName;
  readonly neckToProgram: Transform;
  /** The blank before any cut of either side, in this side's program frame. */
  readonly stock: { readonly min: readonly [Mm, Mm, Mm]; readonly max: readonly [Mm, Mm, Mm] };
  readonly bed: Mm;
  readonly holding: readonly Solid[];
  /** Rapids across travel at or above this z. */
  readonly safeZ: Mm;
  /** Where the program zero lies on the machine's bed, measured from the bed's own corner. */
  readonly zeroOnBed: readonly [Mm, Mm];
  /** How to set the zero, in words for the sheet and the program header. */
  readonly zeroSays: string;
  /** What the machine makes of this side's programs (corrections in force): true = M programmed + t. Absent: what they say. */
  readonly real?: Affine;
  /** Holes through the waste that this side bores, for the pins of the other one. */
  readonly bores?: readonly WasteBore[];
  /** Where the neck is cut in sections: each with what holds it; `holding` is then the first one's. */
  readonly sections?: readonly SideSection[];
}

export interface Holding {
  readonly blank: { readonly length: Mm; readonly width: Mm; readonly thickness: Mm; readonly boardThickness: Mm };
  /**
   * Where the neck lies in the blank: tip from the headstock end, centreline from the datum edge, and how far it is turned about the
   * nut's middle, from the blank's length toward its far edge (absent: along it). Of a turned neck the first two are those of the nut's
   * middle: less the headstock's length, and at it.
   */
  readonly placement: { readonly tipFromEnd: Mm; readonly centreFromDatum: Mm; readonly rotation?: Rad };
  readonly sides: { readonly board: Side; readonly carve: Side };
  readonly findings: readonly Finding[];
  /** Of a neck that is longer than the bed. */
  readonly sections?: SectionPlan;
}
