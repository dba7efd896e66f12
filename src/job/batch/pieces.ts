import type { SideName } from "../../holding/types.ts";
import { InputError } from "../errors.ts";
import type { MadeJob } from "../made.ts";
import type { SetSide } from "../resume.ts";

/* The pieces of a batch: made necks that go onto one bed together. */

/** Numbers from 1, as a person counts the pieces. */
export interface Piece {
  readonly made: MadeJob;
  readonly number: number;
  readonly name: string;
  /** Of its cuts' ids. */
  readonly prefix: string;
  /** It dropped out: it stays where it lies, and nothing of it is cut. */
  readonly out: boolean;
}

export type JobStep = MadeJob["job"]["steps"][number];

export const sideOf = (made: MadeJob, name: SideName): SetSide => {
  const side = made.job.sides.find((s) => s.name === name);
  if (side === undefined) throw new InputError(made.folder, `the job has no ${name} side`, "make it again");
  return side;
};

/** The same pieces, these too dropped out. Throws InputError where there is no such piece, or none is left. */
export function withoutThese(pieces: readonly Piece[], without: readonly number[]): Piece[] {
  for (const w of without)
    if (!(w >= 1 && w <= pieces.length))
      throw new InputError(`--without ${w}`, "there is no such piece", `pieces are 1 to ${pieces.length}`);
  const left = pieces.map((p) => (without.includes(p.number) ? { ...p, out: true } : p));
  if (left.every((p) => p.out)) throw new InputError("--without", "no piece is left", "leave one");
  return left;
}

/** Throws InputError on pieces that cannot be cut together. */
export function openPieces(jobs: readonly MadeJob[], without: readonly number[]): Piece[] {
  if (jobs.length < 2)
    throw new InputError("batch", "a batch has two pieces or more", "name each piece's folder, twice where two are to be cut from one");
  const pieces = jobs.map((made, k): Piece => ({ made, number: k + 1, name: `piece ${k + 1}`, prefix: `p${k + 1}-`, out: false }));
  const left = withoutThese(pieces, without);
  const [first] = jobs;
  for (const { made } of left) {
    if (made.job.shop.sha256 !== first.job.shop.sha256)
      throw new InputError(made.folder, "it was made for another shop than the first piece", "make all of a batch with the same shop");
    if (made.job.sides.some((s) => s.sections !== undefined))
      throw new InputError(made.folder, "a neck that is cut in sections fills the bed alone", "cut it by itself");
  }
  return left;
}

/** Stretches of a job's steps on one side. */
export function phasesOf(made: MadeJob): { readonly side: SideName; readonly steps: JobStep[] }[] {
  const out: { side: SideName; steps: JobStep[] }[] = [];
  for (const s of made.job.steps) {
    const side = "program" in s ? made.programs.find((p) => p.file === s.program)!.side : s.side;
    if (out.at(-1)?.side === side) out.at(-1)!.steps.push(s);
    else out.push({ side, steps: [s] });
  }
  return out;
}

export const cutterOfStep = (made: MadeJob, step: JobStep): number | null =>
  "program" in step ? made.programs.find((p) => p.file === step.program)!.cutter : null;

/** Cutters put in when pieces are cut one after the other. */
export function changesAlone(pieces: readonly Piece[]): number {
  let changes = 0;
  for (const { made } of pieces)
    for (const { steps } of phasesOf(made)) {
      let cutter: number | null = null;
      for (const s of steps) {
        const next = cutterOfStep(made, s);
        if (next === null) continue;
        if (next !== cutter) changes++;
        cutter = next;
      }
    }
  return changes;
}
