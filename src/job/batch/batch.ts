import type { SideName } from "../../holding/types.ts";
import type { BedProof, BedStep } from "../../proof/batch.ts";
import type { ProofProgram } from "../../proof/types.ts";
import { type Finding, isStop, type Mm } from "../../units/index.ts";
import { jsonBytes } from "../files.ts";
import { sha256 } from "../hash.ts";
import type { MadeJob } from "../made.ts";
import type { OutFile } from "../write.ts";
import { BATCH_FORMAT, madeHash } from "./file.ts";
import { type Laid, layOut } from "./lay.ts";
import { handLines, programLine, runSheet, sideLines } from "./paper.ts";
import { changesAlone, openPieces, type Piece } from "./pieces.ts";
import { handSteps, proveSideOf } from "./prove.ts";
import { type BatchText, namesOf, writeTurn } from "./text.ts";

/* Several made necks on one bed: laid out (lay.ts), written (text.ts), proved (prove.ts) and put on paper (paper.ts). */

export interface BatchAsk {
  /** Free way between what one piece's cutter comes to and the next piece, mm. */
  readonly gap: Mm;
  /** Pieces (from 1) that dropped out: they stay where they lie, and nothing of them is cut. */
  readonly without: readonly number[];
  /** Of the proof's maps. */
  readonly cell: Mm;
  /** Where the pieces' folders lie, as seen from the batch's. */
  readonly folders?: readonly string[];
}

export interface BatchProgram {
  readonly file: string;
  readonly sha256: string;
  readonly side: SideName;
  readonly cutter: number;
  readonly cuts: readonly string[];
  readonly seconds: number;
}

export interface BatchSide {
  readonly side: SideName;
  /** Zero of the programs from the bed's corner, and of each piece from there. */
  readonly zeroOnBed: readonly [Mm, Mm];
  readonly pieces: readonly { readonly x: Mm; readonly y: Mm }[];
  readonly clearance: Mm;
  readonly proof: BedProof;
}

export interface BatchMade {
  readonly sides: readonly BatchSide[];
  readonly programs: readonly BatchProgram[];
  /** Cutters put in: here, and when the pieces are cut one after the other. */
  readonly changes: number;
  readonly changesAlone: number;
  /** No order of work has fewer changes. */
  readonly fewest: boolean;
  readonly findings: readonly Finding[];
  /** Empty when a finding stops it. */
  readonly files: readonly OutFile[];
}

export const programOfText = ({ program, seconds }: BatchText): BatchProgram => ({
  file: program.file,
  sha256: sha256(program.text),
  side: program.side,
  cutter: program.cutter,
  cuts: program.cuts,
  seconds,
});

export const batchSide = (laid: Laid, side: SideName, proof: BedProof): BatchSide => {
  const { nested, shifts } = laid.sides.get(side)!;
  return { side, zeroOnBed: nested.at[0], pieces: shifts.map(([x, y]) => ({ x, y })), clearance: nested.clearance, proof };
};

/** What batch.json says of the pieces. */
export const statedPieces = (pieces: readonly Piece[], folders: readonly string[] | undefined): unknown[] =>
  pieces.map((p, k) => ({
    number: p.number,
    order: p.made.job.order,
    out: p.out,
    ...(folders === undefined ? {} : { folder: folders[k] }),
    made: madeHash(p.made),
  }));

/** Lays the pieces out, writes the programs and proves them. Throws InputError on pieces that cannot lie on one bed. */
export function makeBatch(jobs: readonly MadeJob[], asked: BatchAsk): BatchMade {
  const pieces = openPieces(jobs, asked.without);
  const laid = layOut(pieces, asked.gap);
  const findings: Finding[] = [];
  const programs: BatchProgram[] = [];
  const files: OutFile[] = [];
  const body: string[] = [];
  const work = new Map<SideName, { readonly texts: ProofProgram[]; readonly steps: BedStep[] }>();
  let last: SideName | null = null;
  for (const turn of laid.turns) {
    if (turn.side !== last) body.push(...sideLines(pieces, laid.sides.get(turn.side)!));
    last = turn.side;
    const mine = work.get(turn.side) ?? { texts: [], steps: [] };
    work.set(turn.side, mine);
    if (turn.number === null) {
      mine.steps.push(...handSteps(turn, pieces));
      body.push(...handLines(turn, pieces));
      continue;
    }
    const made = writeTurn(laid, turn);
    if (made === null) continue;
    findings.push(...made.findings);
    mine.texts.push(made.program);
    mine.steps.push({ program: made.program.file });
    programs.push(programOfText(made));
    files.push({ path: made.program.file, bytes: made.program.text });
    body.push(programLine(made));
  }
  const sides = [...work].map(([side, { texts, steps }]) =>
    batchSide(laid, side, proveSideOf(laid, side, pieces, texts, steps, asked.cell)),
  );
  findings.push(...sides.flatMap((s) => s.proof.findings));
  const { changes, fewest } = laid;
  const alone = changesAlone(pieces);
  const result = { sides, programs, changes, changesAlone: alone, fewest, findings };
  if (findings.some(isStop)) return { ...result, files: [] };
  files.push(runSheet(namesOf(pieces), pieces.length, asked.without, { here: changes, alone, fewest }, body));
  files.push({
    path: "batch.json",
    bytes: jsonBytes({
      format: BATCH_FORMAT,
      units: "mm",
      shop: jobs[0].job.shop,
      pieces: statedPieces(pieces, asked.folders),
      gap: asked.gap,
      cell: asked.cell,
      changes,
      fewest,
      sides: sides.map(({ proof, ...s }) => ({ ...s, wood: proof.pieces })),
      programs,
      findings,
      files: files.map((f) => ({ file: f.path, sha256: sha256(f.bytes) })),
    }),
  });
  return { ...result, files };
}
