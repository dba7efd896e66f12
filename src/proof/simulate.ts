import { profileOf, whatIsWrong } from "../cutting/shape.ts";
import { cutBy } from "../holding/correct/posting.ts";
import { settingOf } from "../holding/sections/setting.ts";
import { cellsOver, type HeightMap } from "../kernel/heightmap.ts";
import { bandsOf, makeBlock } from "../kernel/make-stock.ts";
import { MoveKind, type MoveList } from "../kernel/moves.ts";
import { profileHeight } from "../kernel/profile.ts";
import type { Rows, Stock } from "../kernel/stock.ts";
import { shapeOf } from "../kernel/tilt.ts";
import { type Finding, finding, type Mm, type Rule } from "../units/index.ts";
import { Contact, contactFindings, type Touched } from "./contact.ts";
import { checkMachineUse, NOWHERE, settleStart } from "./machine-use.ts";
import { boxIn, type FillRegion, fillRegion, type SideFrame } from "./place.ts";
import { chords, layerOf, Probe, type ProbeFill, type ProbeLayer } from "./probe.ts";
import { interpretProgram, READER_RULES } from "./reader/index.ts";
import type { ProgramEvent } from "./reader/machine.ts";
import * as PF from "./rules.ts";
import { checkIndexPins, shifted, type UnderPin, underPins } from "./sections.ts";
import { footprintOf } from "./solids.ts";
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

/** What one program does to one band of a side's wood. */
interface BandProgram {
  readonly file: string;
  readonly shift: readonly [Mm, Mm];
  /** mm3. */
  readonly removed: number;
  readonly touched: Touched;
  /** Before the first program of a section of the board side. */
  readonly pins: readonly UnderPin[];
  /** Of the first band alone: what needs no wood, all that was said since the program before; its figure, nothing removed yet. */
  readonly says: readonly Finding[];
  readonly figure: ProgramFigure | null;
}

/** One band of a side's wood, cut; plain data, so that it may come from another thread. */
export interface BandCut {
  /** Its cells in the map: the first, and the one after the last. */
  readonly cells: readonly [number, number];
  readonly programs: readonly BandProgram[];
  /** Said after the last program. */
  readonly after: readonly Finding[];
  /** Features that a hand step filled. */
  readonly filled: readonly string[];
  /** False when some text could not be read or run. */
  readonly whole: boolean;
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
  say(finding: Finding): void;
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

/** Bands in which a side's wood is cut, side by side where there are threads; never more or fewer, so that sums come out the same. */
const BANDS = 2;

/** The cells of a side's map, and the bands of its rows. */
export function bandsOfSide(side: ProofSide, cell: Mm): { readonly cells: Omit<HeightMap, "z">; readonly bands: readonly Rows[] } {
  const { min, max } = side.stock;
  const cells = cellsOver(min[0], min[1], max[0], max[1], cell);
  return { cells, bands: bandsOf(cells.ny, BANDS) };
}

/**
 * Runs a side's steps in their order on one band of its blank, and writes that band's heights into `into`, the whole map's; gives also the side as
 * it was read. `band`: its number. What needs no wood is looked at with the first.
 */
export function cutBand(
  input: SimulationInput,
  side: ProofSide,
  frame: SideFrame,
  clock: Clock,
  band: number,
  into: Float32Array,
): { readonly cut: BandCut; readonly reading: Reading } {
  const { min, max } = side.stock;
  const { cells, bands } = bandsOfSide(side, input.cell);
  const rows = bands[band];
  const first = band === 0;
  const stock = makeBlock(min[0], min[1], max[0], max[1], input.cell, max[2], rows);
  let said: Finding[] = [];
  const programs: BandProgram[] = [];
  let section: number | undefined;
  const reading = readSide(input, side, frame, {
    say: (f) => said.push(f),
    fill: (region) => raise(stock, frame, region, max[2]),
    run({ program, read, settled, moves, tool }) {
      const setting = settingOf(side, program.section);
      const pins = program.section !== section && side.name === "board" ? underPins(stock, setting.holding) : [];
      section = program.section;
      const { cutter } = tool;
      if (first) said.push(...settled.findings, ...checkMachineUse(program, read, settled.moves, cutter, input.machine, side));
      const contact = new Contact(program.file, side, tool, setting.holding.map(footprintOf), stock, setting.shift, first);
      const removed = contact.run(moves);
      const figure = first ? figureOf(program.file, settled.moves, 0, clock(settled.moves)) : null;
      programs.push({
        file: program.file,
        shift: setting.shift,
        removed,
        touched: contact.touched(),
        pins,
        says: first ? said : [],
        figure,
      });
      said = [];
    },
  });
  const [from, to] = rows.map((j) => j * cells.nx);
  into.set(stock.map.z.subarray(from, to), from);
  stock.release();
  return {
    cut: { cells: [from, to], programs, after: first ? said : [], filled: [...reading.fills.keys()], whole: reading.whole },
    reading,
  };
}

/** What the bands of a side say together, in the order of the programs. */
export function joinBands(
  side: ProofSide,
  cell: Mm,
  bands: readonly BandCut[],
): { readonly figures: readonly ProgramFigure[]; readonly findings: readonly Finding[] } {
  const figures: ProgramFigure[] = [];
  const findings: Finding[] = [];
  bands[0].programs.forEach(({ file, shift, says, figure }, k) => {
    const all = bands.map((b) => b.programs[k]);
    findings.push(
      ...says,
      ...checkIndexPins(
        file,
        all.map((p) => p.pins),
      ),
      ...contactFindings(
        file,
        side,
        cell,
        shift,
        all.map((p) => p.touched),
      ),
    );
    if (figure !== null) figures.push({ ...figure, removed: all.reduce((sum, p) => sum + p.removed, 0) });
  });
  findings.push(...bands[0].after);
  return { figures, findings };
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
          doing?.say(noFill(id, step.hand));
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
      doing?.say(finding(rule, { where, value: e.word, limit: null, unit: "", says: e.says, tryThis: e.tryThis }));
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
  const [first, end] = stock.rows;
  const [ja, jb] = range(box.yMin, box.yMax, y0, ny);
  const [j0, j1] = [Math.max(ja, first), Math.min(jb, end - 1)];
  for (let j = j0; j <= j1; j++) {
    for (let i = i0; i <= i1; ) {
      const [x, y] = frame.neckXY(x0 + i * cell, y0 + j * cell);
      const off = region.distance(x, y) - GLUE;
      // a distance does not change by more than the way: so many cells from here on are filled, or left, like this one
      const end = Math.min(i1, i + Math.max(0, Math.floor(Math.abs(off) / cell - 1e-6))) + 1;
      if (off <= 0) z.fill(level, j * nx + i, j * nx + end);
      i = end;
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
