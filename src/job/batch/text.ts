import { clockLimits } from "../../cutting/clock-limits.ts";
import type { Cutter } from "../../cutting/types.ts";
import { secondsOf } from "../../kernel/clock.ts";
import { MoveKind, type MoveList } from "../../kernel/moves.ts";
import { checkProgram, dialectFor, type ProgramInput } from "../../program/index.ts";
import { movedBy, part } from "../../program/resume/rest.ts";
import type { ProofProgram } from "../../proof/types.ts";
import type { Finding, Mm } from "../../units/index.ts";
import { sha256 } from "../hash.ts";
import { openProgram } from "../resume.ts";
import { sourceOf } from "../resume-made.ts";
import type { Laid, LaidSide, LaidTurn } from "./lay.ts";
import type { Piece } from "./pieces.ts";

/* Writing: the programs that cut several pieces, from the text of each piece's own. */

const PATH_TOLERANCE: Mm = 0.005;

export interface BatchText {
  readonly program: ProofProgram;
  readonly cutter: Cutter;
  readonly seconds: number;
  /** Pieces that it cuts, in words. */
  readonly who: readonly string[];
  readonly findings: readonly Finding[];
}

/** Rapids at a piece's own safe height are made at the bed's. */
function lifted(m: MoveList, own: Mm, to: Mm): MoveList {
  const z = m.z.slice();
  for (let k = 0; k < m.count; k++) if (m.kind[k] === MoveKind.rapid && z[k] >= own - 1e-6) z[k] = Math.max(z[k], to);
  return { ...m, start: [m.start[0], m.start[1], Math.max(m.start[2], to)], z };
}

/** "programs/04-board-tuner-bores.ngc", by its number and its first piece's own program. */
export function fileOf({ turn, number, stepOf }: LaidTurn): string {
  const own = stepOf(turn.steps[0]) as { readonly program: string };
  return `programs/${String(number).padStart(2, "0")}-${own.program.replace(/^.*\/\d+-/, "")}`;
}

/** One text of cuts with one cutter, in the words of piece 1's zero. */
export function textOf(laid: Laid, side: LaidSide, file: string, cutter: Cutter, cuts: ProgramInput["cuts"]): Omit<BatchText, "who"> {
  const { pieces } = laid;
  const { machine } = pieces[0].made.shop;
  const limits = clockLimits(machine);
  const input: ProgramInput = {
    file: file.split("/").at(-1)!,
    orderName: `batch of ${pieces.length}: ${namesOf(pieces)}`,
    orderHash: sha256(new TextEncoder().encode(pieces.map((p) => p.made.job.order.sha256).join(" "))),
    side: side.side,
    cutter,
    cuts,
    safeZ: side.safe,
    zeroSays: `of piece 1: ${side.sides[0].zeroSays}`,
    decimals: machine.controller.decimals,
    arcs: machine.controller.arcs,
    pathTolerance: PATH_TOLERANCE,
    seconds: cuts.reduce((sum, c) => sum + secondsOf(c.moves, limits), 0),
  };
  const text = new Uint8Array(dialectFor(machine.controller.dialect).writeBytes(input));
  return {
    program: { file, side: side.side, cutter: cutter.number, cuts: cuts.map((c) => c.id), text },
    cutter,
    seconds: input.seconds,
    findings: checkProgram(new TextDecoder("latin1").decode(text), input, machine.controller.dialect),
  };
}

export const namesOf = (pieces: readonly Piece[]): string => pieces.map((p) => p.made.job.order.name).join(", ");

/** The program of a turn that cuts, for the pieces that are not out; null when none is left in it. */
export function writeTurn(laid: Laid, laidTurn: LaidTurn, pieces: readonly Piece[] = laid.pieces): BatchText | null {
  const { turn, stepOf } = laidTurn;
  const side = laid.sides.get(laidTurn.side)!;
  const going = turn.steps.filter((s) => !pieces[s.piece].out);
  if (going.length === 0) return null;
  const written = going.map((s) => ({
    piece: pieces[s.piece],
    shift: side.shifts[s.piece],
    own: side.told[s.piece],
    ...openProgram(sourceOf(pieces[s.piece].made), (stepOf(s) as { readonly program: string }).program),
  }));
  const cuts = written.flatMap(({ piece, shift, own, written: w }) =>
    w.cuts.map((c) => ({
      id: `${piece.prefix}${c.id}`,
      title: `${piece.name} (${piece.made.job.order.name}): ${c.title}`,
      rpm: c.rpm,
      moves: lifted(movedBy(part(w.moves, c.from, c.to), [shift[0], shift[1], 0]), own, side.safe),
    })),
  );
  const made = textOf(laid, side, fileOf(laidTurn), written[0].cutter, cuts);
  return { ...made, who: [...new Set(written.map((w) => w.piece.name))] };
}
