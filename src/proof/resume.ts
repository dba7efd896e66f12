import type { Cutter } from "../cutting/types.ts";
import { cutBy } from "../holding/correct/posting.ts";
import { settingOf } from "../holding/sections/setting.ts";
import type { HeightMap } from "../kernel/heightmap.ts";
import { makeBlock, makeStock } from "../kernel/make-stock.ts";
import { MoveKind, type MoveList } from "../kernel/moves.ts";
import { profileHeight } from "../kernel/profile.ts";
import type { Stock } from "../kernel/stock.ts";
import { type Finding, finding, type Mm } from "../units/index.ts";
import { Contact } from "./contact.ts";
import { checkMachineUse, NOWHERE, settleStart } from "./machine-use.ts";
import { fillRegion, frameOf } from "./place.ts";
import { interpretProgram, type ReadProgram } from "./reader/index.ts";
import { READER_RULES } from "./reader/rules.ts";
import { RESUME_AIR, RESUME_DIFFERS } from "./rules.ts";
import { shifted } from "./sections.ts";
import { figureOf, raise, type SimulationInput } from "./simulate.ts";
import { footprintOf } from "./solids.ts";
import { toolOf } from "./tool.ts";
import type { ProgramFigure, ProofProgram, ProofSide } from "./types.ts";

/*
 * The proof of a program that goes on where another stopped: from its text, against the wood as it stands at that moment. The moment is the
 * beginning of the first move that is made again; what was cut beyond it before the work stopped is not counted on.
 */

/** A program's moves as the machine is told, its start settled; null when the text cannot be read. */
export function toldMoves(program: ProofProgram, highest: Mm): { readonly read: ReadProgram; readonly moves: MoveList } | null {
  const read = interpretProgram(program.text, { start: NOWHERE });
  if (read.errors.length > 0) return null;
  return { read, moves: settleStart(program.file, read.moves, highest).moves };
}

/** Height above which nothing stands on a side, in no section. */
export const highestOf = (side: ProofSide): Mm =>
  Math.max(side.stock.max[2], ...[...side.holding, ...(side.sections ?? []).flatMap((s) => s.holding)].map((s) => footprintOf(s).zMax));

/** Moves from <= k < to as a list of their own, over the same memory. */
export function partOf(m: MoveList, from: number, to: number): MoveList {
  const start: readonly [number, number, number] = from === 0 ? m.start : [m.x[from - 1], m.y[from - 1], m.z[from - 1]];
  const cut = <T extends Float64Array | Uint8Array | Uint16Array | Uint32Array>(a: T): T => a.subarray(from, to) as T;
  return {
    count: to - from,
    start,
    kind: cut(m.kind),
    x: cut(m.x),
    y: cut(m.y),
    z: cut(m.z),
    feed: cut(m.feed),
    cx: cut(m.cx),
    cy: cut(m.cy),
    cz: cut(m.cz),
    sweep: cut(m.sweep),
    plane: cut(m.plane),
    cut: cut(m.cut),
    line: cut(m.line),
  };
}

/** Told moves from <= k < to, as they go through the side's one piece of wood. */
const throughWood = (told: MoveList, from: number, to: number, side: ProofSide, section: number | undefined): MoveList =>
  shifted(cutBy(partOf(told, from, to), [], side.real).moves, settingOf(side, section).shift);

/** Cuts moves from <= k < to of a program into the wood, without looking for contact. */
export function cutPart(
  stock: Stock,
  side: ProofSide,
  cutter: Cutter,
  program: Pick<ProofProgram, "section">,
  told: MoveList,
  from: number,
  to: number,
): void {
  const moves = throughWood(told, from, to, side, program.section);
  stock.cut(toolOf(cutter, profileHeight).profile, moves, 0, moves.count);
}

/** A side's blank before any cut. */
export function blankOf(side: ProofSide, cell: Mm): Stock {
  const { min, max } = side.stock;
  return makeBlock(min[0], min[1], max[0], max[1], cell, max[2]);
}

/** Does the steps of a side up to a program, that one not, to the wood; all of them when there is no file. Null when a text cannot be read. */
export function woodBefore(input: SimulationInput, side: ProofSide, file: string | null): Stock | null {
  const stock = blankOf(side, input.cell);
  for (const program of programsOnto(stock, input, side)) {
    if (program.file === file) return stock;
    const cutter = input.cutters.find((c) => c.number === program.cutter);
    const told = toldMoves(program, Number.POSITIVE_INFINITY);
    if (cutter === undefined || told === null) return null;
    cutPart(stock, side, cutter, program, told.moves, 0, told.moves.count);
  }
  return file === null ? stock : null;
}

/** A side's programs in the order of work; before each, what is filled by hand up to it is filled in the stock, and after the last the rest. */
export function* programsOnto(stock: Stock, input: SimulationInput, side: ProofSide): Generator<ProofProgram, void> {
  const frame = frameOf(side);
  for (const step of input.steps) {
    if (!("program" in step)) {
      if (step.side === side.name) fillStep(stock, input, side, frame, step.fills);
      continue;
    }
    const program = input.programs.find((p) => p.file === step.program && p.side === side.name);
    if (program !== undefined) yield program;
  }
}

export function fillStep(
  stock: Stock,
  input: SimulationInput,
  side: ProofSide,
  frame: ReturnType<typeof frameOf>,
  fills: readonly string[],
): void {
  for (const id of fills) {
    const region = input.neck === null ? null : fillRegion(input.neck, id, fills);
    if (region !== null) raise(stock, frame, region, side.stock.max[2]);
  }
}

/** The same heights in a stock of their own. */
export function stockFrom(map: HeightMap): Stock {
  return makeStock({ ...map, z: map.z.slice() });
}

export interface ResumeProof {
  readonly findings: readonly Finding[];
  readonly figure: ProgramFigure | null;
  /** How far the wood ends below and above what the whole program leaves, mm. */
  readonly below: Mm;
  readonly above: Mm;
  /** Wood that the way in takes, mm3. */
  readonly wayIn: number;
}

/** How far the wood may end from what the uninterrupted program leaves, mm. */
export const RESUME_LIMIT: Mm = 0.005;
/** What the way in may take, mm3: rounding of the cells under a wide cutter. */
export const AIR = 0.5;

/** Of a program that goes on: the moves of its way in, up to the end of the first at feed where that goes straight down. */
export function wayInTo(m: MoveList): number {
  let first = 0;
  while (first < m.count && m.kind[first] !== MoveKind.line && m.kind[first] !== MoveKind.arc) first++;
  const down =
    first < m.count && m.kind[first] === MoveKind.line && first > 0 && m.x[first] === m.x[first - 1] && m.y[first] === m.y[first - 1];
  return down ? first + 1 : first;
}

export const airFinding = (file: string, line: number, wayIn: number): Finding =>
  finding(RESUME_AIR, {
    where: `${file}:${line}`,
    value: wayIn,
    limit: AIR,
    unit: "mm3",
    says: `On its way in the cutter takes ${wayIn.toFixed(1)} mm3 of wood before it is where the program goes on.`,
    tryThis: "Begin a pass earlier, or at the beginning of the cut.",
  });

export interface ResumeAsk {
  readonly input: Pick<SimulationInput, "machine">;
  /** Of the resumed program: what the machine makes of it, what holds the piece. */
  readonly side: ProofSide;
  readonly cutter: Cutter;
  readonly program: ProofProgram;
  /** The wood at that moment; cut by the proof. */
  readonly wood: Stock;
  /** What the whole program leaves; null when another cutter leaves something else, which is then held against the neck instead. */
  readonly whole: HeightMap | null;
}

/** Reads the text, runs it through the wood, watches for contact, and holds what is left against what was to be left. */
export function proveResume(ask: ResumeAsk): ResumeProof {
  const { side, program, cutter, wood } = ask;
  const findings: Finding[] = [];
  const read = interpretProgram(program.text, { start: NOWHERE });
  for (const e of read.errors) {
    const rule = READER_RULES.find((r) => r.id === e.rule)!;
    const where = `${program.file}:${e.line}:${e.column}`;
    findings.push(finding(rule, { where, value: e.word, limit: null, unit: "", says: e.says, tryThis: e.tryThis }));
  }
  if (read.errors.length > 0) return { findings, figure: null, below: Number.NaN, above: Number.NaN, wayIn: Number.NaN };
  const settled = settleStart(program.file, read.moves, highestOf(side));
  findings.push(...settled.findings, ...checkMachineUse(program, read, settled.moves, cutter, ask.input.machine, side));
  const tool = toolOf(cutter, profileHeight);
  const setting = settingOf(side, program.section);
  const contact = new Contact(program.file, side, tool, setting.holding.map(footprintOf), wood, setting.shift);
  const told = settled.moves;
  const inTo = wayInTo(told);
  const wayIn = contact.run(throughWood(told, 0, inTo, side, program.section));
  if (ask.whole !== null && wayIn > AIR) findings.push(airFinding(program.file, told.line[Math.min(inTo, told.count) - 1], wayIn));
  const removed = wayIn + contact.run(throughWood(told, inTo, told.count, side, program.section));
  findings.push(...contact.findings());
  let below = 0;
  let above = 0;
  if (ask.whole !== null) {
    const [a, b] = [wood.map.z, ask.whole.z];
    for (let k = 0; k < a.length; k++) {
      const d = a[k] - b[k];
      if (d > above) above = d;
      else if (-d > below) below = -d;
    }
    if (!(below <= RESUME_LIMIT && above <= RESUME_LIMIT))
      findings.push(
        finding(RESUME_DIFFERS, {
          where: program.file,
          value: Math.max(below, above),
          limit: RESUME_LIMIT,
          unit: "mm",
          says: `The resumed program leaves the wood up to ${above.toFixed(3)} mm higher and ${below.toFixed(3)} mm lower than the whole program does.`,
          tryThis: "Begin a pass earlier, or at the beginning of the cut.",
        }),
      );
  }
  return { findings, figure: figureOf(program.file, told, removed, 0), below, above, wayIn };
}
