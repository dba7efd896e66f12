import { clockLimits } from "../cutting/clock-limits.ts";
import type { SideName } from "../holding/types.ts";
import { secondsOf, timeOf } from "../kernel/clock.ts";
import { type HeightMap, makeMap } from "../kernel/heightmap.ts";
import type { Neck } from "../neck/types.ts";
import { type Finding, finding, isStop } from "../units/index.ts";
import { measureBoard } from "./board.ts";
import { type Comparison, comparePart, compareSide } from "./compare.ts";
import { MOST_ABOVE } from "./compare-place.ts";
import { type Audit, auditEngagement } from "./engagement.ts";
import { measureFeatures } from "./features.ts";
import { checkFibres } from "./fibres.ts";
import { measureFrets } from "./frets.ts";
import { Gauge } from "./gauge.ts";
import { measureOutline, outlineStations } from "./outline.ts";
import { auditedFill, fillRegion, frameOf, type SideFrame } from "./place.ts";
import { OUTLINE_MISSING, THICKNESS } from "./rules.ts";
import { checkSetup, notRigid } from "./setup.ts";
import { type BandCut, bandsOfSide, cutBand, joinBands, probeOf, type Reading, readSide, type SimulationInput } from "./simulate.ts";
import type { Tally } from "./tally.ts";
import type { Measure, ProgramFigure, ProofInput, ProofSide, SideProof } from "./types.ts";

/*
 * The proof of a side comes in pieces that need little of each other, so that they can be made at the same time: what its programs leave, in
 * bands of the map's rows (`removeBand`), how that compares with the neck, in parts (`comparePart`), and what is measured from the moves (`measureSide`).
 */

/** What a side's programs leave of its blank. */
export interface Removed {
  readonly figures: readonly ProgramFigure[];
  readonly findings: readonly Finding[];
  readonly map: HeightMap;
  /** Features that a hand step has filled. */
  readonly filled: readonly string[];
  /** False when a text could not be run, or there is none: nothing is compared or measured then. */
  readonly whole: boolean;
}

/** What is measured from a side's moves. */
export interface Measured {
  readonly figures: Readonly<Record<string, Pick<ProgramFigure, "engagement" | "engagementTrace">>>;
  readonly measures: readonly Measure[];
  /** Of the audit and the outline, and of the measures and the fibres: they stand before and after those of the comparison. */
  readonly before: readonly Finding[];
  readonly after: readonly Finding[];
  readonly walls: Float32Array;
}

/** What the job says about a side, and whether it can be run at all. */
export function beginSide(input: ProofInput, name: SideName): { readonly findings: readonly Finding[]; readonly bad: boolean } {
  const findings = checkSetup(input, name);
  const side = input.sides.find((s) => s.name === name);
  const bad =
    side === undefined ||
    (findings.some(isStop) &&
      (notRigid(side.neckToProgram) > 1e-6 || findings.some((f) => f.rule === "PF-202" || f.rule === "PF-204" || f.rule === "PF-205")));
  return { findings, bad };
}

/** The map of what is left of a side, nothing in it yet, and how many bands it is cut in. `memory` gives so many bytes. */
export function emptyMap(
  side: ProofSide,
  cell: number,
  memory: (bytes: number) => ArrayBufferLike,
): { readonly map: HeightMap; readonly bands: number } {
  const { cells, bands } = bandsOfSide(side, cell);
  return { map: { ...cells, z: new Float32Array(memory(cells.nx * cells.ny * 4)) }, bands: bands.length };
}

/** A side's programs run in the order of the steps on one band of its blank, with a watch for contact; its heights go into the map `into`. */
export function removeBand(input: SimulationInput, name: SideName, band: number, into: Float32Array): BandCut {
  const side = sideOf(input, name);
  const limits = clockLimits(input.machine);
  return cutBand(input, side, frameOf(side), (moves) => secondsOf(moves, limits), band, into).cut;
}

/** The bands of a side together, and the map that they have filled. */
export function joinRemoved(side: ProofSide, cell: number, map: HeightMap, bands: readonly BandCut[]): Removed {
  const { filled, whole, programs } = bands[0];
  return { ...joinBands(side, cell, bands), map, filled, whole: whole && programs.length > 0 };
}

/** All bands of a side, one after the other. */
function removeSide(input: SimulationInput, name: SideName): Removed {
  const side = sideOf(input, name);
  const { map, bands } = emptyMap(side, input.cell, (bytes) => new ArrayBuffer(bytes));
  return joinRemoved(
    side,
    input.cell,
    map,
    Array.from({ length: bands }, (_, band) => removeBand(input, name, band, map.z)),
  );
}

/** One of the parts in which what is left is compared with the neck; see `comparePart` of compare.ts. */
export function compareSidePart(
  neck: Neck,
  stated: ProofSide,
  cusp: number,
  map: HeightMap,
  filled: readonly string[],
  part: number,
  deviation: Float32Array,
): readonly Tally[] {
  return comparePart(neck, frameOf(stated), map, cusp, new Set(filled), part, deviation);
}

/** What can be measured without a map; null when a text cannot be read or there is none. */
export function measureSide(input: ProofInput, name: SideName): Measured | null {
  const side = sideOf(input, name);
  const frame = frameOf(side);
  const limits = clockLimits(input.machine);
  const reading = readSide(input, side, frame);
  if (!reading.whole || reading.programs.length === 0) return null;
  const audit = auditOf(input, side, frame, reading);
  const before: Finding[] = [...audit.findings];
  input.progress?.(0.4, "measuring");
  const gauge = new Gauge(frame, reading.probe);
  const { neck } = input;
  if (name === "board" && neck.order.blank.kind !== "shaft-alone") {
    measureFrets(gauge, reading, neck);
    measureBoard(gauge, neck, cuspOf(input, name));
  }
  measureFeatures(gauge, reading, neck);
  // the carve side is cut last: its outline is that of the finished neck, so the board side's cuts count too
  const board = name === "carve" ? input.sides.find((s) => s.name === "board") : undefined;
  const other = board === undefined || notRigid(board.neckToProgram) > 1e-6 ? null : new Gauge(frameOf(board), probeOf(input, board));
  const walls = measureOutline(gauge, neck, other);
  if (other !== null) before.push(...uncut(neck, walls));
  input.progress?.(1, "measured");
  const figures: Record<string, Pick<ProgramFigure, "engagement" | "engagementTrace">> = {};
  for (const { program, moves } of reading.programs) {
    const engagement = audit.figures.get(program.file);
    const along = audit.along.get(program.file);
    if (engagement === undefined || along === undefined) continue;
    figures[program.file] = { engagement, engagementTrace: traceOf(along, timeOf(moves, limits).perMove) };
  }
  return {
    figures,
    measures: gauge.measures,
    before,
    after: [...gauge.findings, ...checkFibres(neck, frame, reading.programs)],
    walls,
  };
}

/** The pieces as one proof. */
export function joinSide(
  name: SideName,
  begun: readonly Finding[],
  removed: Removed | null,
  measured: Measured | null,
  compared: Comparison | null,
): SideProof {
  if (removed === null) return nothing(name, begun);
  const { map } = removed;
  const findings = [...begun, ...removed.findings];
  if (measured === null || compared === null) {
    return {
      ...nothing(name, findings),
      programs: removed.figures,
      stock: map,
      deviation: new Float32Array(map.z.length).fill(Number.NaN),
    };
  }
  return {
    side: name,
    programs: removed.figures.map((f) => ({ ...f, ...measured.figures[f.file] })),
    regions: compared.regions,
    measures: measured.measures,
    findings: [...findings, ...measured.before, ...compared.findings, ...measured.after],
    stock: map,
    deviation: compared.deviation,
    walls: measured.walls,
  };
}

/**
 * The proof of one side, from the text of its programs: reads and runs them in the order of the steps, watches for contact,
 * and measures what is left against the neck. Sides do not depend on each other; each may be proved in its own thread.
 * Never throws on bad programs or a bad job: what is wrong stands in the findings.
 */
export function proveSide(input: ProofInput, name: SideName): SideProof {
  const { findings, bad } = beginSide(input, name);
  if (bad) return joinSide(name, findings, null, null, null);
  const removed = removeSide(input, name);
  if (!removed.whole) return joinSide(name, findings, removed, null, null);
  input.progress?.(0.8, "measuring");
  const measured = measureSide({ ...input, progress: (share, says) => input.progress?.(0.8 + 0.1 * share, says) }, name);
  input.progress?.(0.9, "comparing with the neck");
  const compared = compareSide(input.neck, frameOf(sideOf(input, name)), removed.map, cuspOf(input, name), new Set(removed.filled));
  input.progress?.(1, "compared");
  return joinSide(name, findings, removed, measured, compared);
}

const sideOf = (input: Pick<ProofInput, "sides">, name: SideName): ProofSide => {
  const side = input.sides.find((s) => s.name === name);
  if (side === undefined) throw new RangeError(`there is no ${name} side`);
  return side;
};

/** Parts of a program's time that a trace has. */
const TRACE = 320;

/** The largest load of each part of the time, in degrees to a tenth. */
function traceOf(along: Float32Array, perMove: Float64Array): number[] {
  const total = perMove.reduce((a, b) => a + b, 0);
  const out = new Float64Array(TRACE);
  let t = 0;
  for (let k = 0; k < along.length; k++) {
    if (perMove[k] > 0) {
      const last = Math.min(TRACE - 1, Math.floor(((t + perMove[k]) / total) * TRACE));
      for (let c = Math.min(last, Math.floor((t / total) * TRACE)); c <= last; c++) out[c] = Math.max(out[c], along[k]);
    }
    t += perMove[k];
  }
  return Array.from(out, (v) => Math.round((v * 1800) / Math.PI) / 10);
}

/** How much wood the roughing cuts of a side meet, from the moves as they were read. */
function auditOf(input: ProofInput, side: ProofSide, frame: SideFrame, sim: Reading): Audit {
  const { min, max } = side.stock;
  const asked = input.engagement ?? {};
  const runs = sim.programs.map(({ program, moves, events, tool, step }) => ({
    step,
    run: {
      file: program.file,
      moves,
      events,
      cutter: tool.cutter,
      cuts: program.cuts.map((id) => ({ id, asked: asked[id] ?? null })),
    },
  }));
  const fills = [...sim.fills].flatMap(([id, step]) => {
    const together = [...sim.fills].filter(([, s]) => s === step).map(([i]) => i);
    const region = fillRegion(input.neck, id, together);
    return region === null ? [] : [{ step, run: { fills: [auditedFill(frame, region)] } }];
  });
  const steps = [...runs, ...fills].sort((a, b) => a.step - b.step).map((s) => s.run);
  return auditEngagement({ xMin: min[0], yMin: min[1], xMax: max[0], yMax: max[1] }, max[2], steps);
}

/** Largest cusp that a finishing cut of the side may leave; the order's own where the job names none. */
export function cuspOf(input: Pick<ProofInput, "programs" | "cusps" | "neck">, name: SideName): number {
  const cuts = input.programs.filter((p) => p.side === name).flatMap((p) => p.cuts);
  const named = cuts.map((c) => input.cusps[c]).filter((c) => c !== undefined);
  return named.length > 0 ? Math.max(...named) : input.neck.order.cutting.cusp;
}

function nothing(side: SideName, findings: readonly Finding[]): SideProof {
  const stock: HeightMap = makeMap(0, 0, 1, 1, 1, 0);
  return { side, programs: [], regions: [], measures: [], findings, stock, deviation: new Float32Array(1).fill(Number.NaN) };
}

export interface Proof {
  readonly sides: readonly SideProof[];
  /** Of both sides together: thickness. */
  readonly measures: readonly Measure[];
  /** All findings: of each side, then of both together. */
  readonly findings: readonly Finding[];
}

/** Both sides, one after the other, and what only both together can show. */
export function prove(input: ProofInput): Proof {
  const sides = (["board", "carve"] as const).map((name, k) =>
    proveSide({ ...input, progress: (share, says) => input.progress?.((k + share) / 2, `${name} side: ${says}`) }, name),
  );
  const both = proveBoth(input, sides);
  return { sides, measures: both.measures, findings: [...sides.flatMap((s) => s.findings), ...both.findings] };
}

/** What only both sides together can show. Takes the side proofs as they come from two threads. */
export function proveBoth(
  input: Pick<ProofInput, "neck" | "sides" | "cusps" | "programs">,
  proofs: readonly SideProof[],
): Omit<Proof, "sides"> {
  const board = proofs.find((p) => p.side === "board");
  const carve = proofs.find((p) => p.side === "carve");
  if (board === undefined || carve === undefined || board.walls === undefined || carve.walls === undefined)
    return { measures: [], findings: [] };
  const measures: Measure[] = [];
  const findings: Finding[] = [];
  const frames = [board, carve].map((p) => frameOf(input.sides.find((s) => s.name === p.side)!));
  const full = { ...input } as ProofInput;
  const tolerance = cuspOf(full, "board") + cuspOf(full, "carve") + 2 * MOST_ABOVE;
  const bare = input.neck.order.blank.kind === "shaft-alone";
  for (const { name, x } of thicknessStations(input)) {
    const y = besideChannels(input.neck, x);
    const top = heightAt(board.stock, frames[0], x, y);
    const back = heightAt(carve.stock, frames[1], x, y);
    const want = (bare ? Math.min(0, input.neck.top(x, y)) : input.neck.top(x, y)) - input.neck.back(x, y);
    const m: Measure = {
      id: `thickness ${name}`,
      what: y === 0 ? "on the centreline" : "beside a channel or bore",
      unit: "mm",
      ordered: want,
      measured: top - back,
      tolerance,
    };
    measures.push(m);
    if (!(Math.abs(m.measured - m.ordered) <= tolerance)) {
      findings.push(
        finding(THICKNESS, {
          where: m.id,
          value: m.measured,
          limit: tolerance,
          unit: "mm",
          says: `The neck is ${m.measured.toFixed(3)} mm thick ${name} instead of ${want.toFixed(3)} mm.`,
          tryThis: "Check the blank's thickness and both sides' heights.",
          at: { x, y },
        }),
      );
    }
  }
  return { measures, findings };
}

function thicknessStations({ neck }: Pick<ProofInput, "neck">): { readonly name: string; readonly x: number }[] {
  const p = neck.places;
  const beside = (n: number): number => neck.fretAt(n) + Math.min(3, (neck.fretAt(n + 1) - neck.fretAt(n)) / 4);
  const last = neck.order.frets.count;
  const out = [
    { name: "at the nut", x: beside(0) },
    { name: "at fret 1", x: beside(1) },
  ];
  if (last > 12) out.push({ name: "at fret 12", x: beside(12) });
  out.push(
    { name: "at the heel", x: (p.heelFront + (neck.features.tenon?.xMin ?? p.shaftEnd)) / 2 },
    { name: "at the headstock", x: (p.tip + Math.min(p.rampFoot, p.headBack)) / 2 },
  );
  // not in a slot
  return out.map((s) => (neck.features.frets.some((f) => Math.abs((f.bass.x + f.treble.x) / 2 - s.x) < 1) ? { ...s, x: s.x + 2 } : s));
}

/** y on the centreline, or just beside a channel that is left open on the face, or a screw's bore. */
function besideChannels(neck: Neck, x: number): number {
  const open = neck.features.rod.filter((c) => c.from === "board" && x > c.xMin - 1 && x < c.xMax + 1 && Math.abs(c.y ?? 0) < c.width);
  const beside = open.length === 0 ? 0 : Math.max(...open.map((c) => (c.y ?? 0) + c.width / 2)) + 2;
  // a screw's bore on the way says nothing of the neck's thickness
  const bores = neck.features.screws.filter((s) => Math.hypot(s.x - x, s.y - beside) < s.diameter / 2 + 2);
  return bores.length === 0 ? beside : Math.max(...bores.map((s) => s.y + s.diameter / 2)) + 2;
}

/** Neck z of what is left at a place: between the cells around it, or the nearest where they stand at a wall. */
function heightAt(map: HeightMap, frame: SideFrame, x: number, y: number): number {
  const [px, py] = frame.xy(x, y);
  const [u, v] = [(px - map.x0) / map.cell, (py - map.y0) / map.cell];
  const i = Math.round(u);
  const j = Math.round(v);
  if (i < 0 || j < 0 || i >= map.nx || j >= map.ny) return Number.NaN;
  const [i0, j0] = [Math.floor(u), Math.floor(v)];
  if (i0 < 0 || j0 < 0 || i0 + 1 >= map.nx || j0 + 1 >= map.ny) return frame.neckZ(map.z[j * map.nx + i]);
  const k = j0 * map.nx + i0;
  const [a, b, c, d] = [map.z[k], map.z[k + 1], map.z[k + map.nx], map.z[k + map.nx + 1]];
  // across a wall nothing is taken between
  if (Math.max(a, b, c, d) - Math.min(a, b, c, d) > map.cell) return frame.neckZ(map.z[j * map.nx + i]);
  const [s, t] = [u - i0, v - j0];
  return frame.neckZ((a + (b - a) * s) * (1 - t) + (c + (d - c) * s) * t);
}

function uncut(neck: Neck, walls: Float32Array): Finding[] {
  const stations = outlineStations(neck);
  const bare = stations.filter((_, n) => Number.isNaN(walls[n]));
  if (bare.length === 0) return [];
  const { x, y } = bare[0];
  return [
    finding(OUTLINE_MISSING, {
      where: "outline",
      value: bare.length,
      limit: 0,
      unit: "stations",
      says: `At ${bare.length} of ${stations.length} stations no side cuts the outline's wall; the first is x ${x.toFixed(1)}, y ${y.toFixed(1)} of the neck.`,
      tryThis: "See whether the outline's programs are all there.",
      at: { x, y },
    }),
  ];
}
