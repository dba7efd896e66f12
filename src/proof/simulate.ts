import { profileOf, whatIsWrong } from "../cutting/shape.ts";
import { cutBy } from "../holding/correct/posting.ts";
import { settingOf } from "../holding/sections/setting.ts";
import { makeBlock } from "../kernel/make-stock.ts";
import { MoveKind, type MoveList } from "../kernel/moves.ts";
import { profileHeight } from "../kernel/profile.ts";
import type { Stock } from "../kernel/stock.ts";
import { shapeOf } from "../kernel/tilt.ts";
import { type Finding, finding, type Rule } from "../units/index.ts";
import { checkMachineUse, NOWHERE, settleStart } from "./machine-use.ts";
import { boxIn, type FillRegion, fillRegion, type SideFrame } from "./place.ts";
import { chords, layerOf, Probe, type ProbeFill, type ProbeLayer } from "./probe.ts";
import { interpretProgram, READER_RULES } from "./reader/index.ts";
import type { ProgramEvent } from "./reader/machine.ts";
import * as PF from "./rules.ts";
import { checkIndexPins, shifted } from "./sections.ts";
import { type Footprint, footprintOf, touch } from "./solids.ts";
import { type Tool, toolOf } from "./tool.ts";
import type { ProgramFigure, ProofInput, ProofProgram, ProofSide } from "./types.ts";

export interface SimulatedProgram {
  readonly program: ProofProgram;
  readonly moves: MoveList;
  /** What the program does besides moving, comments too. */
  readonly events: readonly ProgramEvent[];
  readonly tool: Tool;
  readonly step: number;
}

/** What a side's programs say, in the order of its steps, and the means to look closely at any place of it at any time. */
export interface Reading {
  readonly programs: readonly SimulatedProgram[];
  readonly probe: Probe;
  /** Feature id -> step at which a hand step filled it. */
  readonly fills: ReadonlyMap<string, number>;
  /** False when some text could not be read or run: what is left is then not to be trusted. */
  readonly whole: boolean;
}

/** A side after all its steps: what is left. */
export interface Simulation extends Reading {
  readonly stock: Stock;
  readonly figures: readonly ProgramFigure[];
  readonly findings: readonly Finding[];
}

/** Glue fills the gap around what is glued in, and the cells at the very wall of it, mm. */
const GLUE = 0.03;

/** Clock of a move list: seconds. */
export type Clock = (moves: MoveList) => number;

/** A proof's input; a piece that is no neck has no features that a hand step could fill. */
export type SimulationInput = Omit<ProofInput, "neck"> & { readonly neck: ProofInput["neck"] | null };

/** What is done with the steps of a side while they are read. */
interface Doing {
  /** A text that cannot be read, a fill that is nowhere. */
  readonly findings: Finding[];
  fill(region: FillRegion): void;
  run(told: Told): void;
}

/** A program as it was read: as the machine is told, where the cutter then goes, and where that is in the side's one piece of wood. */
interface Told {
  readonly program: ProofProgram;
  readonly read: ReturnType<typeof interpretProgram>;
  readonly settled: ReturnType<typeof settleStart>;
  readonly moves: MoveList;
  readonly tool: Tool;
}

/** Runs a side's steps in their order on its own blank. */
export function simulateSide(input: SimulationInput, side: ProofSide, frame: SideFrame, clock: Clock): Simulation {
  const { min, max } = side.stock;
  const stock = makeBlock(min[0], min[1], max[0], max[1], input.cell, max[2]);
  const findings: Finding[] = [];
  const figures: ProgramFigure[] = [];
  let section: number | undefined;
  const reading = readSide(input, side, frame, {
    findings,
    fill: (region) => raise(stock, frame, region, max[2]),
    run({ program, read, settled, moves, tool }) {
      const setting = settingOf(side, program.section);
      if (program.section !== section && side.name === "board") findings.push(...checkIndexPins(stock, setting.holding, program));
      section = program.section;
      const { cutter } = tool;
      findings.push(...settled.findings, ...checkMachineUse(program, read, settled.moves, cutter, input.machine, side));
      const contact = new Contact(program.file, side, tool, setting.holding.map(footprintOf), stock, setting.shift);
      const removed = contact.run(moves);
      findings.push(...contact.findings());
      figures.push(figureOf(program.file, settled.moves, removed, clock(settled.moves)));
    },
  });
  return { stock, figures, findings, ...reading };
}

/** Reads a side's steps in their order; `doing` is handed each of them, and without it nothing is cut or checked. */
export function readSide(input: SimulationInput, side: ProofSide, frame: SideFrame, doing?: Doing): Reading {
  const { min, max } = side.stock;
  const programs: SimulatedProgram[] = [];
  const layers: ProbeLayer[] = [];
  const probeFills: ProbeFill[] = [];
  const fills = new Map<string, number>();
  const everywhere = [...side.holding, ...(side.sections ?? []).flatMap((s) => s.holding)].map(footprintOf);
  const highest = Math.max(max[2], ...everywhere.map((s) => s.zMax));
  let whole = true;
  const mine = input.steps.filter((s) =>
    "program" in s ? input.programs.some((p) => p.file === s.program && p.side === side.name) : s.side === side.name,
  );
  mine.forEach((step, n) => {
    if (doing) input.progress?.((0.8 * n) / mine.length, "program" in step ? `cutting ${step.program}` : step.hand);
    if (!("program" in step)) {
      for (const id of step.fills) {
        const region = input.neck === null ? null : fillRegion(input.neck, id, step.fills);
        if (region === null) {
          doing?.findings.push(noFill(id, step.hand));
          continue;
        }
        fills.set(id, n);
        probeFills.push({
          step: n,
          top: region.top === undefined ? max[2] : frame.z(region.top),
          distance: (x, y) => region.distance(...frame.neckXY(x, y)) - GLUE,
        });
        doing?.fill(region);
      }
      return;
    }
    const program = input.programs.find((p) => p.file === step.program && p.side === side.name);
    const cutter = input.cutters.find((c) => c.number === program?.cutter);
    if (program === undefined || cutter === undefined) {
      whole = false;
      return;
    }
    const read = interpretProgram(program.text, { start: NOWHERE });
    for (const e of read.errors) {
      const rule = READER_RULES.find((r) => r.id === e.rule) as Rule;
      const where = `${program.file}:${e.line}:${e.column}`;
      doing?.findings.push(finding(rule, { where, value: e.word, limit: null, unit: "", says: e.says, tryThis: e.tryThis }));
    }
    if (read.errors.length > 0) {
      whole = false;
      return;
    }
    const settled = settleStart(program.file, read.moves, highest);
    const { moves: made, events } = cutBy(settled.moves, read.events, side.real);
    const moves = shifted(made, settingOf(side, program.section).shift);
    const tool = toolOf(cutter, profileHeight);
    doing?.run({ program, read, settled, moves, tool });
    programs.push({ program, moves, events, tool, step: n });
    layers.push(layerOf(shapeOf(tool.profile), moves, n, min[0] - 20, min[1] - 20, max[0] + 20, max[1] + 20));
  });
  return { programs, probe: new Probe(layers, probeFills, max[2]), fills, whole };
}

/**
 * The moves of a side's programs as a probe, without cutting anything: what the other side took away. Programs that cannot be
 * read are left out; they are findings of their own side.
 */
export function probeOf(input: ProofInput, side: ProofSide): Probe {
  const { min, max } = side.stock;
  const layers: ProbeLayer[] = [];
  input.steps.forEach((s, step) => {
    const program = "program" in s ? input.programs.find((p) => p.file === s.program && p.side === side.name) : undefined;
    const cutter = input.cutters.find((c) => c.number === program?.cutter);
    if (program === undefined || cutter === undefined || whatIsWrong(cutter) !== null) return;
    const read = interpretProgram(program.text, { start: NOWHERE });
    if (read.errors.length > 0) return;
    const settled = settleStart(program.file, read.moves, Number.POSITIVE_INFINITY);
    const { moves: made } = cutBy(settled.moves, [], side.real);
    const moves = shifted(made, settingOf(side, program.section).shift);
    layers.push(layerOf(shapeOf(profileOf(cutter)), moves, step, min[0] - 20, min[1] - 20, max[0] + 20, max[1] + 20));
  });
  return new Probe(layers, [], max[2]);
}

const noFill = (id: string, hand: string): Finding =>
  finding(PF.FILLS, {
    where: hand,
    value: id,
    limit: null,
    unit: "",
    says: `A hand step fills "${id}", but the neck has no recess or channel of that name.`,
    tryThis: "Make the job again, or name a marker recess or a channel.",
  });

/** Glued wood stands up to the blank's original top until a later cut levels it. */
export function raise(stock: Stock, frame: SideFrame, region: FillRegion, top: number): void {
  const { nx, ny, cell, x0, y0, z } = stock.map;
  const level = region.top === undefined ? top : frame.z(region.top);
  const box = boxIn(frame, region);
  const range = (p: number, q: number, from: number, n: number): readonly [number, number] => [
    Math.max(0, Math.floor((p - from) / cell)),
    Math.min(n - 1, Math.ceil((q - from) / cell)),
  ];
  const [i0, i1] = range(box.xMin, box.xMax, x0, nx);
  const [j0, j1] = range(box.yMin, box.yMax, y0, ny);
  for (let j = j0; j <= j1; j++) {
    for (let i = i0; i <= i1; i++) {
      const [x, y] = frame.neckXY(x0 + i * cell, y0 + j * cell);
      if (region.distance(x, y) <= GLUE) z[j * nx + i] = level;
    }
  }
  if (i0 <= i1 && j0 <= j1) stock.refresh(i0, j0, i1, j1);
}

export function figureOf(file: string, m: MoveList, removed: number, seconds: number): ProgramFigure {
  let feedLength = 0;
  let rapidLength = 0;
  const lo: [number, number, number] = [Infinity, Infinity, Infinity];
  const hi: [number, number, number] = [-Infinity, -Infinity, -Infinity];
  const see = (x: number, y: number, z: number): void => {
    lo[0] = Math.min(lo[0], x);
    lo[1] = Math.min(lo[1], y);
    lo[2] = Math.min(lo[2], z);
    hi[0] = Math.max(hi[0], x);
    hi[1] = Math.max(hi[1], y);
    hi[2] = Math.max(hi[2], z);
  };
  let [px, py, pz] = m.start;
  for (let k = 0; k < m.count; k++) {
    const straight = Math.hypot(m.x[k] - px, m.y[k] - py, m.z[k] - pz);
    if (m.kind[k] === MoveKind.rapid) rapidLength += straight;
    else if (m.kind[k] === MoveKind.line) feedLength += straight;
    else if (m.kind[k] === MoveKind.arc)
      chords(m, k, px, py, pz, 0.001, (ax, ay, az, bx, by, bz) => {
        feedLength += Math.hypot(bx - ax, by - ay, bz - az);
        see(bx, by, bz);
      });
    px = m.x[k];
    py = m.y[k];
    pz = m.z[k];
    see(px, py, pz);
  }
  return { file, moves: m.count, feedLength, rapidLength, seconds, min: lo, max: hi, removed };
}

interface Worst {
  readonly rule: Rule;
  readonly subject: string;
  count: number;
  depth: number;
  line: number;
  at: readonly [number, number, number];
}

/** Runs one program over the stock and remembers the worst of every kind of contact. */
export class Contact {
  private readonly file: string;
  private readonly side: ProofSide;
  private readonly tool: Tool;
  private readonly solids: readonly Footprint[];
  private readonly stock: Stock;
  private readonly top: number;
  private readonly shift: readonly [number, number];
  private readonly worst = new Map<string, Worst>();

  constructor(file: string, side: ProofSide, tool: Tool, solids: readonly Footprint[], stock: Stock, shift: readonly [number, number]) {
    this.file = file;
    this.side = side;
    this.tool = tool;
    this.solids = solids;
    this.stock = stock;
    this.top = side.stock.max[2];
    this.shift = shift;
  }

  run(m: MoveList): number {
    let removed = 0;
    let from = 0;
    for (let k = 0; k <= m.count; k++) {
      if (k < m.count && m.kind[k] !== MoveKind.rapid) continue;
      if (k > from) removed += this.feeds(m, from, k);
      if (k < m.count) removed += this.rapid(m, k);
      from = k + 1;
    }
    return removed;
  }

  private note(rule: Rule, subject: string, depth: number, line: number, x: number, y: number, z: number): void {
    const key = `${rule.id} ${subject}`;
    const w = this.worst.get(key);
    if (w === undefined) this.worst.set(key, { rule, subject, count: 1, depth, line, at: [x, y, z] });
    else {
      w.count++;
      if (depth > w.depth) Object.assign(w, { depth, line, at: [x, y, z] });
    }
  }

  /** Straight pieces of move k. */
  private pieces(m: MoveList, k: number, put: (ax: number, ay: number, az: number, bx: number, by: number, bz: number) => void): void {
    const ax = k > 0 ? m.x[k - 1] : m.start[0];
    const ay = k > 0 ? m.y[k - 1] : m.start[1];
    const az = k > 0 ? m.z[k - 1] : m.start[2];
    if (m.kind[k] === MoveKind.dwell) return;
    if (m.kind[k] === MoveKind.arc) chords(m, k, ax, ay, az, 0.002, put);
    else put(ax, ay, az, m.x[k], m.y[k], m.z[k]);
  }

  /** A run of feed moves: collars against the wood as it was before the run; move by move only where that touches. */
  private feeds(m: MoveList, from: number, to: number): number {
    const { stock, tool } = this;
    this.places(m, from, to, false);
    let close = false;
    for (let k = from; k < to && !close; k++) close = this.collars(m, k, null);
    if (!close) return stock.cut(tool.profile, m, from, to);
    let removed = 0;
    for (let k = from; k < to; k++) {
      this.collars(m, k, m.line[k]);
      removed += stock.cut(tool.profile, m, k, k + 1);
    }
    return removed;
  }

  /** Whether shank or holder meets wood during move k; noted when a line is given. Wood within one cell of the shank counts. */
  private collars(m: MoveList, k: number, line: number | null): boolean {
    const { stock, tool, top } = this;
    const clearance = stock.map.cell;
    let any = false;
    this.pieces(m, k, (ax, ay, az, bx, by, bz) => {
      for (const c of tool.collars) {
        if (Math.min(az, bz) + c.from >= top) break;
        const depth = stock.penetration(c.radius + clearance, ax, ay, az + c.from, bx, by, bz + c.from);
        if (depth <= 0.01) continue;
        any = true;
        if (line !== null) this.note(c.part === "shank" ? PF.SHANK_STOCK : PF.HOLDER_STOCK, "", depth, line, bx, by, bz);
      }
    });
    return any;
  }

  /** Bed and holding, for the moves of a run. */
  private places(m: MoveList, from: number, to: number, rapid: boolean): void {
    const { solids, tool, side } = this;
    const reach = tool.widest;
    for (let k = from; k < to; k++) {
      if (m.kind[k] === MoveKind.dwell) continue;
      if (m.z[k] < side.bed - 1e-6) this.note(PF.BED, "", side.bed - m.z[k], m.line[k], m.x[k], m.y[k], m.z[k]);
      const line = m.line[k];
      this.pieces(m, k, (ax, ay, az, bx, by, bz) => {
        if (m.kind[k] === MoveKind.arc && bz < side.bed - 1e-6) this.note(PF.BED, "", side.bed - bz, line, bx, by, bz);
        for (const s of solids) {
          if (Math.min(az, bz) >= s.zMax || Math.max(ax, bx) + reach < s.xMin || Math.min(ax, bx) - reach > s.xMax) continue;
          const t = touch(tool, s, ax, ay, az, bx, by, bz);
          if (t !== null && t.depth > 1e-6)
            this.note(rapid ? PF.RAPID_HOLDING : PF.FEED_HOLDING, s.solid.name, t.depth, line, t.x, t.y, t.z);
        }
      });
    }
  }

  /** A rapid: nothing may be in its way. Straight up is always free: what is above was cleared on the way in. */
  private rapid(m: MoveList, k: number): number {
    const { stock, tool, top } = this;
    const ax = k > 0 ? m.x[k - 1] : m.start[0];
    const ay = k > 0 ? m.y[k - 1] : m.start[1];
    const az = k > 0 ? m.z[k - 1] : m.start[2];
    const [bx, by, bz] = [m.x[k], m.y[k], m.z[k]];
    this.places(m, k, k + 1, true);
    if (ax === bx && ay === by && bz >= az) return 0;
    if (Math.min(az, bz) >= top) return 0;
    this.collars(m, k, m.line[k]);
    const depth = stock.penetration(tool.radius, ax, ay, az, bx, by, bz);
    if (depth <= 1e-3) return 0;
    // the disc at the tip says more than the cutter's own shape: sweep that shape, and see whether wood would go
    const one: MoveList = { ...m, count: 1, start: [ax, ay, az], kind: Uint8Array.of(MoveKind.line) };
    const at = { x: Float64Array.of(bx), y: Float64Array.of(by), z: Float64Array.of(bz) };
    const removed = stock.cut(tool.profile, { ...one, ...at }, 0, 1);
    const cellVolume = stock.map.cell ** 2 * 1e-3;
    if (removed > cellVolume) this.note(PF.RAPID_STOCK, "", depth, m.line[k], bx, by, bz);
    return removed;
  }

  findings(): Finding[] {
    return [...this.worst.values()].map((w) => {
      const [x, y, z] = w.at;
      const where = `${this.file}:${w.line}`;
      const more = w.count > 1 ? ` (and on ${w.count - 1} more)` : "";
      // in the words of the program, whatever the section
      const place = `x ${(x - this.shift[0]).toFixed(2)}, y ${(y - this.shift[1]).toFixed(2)}, z ${z.toFixed(2)}`;
      const [says, tryThis] = WORDS[w.rule.id](w.subject, w.depth.toFixed(2), `${place}${more}`);
      return finding(w.rule, { where, value: w.depth, limit: 0, unit: "mm", says, tryThis, at: { side: this.side.name, x, y, z } });
    });
  }
}

type Words = (subject: string, depth: string, place: string) => readonly [string, string];
const WORDS: Readonly<Record<string, Words>> = {
  [PF.RAPID_STOCK.id]: (_, d, p) => [
    `A rapid goes up to ${d} mm deep through wood on its way to ${p}.`,
    "Raise the rapid to the safe height first.",
  ],
  [PF.RAPID_HOLDING.id]: (s, d, p) => [
    `A rapid hits the ${s} by ${d} mm at ${p}.`,
    "Raise the rapid to the safe height first, or move what holds the piece.",
  ],
  [PF.FEED_HOLDING.id]: (s, d, p) => [
    `The tool cuts ${d} mm into the ${s} at ${p}.`,
    "Move what holds the piece, or use a slimmer or longer cutter.",
  ],
  [PF.BED.id]: (_, d, p) => [`The tip goes ${d} mm below the bed at ${p}.`, "Check the sign and size of Z, and the zero."],
  [PF.SHANK_STOCK.id]: (_, d, p) => [
    `Wood beside the cutter stands ${d} mm above its flutes at ${p}: the shank would rub.`,
    "Use a cutter with longer flutes, or clear the wood beside it first.",
  ],
  [PF.HOLDER_STOCK.id]: (_, d, p) => [
    `The holder runs ${d} mm into wood at ${p}.`,
    "Let the cutter stick out further, or clear the wood first.",
  ],
};
