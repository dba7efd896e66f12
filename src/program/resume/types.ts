import type { MoveList } from "../../kernel/moves.ts";
import type { Mm, MmPerSecond, Rpm } from "../../units/index.ts";

/** A cut of a program as it was read from its text: moves from <= k < to. */
export interface WrittenCut {
  readonly id: string;
  readonly title: string;
  readonly rpm: Rpm;
  readonly from: number;
  readonly to: number;
}

/** A program as it was read from its text, in its own words: places and feeds as the machine is told. */
export interface Written {
  readonly file: string;
  readonly moves: MoveList;
  readonly cuts: readonly WrittenCut[];
}

/** A stretch at feed between two rapids. */
export interface Pass {
  /** Index of its cut, and its number in that cut, from 1. */
  readonly cut: number;
  readonly number: number;
  readonly from: number;
  readonly to: number;
  readonly firstLine: number;
  readonly lastLine: number;
  readonly length: Mm;
  readonly zMin: Mm;
  readonly zMax: Mm;
}

/** Where a person says that the work stopped. */
export type StoppedAt =
  | { readonly kind: "line"; readonly line: number }
  | { readonly kind: "pass"; readonly cut: string; readonly pass: number }
  | { readonly kind: "place"; readonly at: readonly [Mm, Mm, Mm] };

/** From where the program is cut again: from the beginning of a move. */
export interface ResumeStart {
  /** Index of the cut, and of the first move that is made again. */
  readonly cut: number;
  readonly move: number;
  readonly line: number;
  /** Place of the tip there. */
  readonly at: readonly [Mm, Mm, Mm];
  /** Way at feed that is made again before the place where it stopped. */
  readonly overlap: Mm;
  /** The place where it stopped, as it was understood. */
  readonly says: string;
}

export type FoundStart =
  | { readonly ok: true; readonly start: ResumeStart }
  | { readonly ok: false; readonly says: string; readonly tryThis: string };

/** Heights and feed of the way in, as the machine is told. */
export interface WayIn {
  readonly safeZ: Mm;
  /** Above everything that was ever there: down to here at rapid, below at feed. */
  readonly clearZ: Mm;
  readonly plunge: MmPerSecond;
}
