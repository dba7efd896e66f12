import { findStart, passesOf } from "../program/resume/find.ts";
import type { ResumeStart, StoppedAt, Written } from "../program/resume/types.ts";
import { cutPart, woodBefore } from "../proof/resume.ts";
import { CAUTIONS, DEFERS } from "../sheet/cautions.ts";
import type { CutterSpec } from "../spec/types.ts";
import { type Finding, isStop, type Mm } from "../units/index.ts";
import { InputError } from "./errors.ts";
import { sha256 } from "./hash.ts";
import type { MadeJob } from "./made.ts";
import { openProgram, type Prepared, type ResumeSource, resumedName, resumeProgram } from "./resume.ts";
import { planAnew } from "./resume-anew.ts";
import { type FoundAgain, findZero, touchables } from "./resume-zero.ts";
import type { OutFile } from "./write.ts";

export type { CutterSpec, StoppedAt };

/* From a made folder to the program that goes on, with its sheet. */

export interface ResumeMadeAsk {
  /** As a person names it: its number, its name with or without folder and ending. */
  readonly program: string;
  readonly at: StoppedAt;
  readonly overlap: Mm;
  /** The cutter in the spindle now; left out: the program's own. */
  readonly cutter?: CutterSpec;
  /** Features touched again, NAME=X,Y or NAME=VALUE. */
  readonly found?: readonly string[];
  /** Of the proof's maps; as the job was made when left out. */
  readonly cell?: Mm;
}

export interface ResumeMade {
  readonly file: string;
  readonly from: { readonly file: string; readonly sha256: string };
  readonly sha256: string;
  readonly start: ResumeStart;
  /** Another cutter: the cut is made again from its beginning. */
  readonly anew: boolean;
  readonly zero: FoundAgain | null;
  readonly seconds: number;
  /** Difference to the wood of the whole program, mm; null when the whole side was held against the neck instead. */
  readonly differs: { readonly below: Mm; readonly above: Mm } | null;
  readonly findings: readonly Finding[];
  /** Program and sheet; empty when a finding stops it. */
  readonly files: readonly OutFile[];
}

export const sourceOf = (made: MadeJob, cell: Mm = made.job.cell): ResumeSource => ({
  orderName: made.job.order.name,
  orderHash: made.job.order.sha256,
  input: {
    neck: made.neck,
    machine: made.shop.machine,
    cutters: made.cutters,
    sides: made.job.sides,
    programs: made.programs,
    steps: made.job.steps,
    cusps: made.job.cusps,
    cell,
  },
});

/** The program that a person means. */
export function programNamed(made: MadeJob, name: string): string {
  const bare = name
    .split(/[\\/]/)
    .at(-1)!
    .replace(/\.ngc$/, "");
  const all = made.programs.map((p) => p.file);
  const of = (f: string): string =>
    f
      .split("/")
      .at(-1)!
      .replace(/\.ngc$/, "");
  const found = all.filter((f) => of(f) === bare || (/^\d+$/.test(bare) && Number.parseInt(of(f), 10) === Number(bare)));
  if (found.length === 1) return found[0];
  throw new InputError(`--program ${name}`, "the job has no such program", `it has ${all.map(of).join(", ")}`);
}

export interface ListedPass {
  readonly cut: string;
  readonly pass: number;
  readonly lines: readonly [number, number];
  readonly length: Mm;
  readonly z: readonly [Mm, Mm];
}

/** The passes of a program, and what its zero can be found again by once it has stopped at its end. */
export function listPasses(made: MadeJob, name: string): ListedPass[] {
  const { written } = openProgram(sourceOf(made), programNamed(made, name));
  return listedPasses(written);
}

/** The passes of a program, with their lines. */
export const listedPasses = (written: Written): ListedPass[] =>
  passesOf(written).map((p) => ({
    cut: written.cuts[p.cut].id,
    pass: p.number,
    lines: [p.firstLine, p.lastLine],
    length: p.length,
    z: [p.zMin, p.zMax],
  }));

const sameSize = (a: CutterSpec, b: CutterSpec): boolean =>
  a.shape === b.shape &&
  a.diameter === b.diameter &&
  a.cornerRadius === b.cornerRadius &&
  a.tipDiameter === b.tipDiameter &&
  Math.abs(a.tipAngle - b.tipAngle) < 1e-9;

/** Writes and proves the program that goes on. Throws InputError where what was asked cannot be. */
export function resumeMade(made: MadeJob, asked: ResumeMadeAsk): ResumeMade {
  const source = sourceOf(made, asked.cell);
  const file = programNamed(made, asked.program);
  const open = openProgram(source, file);
  const other = asked.cutter !== undefined && !sameSize(asked.cutter, open.cutter);
  const found = findStart(open.written, asked.at, asked.overlap);
  if (!found.ok) throw new InputError("--at", found.says, found.tryThis);
  const from = { file, sha256: sha256(open.program.text) };
  if (other) {
    if (asked.found !== undefined)
      throw new InputError(
        "--found",
        "a cut that is planned anew takes no found zero",
        "set the zero anew as the run sheet says, or use a cutter of the old size",
      );
    const cutter = asked.cutter!;
    const name = resumedName(file, found.start.line).replace(/\.ngc$/, `-t${cutter.number}.ngc`);
    const anew = planAnew(made, open, found.start, cutter, name);
    const stopped = anew.findings.some(isStop);
    const base = {
      file: name,
      from,
      sha256: sha256(anew.program.text),
      start: found.start,
      anew: true,
      zero: null,
      seconds: anew.seconds,
      differs: null,
      findings: anew.findings,
    };
    const sheet = sheetOf(made, open, { ...base, cutter });
    return { ...base, files: stopped ? [] : [{ path: name, bytes: anew.program.text }, sheet] };
  }
  const zero = asked.found === undefined ? null : refound(source, open, found.start, made, asked.found);
  const done = resumeProgram(source, {
    file,
    at: asked.at,
    overlap: asked.overlap,
    ...(asked.cutter === undefined ? {} : { cutter: asked.cutter }),
    ...(zero === null ? {} : { offset: zero.offset }),
  });
  const base = {
    file: done.file,
    from,
    sha256: done.sha256,
    start: done.start,
    anew: false,
    zero,
    seconds: done.seconds,
    differs: { below: done.proof.below, above: done.proof.above },
    findings: done.findings,
  };
  const sheet = sheetOf(made, open, { ...base, cutter: done.cutter });
  return { ...base, files: done.findings.some(isStop) ? [] : [{ path: done.file, bytes: done.text }, sheet] };
}

function refound(source: ResumeSource, open: Prepared, start: ResumeStart, made: MadeJob, texts: readonly string[]): FoundAgain {
  const { side, program, cutter, written } = open;
  const wood = woodBefore(source.input, side, program.file);
  if (wood === null) throw new InputError(program.file, "a program that runs before it cannot be read", "run prove on the folder");
  cutPart(wood, side, cutter, program, written.moves, 0, start.move);
  return findZero(texts, touchables(made, side, program.section, wood.map));
}

/** What to do, in the order of doing it. Plain text, to be printed. */
function sheetOf(made: MadeJob, open: Prepared, r: Omit<ResumeMade, "files"> & { readonly cutter: CutterSpec }): OutFile {
  const { job } = made;
  const { side, program } = open;
  const steps = job.steps.filter((s) =>
    "program" in s ? made.programs.some((p) => p.file === s.program && p.side === side.name) : s.side === side.name,
  );
  const at = steps.findIndex((s) => "program" in s && s.program === program.file);
  const says = (s: (typeof steps)[number]): string => ("program" in s ? s.program : s.hand);
  const n = (v: number): string => v.toFixed(3);
  const [x, y, z] = r.start.at;
  const lines = [
    `GOING ON AFTER A STOP: ${job.order.name}, ${side.name} side`,
    `Program ${r.file}, SHA-256 ${r.sha256}`,
    `It goes on where ${r.from.file} stopped: ${r.start.says}`,
    `(SHA-256 of that program ${r.from.sha256})`,
    "Day: ....................  Name: ....................",
    "",
    DEFERS,
    ...CAUTIONS.map((c) => `[ ] ${c}`),
    "",
    "This program counts on the following; where one is not so, do not run it:",
    ...steps.slice(0, at).map((s) => `[ ] done: ${says(s)}`),
    `[ ] ${r.from.file} has cut at least up to its line ${r.start.line}. Where you do not know, name an earlier line.`,
    "[ ] The wood shows no cut where none was to be. After a lost step look at it first: what was cut elsewhere is known to nobody here.",
    "[ ] No piece of a broken cutter is left in the wood or in the collet.",
    "[ ] The piece has not moved: it touches its pins and its stop, and every block and screw is tight.",
    "",
    `[ ] Cutter ${r.cutter.number}, ${r.cutter.name}: diameter ${n(r.cutter.diameter)} mm, ${r.cutter.reach.toFixed(1)} mm from tip to holder, as in the proof.`,
    made.shop.machine.controller.dialect === "full"
      ? `[ ] Its length is measured anew and stands in the controller's table under ${r.cutter.number}.`
      : "[ ] The zero of Z is set anew with this cutter, as below.",
    ...(r.zero === null
      ? [`[ ] Zero: ${side.zeroSays}. Check it: over a pin, an edge or a bore the controller must show what the run sheet says.`]
      : [
          "[ ] Zero: as it is now; do NOT set it again. It was found off by this, and the program is moved with it:",
          ...r.zero.offset.map(
            (v, a) => `      ${"XYZ"[a]} ${n(v)} mm${r.zero!.axes[a] ? "" : " (nothing was touched on this axis: it counts as right)"}`,
          ),
          ...r.zero.readings.map(
            (f) =>
              `      ${f.name}: ${[0, 1, 2].flatMap((a) => (f.told[a] === null ? [] : [`${"XYZ"[a]} ${n(f.told[a]!)} in the program, found at ${n(f.found[a]!)}`])).join("; ")}`,
          ),
        ]),
    "",
    "[ ] Run it in air first, the zero of Z raised by more than the blank is thick; then set it back.",
    r.anew
      ? `[ ] The cut is planned anew for this cutter and made again from its beginning; most of it is in air.`
      : `[ ] It comes down at X ${n(x)} Y ${n(y)} to Z ${n(z)}, the last part slowly, where the cutter has stood before: it must touch nothing on its way down. If it does, stop: zero or place is wrong.`,
    r.anew ? "" : `[ ] The first ${r.start.overlap.toFixed(1)} mm are made again. From there on it cuts as the program does, to its end.`,
    `[ ] Should this program stop too: go on from ${r.from.file} again, by a position${r.zero === null ? "" : " (what the controller shows, less the offset of the zero above)"} or a pass; its line numbers are not that program's.`,
    `About ${Math.ceil(r.seconds / 60)} min. Then:`,
    ...steps.slice(at + 1).map((s) => `[ ] ${says(s)}`),
    "",
    r.differs === null
      ? "Proved: the whole side, as it was cut up to the stop, with this program and all that follow, held against the neck."
      : `Proved against the wood as it stands then: no contact; at the end ${n(r.differs.above)} mm above and ${n(r.differs.below)} mm below what the whole program leaves.`,
  ];
  return {
    path: r.file.replace(/\.ngc$/, ".txt"),
    bytes: new TextEncoder().encode(`${lines.filter((l, k) => l !== "" || lines[k - 1] !== "").join("\n")}\n`),
  };
}
