import type { SideName } from "../../holding/types.ts";
import { type BedPiece, type BedProof, type BedStep, proveBed } from "../../proof/batch.ts";
import { woodBefore } from "../../proof/resume.ts";
import type { ProofProgram } from "../../proof/types.ts";
import type { Mm } from "../../units/index.ts";
import { realMoved } from "../resume.ts";
import { sourceOf } from "../resume-made.ts";
import type { Laid, LaidTurn } from "./lay.ts";
import type { Piece } from "./pieces.ts";

/* Proving: a side's programs over the wood of every piece. */

/** What is done by hand in a turn, for the pieces that are not out. */
export function handSteps({ turn, stepOf }: LaidTurn, pieces: readonly Piece[]): BedStep[] {
  return turn.steps.flatMap((s) => {
    const step = stepOf(s);
    return "program" in step || pieces[s.piece].out ? [] : [{ piece: s.piece, fills: step.fills }];
  });
}

/** A side's programs, in their order, against the wood that each piece's own programs leave of it. */
export function proveSideOf(
  laid: Laid,
  name: SideName,
  pieces: readonly Piece[],
  programs: readonly ProofProgram[],
  steps: readonly BedStep[],
  cell: Mm,
): BedProof {
  const { nested, shifts, sides } = laid.sides.get(name)!;
  const bed = pieces.map(
    (p, k): BedPiece => ({
      name: p.name,
      input: { ...sourceOf(p.made).input, cell },
      side: sides[k],
      real: realMoved(sides[k].real, [shifts[k][0], shifts[k][1], 0]),
      at: [nested.at[k][0] - nested.at[0][0], nested.at[k][1] - nested.at[0][1]],
      prefix: p.prefix,
      ...(p.out ? { out: true } : {}),
    }),
  );
  const own = pieces.map((p, k) => (p.out ? null : (woodBefore(bed[k].input, bed[k].side, null)?.map ?? null)));
  const { made } = pieces[0];
  return proveBed({ machine: made.shop.machine, cutters: made.cutters, pieces: bed, programs, steps, zeroOnBed: nested.at[0], cell }, own);
}
