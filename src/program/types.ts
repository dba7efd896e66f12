import type { Cutter } from "../cutting/types.ts";
import type { SideName } from "../holding/types.ts";
import type { MoveList } from "../kernel/moves.ts";
import type { Mm, Rpm } from "../units/index.ts";

/** One program: consecutive cuts of one side with one cutter. */
export interface ProgramInput {
  /** "03-board-headstock-finish.ngc" */
  readonly file: string;
  readonly orderName: string;
  readonly orderHash: string;
  readonly side: SideName;
  readonly cutter: Cutter;
  /** Ids and moves of the cuts, in order. Every list starts and ends at or above safeZ. */
  readonly cuts: readonly { readonly id: string; readonly title: string; readonly rpm: Rpm; readonly moves: MoveList }[];
  readonly safeZ: Mm;
  readonly zeroSays: string;
  readonly decimals: number;
  readonly arcs: boolean;
  /** Clock's estimate, for the header. */
  readonly seconds: number;
  /**
   * How far a controller that blends may leave the path (G64 P, full dialect only). Left out: exact path, G61. NISTIR 6556
   * knows G64 without a P; a plain G64 allows any distance and is never written.
   */
  readonly pathTolerance?: Mm;
}

export interface Bounds {
  readonly min: readonly [Mm, Mm, Mm];
  readonly max: readonly [Mm, Mm, Mm];
}

export interface Dialect {
  readonly name: "full" | "reduced";
  /** Program text: ASCII, LF line ends, deterministic to the byte. */
  write(input: ProgramInput): string;
}

/** A dialect that also gives the same text as bytes, without the detour by a string. */
export interface ByteDialect extends Dialect {
  writeBytes(input: ProgramInput): Uint8Array;
}
