import type { SideName } from "../../holding/types.ts";
import { type Affine, inverseAffine, mapPoint } from "../../kernel/map-moves.ts";
import { findStart, plungeOf } from "../../program/resume/find.ts";
import { restOf } from "../../program/resume/rest.ts";
import type { ResumeStart, StoppedAt } from "../../program/resume/types.ts";
import type { BedStep } from "../../proof/batch.ts";
import { highestOf } from "../../proof/resume.ts";
import type { ProofProgram } from "../../proof/types.ts";
import { type Finding, isStop, type Mm } from "../../units/index.ts";
import { InputError } from "../errors.ts";
import { jsonBytes } from "../files.ts";
import { sha256 } from "../hash.ts";
import { readWritten, resumedName } from "../resume.ts";
import { type ListedPass, listedPasses } from "../resume-made.ts";
import type { OutFile } from "../write.ts";
import { type BatchProgram, type BatchSide, batchSide, programOfText, statedPieces } from "./batch.ts";
import { BATCH_FORMAT, type OpenBatch } from "./file.ts";
import { layOut } from "./lay.ts";
import { goingOnSheet, handLines, programLine, sideLines } from "./paper.ts";
import { openPieces, withoutThese } from "./pieces.ts";
import { handSteps, proveSideOf } from "./prove.ts";
import { fileOf, namesOf, textOf, writeTurn } from "./text.ts";

/*
 * A batch that goes on after a stop, as a batch: the program that stopped goes on from there in one text for the pieces that are left in it, and
 * all that follow are written for them. What failed stays where it lies. The wood of every piece is that of the batch's own texts, up to the stop.
 */

export interface BatchResumeAsk {
  readonly program: string;
  readonly at: StoppedAt;
  readonly overlap: Mm;
  /** Pieces that drop out now. */
  readonly without: readonly number[];
  readonly cell?: Mm;
  readonly folders?: readonly string[];
}

export interface BatchResumed {
  readonly from: { readonly file: string; readonly sha256: string };
  /** Null: of the program that stopped nothing is left for the pieces that go on. */
  readonly file: string | null;
  readonly start: ResumeStart;
  readonly dropped: readonly number[];
  readonly sides: readonly BatchSide[];
  readonly programs: readonly BatchProgram[];
  readonly findings: readonly Finding[];
  /** Empty when a finding stops it. */
  readonly files: readonly OutFile[];
}

/** Between the top of everything and the height down to which the way in is a rapid, mm. */
const ABOVE: Mm = 1;

const bare = (file: string): string =>
  file
    .split(/[\\/]/)
    .at(-1)!
    .replace(/\.ngc$/, "");

/** The program that a person means, by its name or its number. */
function programOf(batch: OpenBatch, name: string): OpenBatch["programs"][number] {
  const said = bare(name);
  const found = batch.programs.filter(
    (p) => bare(p.file) === said || (/^\d+$/.test(said) && Number.parseInt(bare(p.file), 10) === Number(said)),
  );
  if (found.length === 1) return found[0];
  throw new InputError(
    `--program ${name}`,
    "the batch has no such program",
    `it has ${batch.programs.map((p) => bare(p.file)).join(", ")}`,
  );
}

function written(program: OpenBatch["programs"][number]): NonNullable<ReturnType<typeof readWritten>> {
  const read = readWritten(program);
  if (read === null)
    throw new InputError(
      program.file,
      "this program cannot be read, so nobody can say where it stopped",
      "write the batch again (neckwright batch)",
    );
  return read;
}

/** The passes of a batch's program, with their lines. */
export const listBatchPasses = (batch: OpenBatch, name: string): ListedPass[] => listedPasses(written(programOf(batch, name)));

const toldHeight = (z: Mm, real: Affine | undefined): Mm => (real === undefined ? z : mapPoint(inverseAffine(real), 0, 0, z)[2]);

/** Finds the place, writes the rest of the batch and proves it. Throws InputError on a place that cannot be; what is unsafe stands in the findings. */
export function resumeBatch(batch: OpenBatch, asked: BatchResumeAsk): BatchResumed {
  const cell = asked.cell ?? batch.cell;
  const stopped = programOf(batch, asked.program);
  const w = written(stopped);
  const found = findStart(w, asked.at, asked.overlap);
  if (!found.ok) throw new InputError("--at", found.says, found.tryThis);
  const { start } = found;
  const before = openPieces(batch.pieces, batch.out);
  const pieces = withoutThese(before, asked.without);
  const dropped = pieces.filter((p) => p.out).map((p) => p.number);
  const laid = layOut(pieces, batch.gap);
  const at = laid.turns.findIndex((t) => t.number !== null && fileOf(t) === stopped.file);
  if (at < 0)
    throw new InputError(
      stopped.file,
      "the pieces' folders do not give a program of this name: they were made otherwise since",
      "write the batch again (neckwright batch)",
    );
  const here = laid.sides.get(laid.turns[at].side)!;
  const findings: Finding[] = [];
  const programs: BatchProgram[] = [];
  const files: OutFile[] = [];
  const done: string[] = [];
  const body: string[] = [];
  const work = new Map<SideName, { readonly texts: ProofProgram[]; readonly steps: BedStep[] }>();
  const on = (side: SideName): { readonly texts: ProofProgram[]; readonly steps: BedStep[] } => {
    const mine = work.get(side) ?? { texts: [], steps: [] };
    work.set(side, mine);
    return mine;
  };
  const keep = (text: { readonly program: ProofProgram; readonly findings: readonly Finding[] }): void => {
    findings.push(...text.findings);
    on(text.program.side).texts.push(text.program);
  };
  const asProof = (p: OpenBatch["programs"][number]): ProofProgram => ({
    file: p.file,
    side: p.side,
    cutter: p.cutter,
    cuts: p.cuts,
    text: p.text,
  });
  // what has run
  for (const turn of laid.turns.slice(0, at)) {
    if (turn.number === null) {
      on(turn.side).steps.push(...handSteps(turn, before));
      done.push(...handLines(turn, before).map((l) => l.replace(/^\[ \] /, "")));
      continue;
    }
    const ran = batch.programs.find((p) => p.file === fileOf(turn));
    // all its pieces had dropped out before
    if (ran === undefined) continue;
    on(turn.side).texts.push(asProof(ran));
    on(turn.side).steps.push({ program: ran.file, done: true });
    done.push(ran.file);
  }
  on(here.side).texts.push(asProof(stopped));
  on(here.side).steps.push({ program: stopped.file, done: true, upTo: start.move });
  // what is left of the one that stopped
  const cutter = batch.pieces[0].cutters.find((c) => c.number === stopped.cutter);
  if (cutter === undefined) throw new InputError(stopped.file, "its cutter is not in the pieces' shop", "write the batch again");
  const highest = Math.max(...here.sides.map((s) => toldHeight(highestOf(s), s.real)));
  const isOut = (id: string): boolean => pieces.some((p) => p.out && id.startsWith(p.prefix));
  const rest = restOf(w, start, { safeZ: here.safe, clearZ: Math.min(here.safe, highest + ABOVE), plunge: plungeOf(w, start.cut) });
  const left = rest.filter((c) => !isOut(c.id));
  const goesOn = left[0] === rest[0];
  const name = `programs/${resumedName(stopped.file, start.line)}`;
  const first = left.length === 0 ? null : textOf(laid, here, name, cutter, left);
  if (first !== null) {
    keep(first);
    on(here.side).steps.push({ program: name, ...(goesOn ? { resumed: true } : {}) });
    programs.push(programOfText({ ...first, who: [] }));
    files.push({ path: name, bytes: first.program.text });
  }
  // and all that follow
  let last: SideName | null = null;
  body.push(...sideLines(pieces, here));
  last = here.side;
  for (const turn of laid.turns.slice(at + 1)) {
    if (turn.side !== last) body.push(...sideLines(pieces, laid.sides.get(turn.side)!));
    last = turn.side;
    if (turn.number === null) {
      on(turn.side).steps.push(...handSteps(turn, pieces));
      body.push(...handLines(turn, pieces));
      continue;
    }
    const text = writeTurn(laid, turn, pieces);
    if (text === null) continue;
    keep(text);
    on(turn.side).steps.push({ program: text.program.file });
    programs.push(programOfText(text));
    files.push({ path: text.program.file, bytes: text.program.text });
    body.push(programLine(text));
  }
  // a side that was done before the stop has nothing left to prove
  const proved = [...work].filter(([, { steps }]) => steps.some((s) => "program" in s && !s.done));
  const sides = proved.map(([side, { texts, steps }]) => batchSide(laid, side, proveSideOf(laid, side, pieces, texts, steps, cell)));
  findings.push(...sides.flatMap((s) => s.proof.findings));
  const from = { file: stopped.file, sha256: stopped.sha256 };
  const result = { from, file: first === null ? null : name, start, dropped, sides, programs, findings };
  if (programs.length === 0)
    throw new InputError("--at", "after this place nothing more is cut of the pieces that are left", "there is nothing to write");
  if (findings.some(isStop)) return { ...result, files: [] };
  const who = pieces.filter((p) => left.some((c) => c.id.startsWith(p.prefix))).map((p) => p.name);
  files.push(
    goingOnSheet({
      names: namesOf(pieces),
      pieces,
      dropped,
      stopped: { ...from, line: start.line, says: start.says },
      first:
        first === null ? null : { ...first, who, at: goesOn ? start.at : null, overlap: start.overlap, sha256: sha256(first.program.text) },
      done,
      body,
    }),
  );
  files.push({
    path: "batch.json",
    bytes: jsonBytes({
      format: BATCH_FORMAT,
      units: "mm",
      shop: batch.pieces[0].job.shop,
      pieces: statedPieces(pieces, asked.folders),
      gap: batch.gap,
      cell,
      resumed: { file: stopped.file, sha256: stopped.sha256, line: start.line, at: start.at, batch: batch.sha256 },
      sides: sides.map(({ proof, ...s }) => ({ ...s, wood: proof.pieces })),
      programs,
      findings,
      files: files.map((f) => ({ file: f.path, sha256: sha256(f.bytes) })),
    }),
  });
  return { ...result, files };
}
