import type { Conditions } from "../cutting/types.ts";
import type { SideName, Solid } from "../holding/types.ts";
import type { MoveList } from "../kernel/moves.ts";
import type { Finding, Mm, Rad } from "../units/index.ts";

/** One operation on one side with one cutter. Moves are in the side's program frame, start and end at the side's safe height. */
export interface Cut {
  /** Plain id used in file names and findings: "scribe", "headstock-rough", ... unique within the plan. */
  readonly id: string;
  readonly title: string;
  readonly side: SideName;
  /** Number of the cutter in the shop. */
  readonly cutter: number;
  readonly moves: MoveList;
  /** Why it stands where it does in the order of work. */
  readonly why: string;
  /** Cusp height this cut leaves on the finished surface, null when it leaves no finished surface. */
  readonly cusp: Mm | null;
  readonly conditions: Conditions;
  /** Of a roughing cut that bounds it: most of the rim (rad) that meets wood of `depth` (mm). The proof audits it. */
  readonly engagement?: { readonly limit: Rad; readonly depth: Mm };
  /** Number of moves before runs of them became arcs. */
  readonly points?: number;
  /** Of a neck that is cut in sections: which one, from 1. Moves stay in the side's program frame. */
  readonly section?: number;
}

/** The order of work: cuts and hand steps; of a plan in two stages, with the stage each belongs to. */
export type WorkStep = (
  | { readonly kind: "cut"; readonly cut: string }
  | { readonly kind: "hand"; readonly side: SideName; readonly hand: string; readonly fills: readonly string[] }
) & { readonly stage?: 1 | 2 };

export interface CutPlan {
  readonly cuts: readonly Cut[];
  readonly steps: readonly WorkStep[];
  readonly findings: readonly Finding[];
  /** How far what holds the piece stands from all that turns over it. */
  readonly clear?: readonly SideClearance[];
}

/** Something that holds the piece, and what comes nearest to it. */
export interface Clearance {
  readonly name: string;
  readonly role: Solid["role"];
  readonly mm: Mm;
  readonly part: "cutter" | "shank" | "holder";
  readonly cut: string;
  /** Where the tip then is, in the side's program frame. */
  readonly at: readonly [Mm, Mm, Mm];
}

/** The nearest of a side's pins, stop, blocks and screws, and of the strips under the piece. */
export interface SideClearance {
  readonly side: SideName;
  readonly standing?: Clearance;
  readonly under?: Clearance;
}
