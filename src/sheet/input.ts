import type { OutcomeBudget } from "../holding/budget/types.ts";
import type { Holding, SideName } from "../holding/types.ts";
import type { Figures } from "../neck/figures/index.ts";
import type { Neck } from "../neck/types.ts";
import type { CutPlan } from "../paths/types.ts";
import type { SideProof } from "../proof/types.ts";
import type { ShopSpec } from "../spec/types.ts";
import type { Finding, Mm, Seconds } from "../units/index.ts";
import type { CutRow } from "./cut-rows.ts";
import type { Fonts } from "./draw/pdf.ts";
import type { SideMaps } from "./map-image.ts";

/** One program as the sheets name it. */
export interface SheetProgram {
  readonly file: string;
  readonly sha256: string;
  readonly side: SideName;
  /** Number of the cutter in the shop. */
  readonly cutter: number;
  /** Ids of the cuts in it, as in the plan. */
  readonly cuts: readonly string[];
  readonly feedLength: Mm;
  readonly seconds: Seconds;
  /** Of all moves, program frame. */
  readonly bounds: { readonly min: readonly [Mm, Mm, Mm]; readonly max: readonly [Mm, Mm, Mm] };
  /** Lines that tell the machine something, and moves before runs of them became arcs. */
  readonly blocks?: number;
  readonly points?: number;
}

/** The order of work on paper: programs and what hands do between them. */
export type SheetStep =
  | { readonly program: string }
  | { readonly hand: string; readonly side: SideName; readonly fills: readonly string[] };

/** All that the drawings, the run sheet and the report are made from. */
export interface ReportInput {
  readonly orderName: string;
  readonly orderTitle: string;
  /** SHA-256 of the order file, hexadecimal. */
  readonly orderHash: string;
  readonly neck: Neck;
  readonly holding: Holding;
  readonly plan: CutPlan;
  readonly shop: ShopSpec;
  readonly programs: readonly SheetProgram[];
  readonly steps: readonly SheetStep[];
  /** Proof of the sides, in the order board, carve; empty when nothing was proved, and the sheets say so. */
  readonly proof: readonly SideProof[];
  /** All findings of all stages, worst first. */
  readonly findings: readonly Finding[];
  /** Version of this program, printed in the foot. */
  readonly version: string;
  /** Pictures of those sides, in the same order. */
  readonly maps: readonly SideMaps[];
  /** Time and length of every cut, in the order of work. */
  readonly rows: readonly CutRow[];
  /** What the neck means; null for one that is stopped by its own geometry. */
  readonly meaning: Figures | null;
  /** The error budget of the neck on this machine. */
  readonly budget: readonly OutcomeBudget[];
}

export interface RunSheetInput extends ReportInput {
  readonly fonts: Fonts;
}
