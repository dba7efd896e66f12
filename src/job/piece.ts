import { clockLimits } from "../cutting/clock-limits.ts";
import { posted, postedHeight, realOf } from "../holding/correct/posting.ts";
import type { Solid } from "../holding/types.ts";
import { secondsOf } from "../kernel/clock.ts";
import type { MoveList } from "../kernel/moves.ts";
import { checkProgram, dialectFor, type ProgramInput } from "../program/index.ts";
import { type PieceProof, provePiece } from "../proof/piece.ts";
import type { CutterSpec, MachineSpec } from "../spec/types.ts";
import type { Finding, Mm, Rpm, Seconds } from "../units/index.ts";
import { sha256 } from "./hash.ts";

/* One program on a piece that is no neck: a coupon, a plate, a test piece. */

export interface PieceProgram {
  readonly file: string;
  /** What the program's head names as its order, and that order's hash. */
  readonly orderName: string;
  readonly orderHash: string;
  readonly machine: MachineSpec;
  readonly cutter: CutterSpec;
  readonly cut: { readonly id: string; readonly title: string; readonly rpm: Rpm; readonly moves: MoveList };
  readonly stock: { readonly min: readonly [Mm, Mm, Mm]; readonly max: readonly [Mm, Mm, Mm] };
  readonly holding: readonly Solid[];
  readonly safeZ: Mm;
  readonly zeroSays: string;
  readonly zeroOnBed: readonly [Mm, Mm];
  readonly recesses: Parameters<typeof provePiece>[0]["recesses"];
  /** Of the proof's map. */
  readonly cell: Mm;
}

export interface PieceMade {
  readonly text: Uint8Array<ArrayBuffer>;
  readonly sha256: string;
  readonly seconds: Seconds;
  readonly proof: PieceProof;
  /** Of the text and of the proof. */
  readonly findings: readonly Finding[];
}

/** Time of its moves as planned: posting does not change it by what a clock shows. */
export const pieceSeconds = (machine: MachineSpec, moves: MoveList): Seconds => secondsOf(moves, clockLimits(machine));

/** Writes a piece's program for the machine as it was measured, checks its text and proves it. */
export function writePiece(p: PieceProgram): PieceMade {
  const { machine, cutter, cut } = p;
  const real = realOf(machine, undefined, "board");
  const seconds = pieceSeconds(machine, cut.moves);
  const input: ProgramInput = {
    file: p.file,
    orderName: p.orderName,
    orderHash: p.orderHash,
    side: "board",
    cutter,
    cuts: [{ ...cut, moves: posted(cut.moves, real) }],
    safeZ: postedHeight(p.safeZ, real),
    zeroSays: p.zeroSays,
    decimals: machine.controller.decimals,
    arcs: machine.controller.arcs,
    pathTolerance: 0.005,
    seconds,
  };
  const text = new Uint8Array(dialectFor(machine.controller.dialect).writeBytes(input));
  const proof = provePiece({
    side: {
      name: "board",
      neckToProgram: [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0],
      stock: p.stock,
      bed: 0,
      holding: p.holding,
      zeroOnBed: p.zeroOnBed,
      ...(real === undefined ? {} : { real }),
    },
    machine,
    cutter,
    program: { file: p.file, side: "board", cutter: cutter.number, cuts: [cut.id], text },
    recesses: p.recesses,
    cell: p.cell,
  });
  const findings = [...checkProgram(new TextDecoder("latin1").decode(text), input, machine.controller.dialect), ...proof.findings];
  return { text, sha256: sha256(text), seconds, proof, findings };
}
