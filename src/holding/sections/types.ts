import type { Mm } from "../../units/index.ts";
import type { OutcomeBudget } from "../budget/types.ts";
import type { Solid } from "../types.ts";

/*
 * A neck longer than the machine's travel is cut in sections: the blank is shifted along the bed between them and found again by two
 * index pins in holes that an earlier section bored into its waste. All x below are distances along the blank from the end stop.
 *
 *   bed, section 1      |=====================|
 *   blank         [-----------------s-o----------------]      s: seam, o: index holes, beyond it
 *   bed, section 2               |=====================|      the same holes on pins near the bed's left end
 */

/** Where two sections meet, and what was bored for it. */
export interface Seam {
  /** Along the blank, and the same place in the neck's frame. */
  readonly at: Mm;
  readonly neckX: Mm;
  /** What decided: step to expect here by first-order errors, in mm. */
  readonly cost: number;
  /** Centre line of its two index holes, along the blank. */
  readonly holesAt: Mm;
}

/** An index hole in the waste: round near the datum edge, a slot across the neck near the far one. */
export interface IndexHole {
  readonly id: string; // "index-2-datum"
  /** Number of the section that it locates. */
  readonly section: number;
  /** Along the blank from the end stop, and across it from the datum edge. */
  readonly along: Mm;
  readonly across: Mm;
  readonly diameter: Mm;
  /** How much longer than wide: 0 for a round hole. */
  readonly slot: Mm;
}

/** A side of one section as the machine sees it. */
export interface SideSection {
  /** 1 is the headstock's end. */
  readonly number: number;
  /** Its cuts lie between these, seams at both ends but the blank's own: along the blank. */
  readonly from: Mm;
  readonly to: Mm;
  /** A place of the side's program frame less this is the place in this section's programs. Section 1 has 0, 0, unless it lies on pins over a grid. */
  readonly shift: readonly [Mm, Mm];
  /** What holds the piece in this section, in this section's program frame. */
  readonly holding: readonly Solid[];
}

/** Left under a hole through the waste and broken out by hand: the cutter stays off the bed. */
export const SKIN_LEFT: Mm = 0.3;

export interface SectionPlan {
  readonly count: number;
  readonly seams: readonly Seam[];
  readonly holes: readonly IndexHole[];
  /** How far the blank is shifted from section 1 to each section. */
  readonly shifts: readonly Mm[];
  /** And across, away from the datum edge's line, where pins stand over holes of a grid. */
  readonly aside?: readonly Mm[];
  /** Finished surfaces run over a seam by this much from both sides, roughing by more. */
  readonly overlap: Mm;
  readonly roughOverlap: Mm;
  /** Where the two index pins stand: from the program's zero along the bed, and across from the fence line. */
  readonly pins: readonly { readonly along: Mm; readonly across: Mm; readonly diameter: Mm; readonly height: Mm }[];
  /** What a seam's step may come to. */
  readonly budget: readonly OutcomeBudget[];
}
