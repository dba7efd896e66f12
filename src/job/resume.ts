import { clockLimits } from "../cutting/clock-limits.ts";
import type { Cutter } from "../cutting/types.ts";
import type { SideName } from "../holding/types.ts";
import { secondsOf } from "../kernel/clock.ts";
import { type Affine, inverseAffine, mapPoint } from "../kernel/map-moves.ts";
import type { MoveList } from "../kernel/moves.ts";
import { checkProgram, dialectFor, type ProgramInput } from "../program/index.ts";
import { findStart, plungeOf } from "../program/resume/find.ts";
import { movedBy, restOf } from "../program/resume/rest.ts";
import type { ResumeStart, StoppedAt, Written, WrittenCut } from "../program/resume/types.ts";
import { cutPart, highestOf, proveResume, type ResumeProof, stockFrom, toldMoves, woodBefore } from "../proof/resume.ts";
import type { SimulationInput } from "../proof/simulate.ts";
import type { ProofProgram, ProofSide } from "../proof/types.ts";
import type { Finding, Mm } from "../units/index.ts";
import { InputError } from "./errors.ts";
import { sha256 } from "./hash.ts";

/* A program that goes on where another one stopped: written anew from that one's own text, and proved against the wood as it stands then. */

/** What the sides of a made job say that the proof does not ask for. */
export interface SetSide extends ProofSide {
  readonly safeZ: Mm;
  readonly zeroSays: string;
}

export interface ResumeSource {
  readonly orderName: string;
  readonly orderHash: string;
  readonly input: Omit<SimulationInput, "sides"> & { readonly sides: readonly SetSide[] };
}

export interface ResumeAsked {
  /** "programs/05-board-tuner-bores.ngc" */
  readonly file: string;
  readonly at: StoppedAt;
  /** Way at feed made again before that place, mm. */
  readonly overlap: Mm;
  /** The cutter as it is now, of the same shape and diameter; left out: as it was. */
  readonly cutter?: Cutter;
  /** Where features were found less where the program has them: the zero is off by so much. */
  readonly offset?: readonly [Mm, Mm, Mm];
}

export interface Resumed {
  /** Name of the new program, without a folder. */
  readonly file: string;
  readonly text: Uint8Array<ArrayBuffer>;
  readonly sha256: string;
  readonly from: { readonly file: string; readonly sha256: string };
  readonly start: ResumeStart;
  readonly side: SideName;
  readonly cutter: Cutter;
  readonly cuts: readonly string[];
  readonly seconds: number;
  readonly proof: ResumeProof;
  /** Of the text and of the proof. */
  readonly findings: readonly Finding[];
}

/** Between the top of everything and the height down to which the way in is a rapid, mm. */
const ABOVE: Mm = 1;
/** As other programs have it. */
const PATH_TOLERANCE: Mm = 0.005;

/** A program's cuts, spindle speeds and moves, read from its text. Null when the text cannot be read whole. */
export function readWritten(program: ProofProgram): (Written & { readonly told: MoveList }) | null {
  const read = toldMoves(program, Number.POSITIVE_INFINITY);
  if (read === null) return null;
  const { moves } = read;
  const { events } = read.read;
  const comments = events.filter((e) => e.kind === "comment");
  const cuts: WrittenCut[] = [];
  comments.forEach((e, n) => {
    const head = /^\s*CUT \d+ OF \d+: (\S+)(.*)$/.exec(e.text);
    if (head === null) return;
    let title = head[2];
    for (let k = n + 1; k < comments.length && comments[k].text.startsWith("- ") && comments[k].line === comments[k - 1].line + 1; k++)
      title += comments[k].text.slice(1);
    const from = cuts.length === 0 ? 0 : e.move;
    const spindle = events.find((s) => s.kind === "spindle" && s.move >= e.move && s.value > 0);
    const before = events.findLast((s) => s.kind === "spindle" && s.move <= e.move && s.value > 0);
    const here = spindle !== undefined && spindle.line < (moves.line[e.move + 1] ?? Number.POSITIVE_INFINITY) ? spindle : before;
    cuts.push({ id: head[1], title: title.replace(/^ - /, "").trim(), rpm: here?.value ?? 0, from, to: moves.count });
  });
  if (cuts.length === 0 || cuts.some((c) => !(c.rpm > 0))) return null;
  const closed = cuts.map((c, k) => (k + 1 < cuts.length ? { ...c, to: cuts[k + 1].from } : c));
  return { file: program.file, moves, told: moves, cuts: closed };
}

/** What the machine makes of a program that was moved by an offset before it was written. */
export function realMoved(real: Affine | undefined, [dx, dy, dz]: readonly [number, number, number]): Affine {
  const m = real ?? [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0];
  const at = mapPoint(m, -dx, -dy, -dz);
  return [m[0], m[1], m[2], at[0], m[4], m[5], m[6], at[1], m[8], m[9], m[10], at[2]];
}

const toldHeight = (z: Mm, real: Affine | undefined): Mm => (real === undefined ? z : mapPoint(inverseAffine(real), 0, 0, z)[2]);

export interface Prepared {
  readonly program: ProofProgram;
  readonly side: SetSide;
  readonly cutter: Cutter;
  readonly written: Written;
}

/** The program that stopped, read. Throws InputError where it is not there or cannot be read. */
export function openProgram(source: ResumeSource, file: string): Prepared {
  const { input } = source;
  const program = input.programs.find((p) => p.file === file);
  if (program === undefined)
    throw new InputError(file, "the job has no such program", `it has ${input.programs.map((p) => p.file.split("/").at(-1)).join(", ")}`);
  const side = input.sides.find((s) => s.name === program.side);
  const cutter = input.cutters.find((c) => c.number === program.cutter);
  if (side === undefined || cutter === undefined)
    throw new InputError(file, "its side or its cutter is not in the job", "make the folder again");
  const written = readWritten(program);
  if (written === null)
    throw new InputError(file, "this program cannot be read, so nobody can say where it stopped", "run prove on the folder");
  return { program, side, cutter, written };
}

/** Name of the program that goes on, after the one that stopped. */
export const resumedName = (file: string, line: number): string =>
  `${file
    .split("/")
    .at(-1)!
    .replace(/\.ngc$/, "")}-from-${line}.ngc`;

/** The text that goes on from a start, and what it was written from. */
export function writeResumed(
  source: ResumeSource,
  { program, side, written, cutter }: Prepared,
  start: ResumeStart,
  asked: Pick<ResumeAsked, "cutter" | "offset">,
): {
  readonly text: Uint8Array<ArrayBuffer>;
  readonly input: ProgramInput;
  readonly side: SetSide;
  readonly program: ProofProgram;
  readonly findings: readonly Finding[];
} {
  const { machine } = source.input;
  const offset = asked.offset ?? [0, 0, 0];
  const moved = offset.some((v) => v !== 0);
  const safeZ = toldHeight(side.safeZ, side.real);
  const clearZ = Math.min(safeZ, toldHeight(highestOf(side), side.real) + ABOVE);
  const cuts = restOf(written, start, { safeZ, clearZ, plunge: plungeOf(written, start.cut) }).map((c) => ({
    ...c,
    moves: movedBy(c.moves, offset),
  }));
  const now = asked.cutter ?? cutter;
  const limits = clockLimits(machine);
  const file = resumedName(program.file, start.line);
  const input: ProgramInput = {
    file,
    orderName: source.orderName,
    orderHash: source.orderHash,
    side: side.name,
    cutter: now,
    cuts,
    safeZ: safeZ + offset[2],
    zeroSays: `${side.zeroSays}${program.section === undefined ? "" : `; section ${program.section} of ${side.sections?.length}`}${
      moved
        ? `; the zero as it is now, found off by X ${offset[0].toFixed(3)} Y ${offset[1].toFixed(3)} Z ${offset[2].toFixed(3)}: do not set it again`
        : ""
    }`,
    decimals: machine.controller.decimals,
    arcs: machine.controller.arcs,
    pathTolerance: PATH_TOLERANCE,
    seconds: cuts.reduce((sum, c) => sum + secondsOf(c.moves, limits), 0),
  };
  const text = new Uint8Array(dialectFor(machine.controller.dialect).writeBytes(input));
  const findings = checkProgram(new TextDecoder("latin1").decode(text), input, machine.controller.dialect);
  const { section } = program;
  return {
    text,
    input,
    side: moved
      ? { ...side, real: realMoved(side.real, offset), zeroOnBed: [side.zeroOnBed[0] - offset[0], side.zeroOnBed[1] - offset[1]] }
      : side,
    program: {
      file,
      side: side.name,
      cutter: now.number,
      cuts: cuts.map((c) => c.id),
      text,
      ...(section === undefined ? {} : { section }),
    },
    findings,
  };
}

/** Finds the place, writes the program and proves it. Throws InputError on a place that cannot be; what is unsafe stands in the findings. */
export function resumeProgram(source: ResumeSource, asked: ResumeAsked): Resumed {
  const { input } = source;
  const open = openProgram(source, asked.file);
  const { program, side, cutter, written } = open;
  const found = findStart(written, asked.at, asked.overlap);
  if (!found.ok) throw new InputError("--at", found.says, found.tryThis);
  const { start } = found;
  const made = writeResumed(source, open, start, asked);
  const wood = woodBefore(input, side, program.file);
  if (wood === null) throw new InputError(program.file, "a program that runs before it cannot be read", "run prove on the folder");
  cutPart(wood, side, cutter, program, written.moves, 0, start.move);
  const whole = stockFrom(wood.map);
  cutPart(whole, side, cutter, program, written.moves, start.move, written.moves.count);
  const now = asked.cutter ?? cutter;
  const proof = proveResume({ input, side: made.side, cutter: now, program: made.program, wood, whole: whole.map });
  return {
    file: made.input.file,
    text: made.text,
    sha256: sha256(made.text),
    from: { file: program.file, sha256: sha256(program.text) },
    start,
    side: side.name,
    cutter: now,
    cuts: made.program.cuts,
    seconds: made.input.seconds,
    proof,
    findings: [...made.findings, ...proof.findings],
  };
}
