import type { Cutter, Machine } from "../cutting/types.ts";
import type { SideSection } from "../holding/sections/types.ts";
import type { SideName, Solid, Transform } from "../holding/types.ts";
import type { HeightMap } from "../kernel/heightmap.ts";
import type { Affine } from "../kernel/map-moves.ts";
import type { Neck } from "../neck/types.ts";
import type { Finding, Mm, Rad } from "../units/index.ts";

/** A side as the job file states it. */
export interface ProofSide {
  readonly name: SideName;
  readonly neckToProgram: Transform;
  readonly stock: { readonly min: readonly [Mm, Mm, Mm]; readonly max: readonly [Mm, Mm, Mm] };
  readonly bed: Mm;
  readonly holding: readonly Solid[];
  readonly zeroOnBed: readonly [Mm, Mm];
  /** Of a neck that is cut in sections: where the blank lies in each, and what holds it there. */
  readonly sections?: readonly Pick<SideSection, "number" | "shift" | "holding">[];
  /** What the machine makes of the programs: true = M programmed + t. Absent: what they say. */
  readonly real?: Affine;
}

export interface ProofProgram {
  readonly file: string;
  readonly side: SideName;
  readonly cutter: number;
  readonly cuts: readonly string[];
  readonly text: Uint8Array;
  /** Number of the side's section that it is for, where there are sections. */
  readonly section?: number;
}

export type ProofStep =
  | { readonly program: string }
  | { readonly hand: string; readonly side: SideName; readonly fills: readonly string[] };

export interface ProofInput {
  readonly neck: Neck;
  readonly machine: Machine;
  readonly cutters: readonly Cutter[];
  readonly sides: readonly ProofSide[];
  readonly programs: readonly ProofProgram[];
  readonly steps: readonly ProofStep[];
  /** Allowed cusp per cut id, for the left-over limit. */
  readonly cusps: Readonly<Record<string, Mm>>;
  /** By cut id: how much wood a roughing cut may meet. Cuts without an entry are not audited. */
  readonly engagement?: Readonly<Record<string, EngagementLimit>>;
  /** Cell of the stock maps, mm. */
  readonly cell: Mm;
  /** Called with a share 0..1 and what is being done. */
  readonly progress?: (share: number, says: string) => void;
}

/** Most of the rim that may stand in wood of the depth asked. */
export interface EngagementLimit {
  readonly limit: Rad;
  readonly depth: Mm;
}

/**
 * What a cut meets of the wood, in degrees of the rim: `load` is the angle weighed by the wood's height over the depth asked.
 */
export interface EngagementFigure {
  readonly cut: string;
  readonly limitDegrees: number;
  readonly depth: Mm;
  /** Largest load, and where: line of the program and place of the tip. */
  readonly maxDegrees: number;
  readonly line: number;
  readonly at: readonly [Mm, Mm, Mm];
  /** How far a measured angle may be off. */
  readonly errorDegrees: number;
  /** Largest angle, however low the wood (a ramp meets the full width). */
  readonly widestDegrees: number;
  readonly widestLine: number;
  /** Length of path (mm) per ten degrees of load, from 0. */
  readonly histogram: readonly number[];
  /** Length at feed that meets no wood. */
  readonly air: Mm;
}

/** One measured thing beside what was ordered. */
export interface Measure {
  /** Feature or place: "fret-5", "tuner-2", "thickness at fret 1". */
  readonly id: string;
  readonly what: string;
  readonly unit: string;
  readonly ordered: number;
  readonly measured: number;
  readonly tolerance: number;
}

/** How far the finished surface stands from the target, by region; normal distance in mm, cells of the map. */
export interface RegionFigure {
  /** "board", "headstock face", "ramp", "carve", "heel", "headstock back", "heel transition", ... */
  readonly region: string;
  readonly side: SideName;
  readonly cells: number;
  /** Deepest below target (positive number), and most above it. */
  readonly worstBelow: Mm;
  readonly worstAbove: Mm;
  readonly meanAbove: Mm;
  /** 95th percentile of what is left above. */
  readonly p95Above: Mm;
  readonly limitBelow: Mm;
  readonly limitAbove: Mm;
}

export interface ProgramFigure {
  readonly file: string;
  readonly moves: number;
  readonly feedLength: Mm;
  readonly rapidLength: Mm;
  readonly seconds: number;
  readonly min: readonly [Mm, Mm, Mm];
  readonly max: readonly [Mm, Mm, Mm];
  /** Volume of stock removed, mm3. */
  readonly removed: number;
  /** Of the cuts that have a limit. */
  readonly engagement?: readonly EngagementFigure[];
  /** Of programs with figures: the largest load, in degrees, in each of TRACE equal parts of the program's time. */
  readonly engagementTrace?: readonly number[];
}

export interface SideProof {
  readonly side: SideName;
  readonly programs: readonly ProgramFigure[];
  readonly regions: readonly RegionFigure[];
  readonly measures: readonly Measure[];
  readonly findings: readonly Finding[];
  /** What is left, in the side's program frame: z of the stock's upper surface. */
  readonly stock: HeightMap;
  /** Normal deviation from the finished surface per cell (same grid), NaN where nothing is compared. */
  readonly deviation: Float32Array;
  /**
   * How far the outline's wall stands outside its place at each station of `outlineStations` (mm, positive: wood left), NaN
   * where this side cuts no wall. Absent when nothing could be measured.
   */
  readonly walls?: Float32Array;
}
