import type { Cutter, Machine } from "../cutting/types.ts";
import { cutBy } from "../holding/correct/posting.ts";
import type { Solid } from "../holding/types.ts";
import type { HeightMap } from "../kernel/heightmap.ts";
import type { Affine } from "../kernel/map-moves.ts";
import type { MoveList } from "../kernel/moves.ts";
import { profileHeight } from "../kernel/profile.ts";
import { type Finding, finding, type Mm } from "../units/index.ts";
import { Contact } from "./contact.ts";
import { checkMachineUse, NOWHERE, settleStart } from "./machine-use.ts";
import { frameOf } from "./place.ts";
import { interpretProgram, READER_RULES } from "./reader/index.ts";
import { AIR, airFinding, blankOf, fillStep, highestOf, partOf, RESUME_LIMIT, wayInTo } from "./resume.ts";
import { BATCH_DIFFERS, BATCH_STRAYS } from "./rules.ts";
import type { SimulationInput } from "./simulate.ts";
import { footprintOf } from "./solids.ts";
import { toolOf } from "./tool.ts";
import type { ProofProgram, ProofSide } from "./types.ts";

/*
 * The proof of programs that cut several pieces on one bed. For every piece all programs are run, from their text, over its own wood: its own cuts
 * with the other pieces as things that must not be touched, the others' cuts as strangers that must touch nothing of it. At the end its wood is
 * held against what its own programs, which are proved against the neck, leave of it.
 */

/** A piece on one side of the bed. */
export interface BedPiece {
  /** "piece 1". */
  readonly name: string;
  readonly input: SimulationInput;
  readonly side: ProofSide;
  /** What the machine makes of a batch's program, in this piece's frame. */
  readonly real: Affine;
  /** From this piece's frame to the bed's. */
  readonly at: readonly [Mm, Mm];
  /** Prefix of its cuts' ids. */
  readonly prefix: string;
  /** Nothing of it is cut; it lies there. */
  readonly out?: true;
}

/**
 * A program's turn, or what is filled by hand. `done`: it has run, up to its move `upTo` where it stopped (whole when left out): its wood is gone, and
 * nothing of it is looked at again. `resumed`: it goes on from there, and its way in may take no wood.
 */
export type BedStep =
  | { readonly program: string; readonly done?: true; readonly upTo?: number; readonly resumed?: true }
  | { readonly piece: number; readonly fills: readonly string[] };

export interface BedInput {
  readonly machine: Machine;
  readonly cutters: readonly Cutter[];
  readonly pieces: readonly BedPiece[];
  readonly programs: readonly ProofProgram[];
  readonly steps: readonly BedStep[];
  /** Zero of the programs from the bed's corner. */
  readonly zeroOnBed: readonly [Mm, Mm];
  readonly cell: Mm;
}

export interface BedProof {
  readonly findings: readonly Finding[];
  /** By piece: how far its wood ends below and above what its own programs leave; null for one that is out. */
  readonly pieces: readonly ({ readonly below: Mm; readonly above: Mm } | null)[];
}

interface Read {
  readonly program: ProofProgram;
  readonly moves: MoveList;
  /** Stretches of moves with the id of their cut. */
  readonly parts: readonly { readonly id: string; readonly from: number; readonly to: number }[];
}

/** A box of a piece and all that holds it, as another piece sees it. */
function obstaclesOf(p: BedPiece, from: BedPiece): Solid[] {
  const d = [p.at[0] - from.at[0], p.at[1] - from.at[1]];
  const { min, max } = p.side.stock;
  const box: Solid = {
    kind: "box",
    min: [min[0] + d[0], min[1] + d[1], min[2]],
    max: [max[0] + d[0], max[1] + d[1], max[2]],
    name: `blank of ${p.name}`,
    role: "block",
  };
  const shift = (s: Solid): Solid => {
    const name = `${s.name} of ${p.name}`;
    if (s.kind === "box")
      return { ...s, name, min: [s.min[0] + d[0], s.min[1] + d[1], s.min[2]], max: [s.max[0] + d[0], s.max[1] + d[1], s.max[2]] };
    if (s.kind === "cylinder") return { ...s, name, x: s.x + d[0], y: s.y + d[1] };
    return { ...s, name, points: s.points.map(([x, y]) => [x + d[0], y + d[1]] as const) };
  };
  return [box, ...p.side.holding.map(shift)];
}

/** Runs a side's programs over all its pieces. `own`: by piece, the wood that its own programs leave on this side. */
export function proveBed(input: BedInput, own: readonly (HeightMap | null)[]): BedProof {
  const findings: Finding[] = [];
  const reads = new Map<string, Read>();
  const highest = Math.max(...input.pieces.map((p) => highestOf(p.side)));
  for (const program of input.programs) {
    const read = interpretProgram(program.text, { start: NOWHERE });
    for (const e of read.errors) {
      const rule = READER_RULES.find((r) => r.id === e.rule)!;
      findings.push(
        finding(rule, {
          where: `${program.file}:${e.line}:${e.column}`,
          value: e.word,
          limit: null,
          unit: "",
          says: e.says,
          tryThis: e.tryThis,
        }),
      );
    }
    const cutter = input.cutters.find((c) => c.number === program.cutter);
    if (read.errors.length > 0 || cutter === undefined) return { findings, pieces: [] };
    const settled = settleStart(program.file, read.moves, highest);
    findings.push(
      ...settled.findings,
      ...checkMachineUse(program, read, settled.moves, cutter, input.machine, { ...input.pieces[0].side, zeroOnBed: input.zeroOnBed }),
    );
    const heads = read.events.flatMap((e) => {
      const m = e.kind === "comment" ? /^\s*CUT \d+ OF \d+: (\S+)/.exec(e.text) : null;
      return m === null ? [] : [{ id: m[1], from: e.move }];
    });
    const parts = heads.map((h, k) => ({ id: h.id, from: k === 0 ? 0 : h.from, to: heads[k + 1]?.from ?? settled.moves.count }));
    reads.set(program.file, { program, moves: settled.moves, parts });
  }
  const pieces = input.pieces.map((piece, n) => runPiece(input, piece, n, reads, own[n] ?? null, findings));
  return { findings, pieces };
}

function runPiece(
  input: BedInput,
  piece: BedPiece,
  n: number,
  reads: ReadonlyMap<string, Read>,
  own: HeightMap | null,
  findings: Finding[],
): BedProof["pieces"][number] {
  const { side } = piece;
  const stock = blankOf(side, input.cell);
  const frame = frameOf(side);
  const others = input.pieces.filter((p) => p !== piece).flatMap((p) => obstaclesOf(p, piece));
  const mine = [...side.holding, ...others].map(footprintOf);
  const strange = side.holding.map(footprintOf);
  for (const step of input.steps) {
    if (!("program" in step)) {
      if (step.piece === n) fillStep(stock, piece.input, side, frame, step.fills);
      continue;
    }
    const read = reads.get(step.program);
    if (read === undefined) continue;
    const cutter = input.cutters.find((c) => c.number === read.program.cutter)!;
    const tool = toolOf(cutter, profileHeight);
    for (const [k, part] of read.parts.entries()) {
      const isMine = part.id.startsWith(piece.prefix);
      const to = Math.min(part.to, step.upTo ?? part.to);
      if (to <= part.from || (step.done && !isMine)) continue;
      const moves = cutBy(partOf(read.moves, part.from, to), [], piece.real).moves;
      if (step.done) {
        stock.cut(tool.profile, moves, 0, moves.count);
        continue;
      }
      const contact = new Contact(read.program.file, side, tool, isMine ? mine : strange, stock, [0, 0]);
      const wayIn = step.resumed && isMine && k === 0 ? wayInTo(moves) : 0;
      const inWood = wayIn === 0 ? 0 : contact.run(partOf(moves, 0, wayIn));
      if (inWood > AIR) findings.push(airFinding(read.program.file, read.moves.line[part.from + wayIn - 1], inWood));
      const removed = contact.run(wayIn === 0 ? moves : partOf(moves, wayIn, moves.count));
      findings.push(...contact.findings());
      if (!isMine && removed > 0)
        findings.push(
          finding(BATCH_STRAYS, {
            where: `${read.program.file}, ${part.id}`,
            value: removed,
            limit: 0,
            unit: "mm3",
            says: `The cut ${part.id} takes ${removed.toFixed(1)} mm3 of the wood of ${piece.name}.`,
            tryThis: "Lay the pieces further apart (--gap).",
          }),
        );
    }
  }
  if (piece.out || own === null) return null;
  let [below, above] = [0, 0];
  for (let k = 0; k < own.z.length; k++) {
    const d = stock.map.z[k] - own.z[k];
    if (d > above) above = d;
    else if (-d > below) below = -d;
  }
  if (!(Math.max(below, above) <= RESUME_LIMIT))
    findings.push(
      finding(BATCH_DIFFERS, {
        where: piece.name,
        value: Math.max(below, above),
        limit: RESUME_LIMIT,
        unit: "mm",
        says: `The programs leave the wood of ${piece.name} up to ${above.toFixed(3)} mm higher and ${below.toFixed(3)} mm lower than its own programs do.`,
        tryThis: "This is a defect of the software; cut the pieces one by one.",
      }),
    );
  return { below, above };
}
