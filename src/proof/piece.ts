import { clockLimits } from "../cutting/clock-limits.ts";
import type { Cutter, Machine } from "../cutting/types.ts";
import { secondsOf } from "../kernel/clock.ts";
import { type Finding, isStop, type Mm } from "../units/index.ts";
import { Gauge, roundAt } from "./gauge.ts";
import { frameOf } from "./place.ts";
import { wallAt } from "./probe.ts";
import * as PF from "./rules.ts";
import { checkCutters } from "./setup.ts";
import { bandsOfSide, cutBand, joinBands } from "./simulate.ts";
import type { Measure, ProgramFigure, ProofProgram, ProofSide } from "./types.ts";

/** A round recess that a program is to leave, in its program's frame. */
export interface PieceRecess {
  readonly id: string;
  readonly x: Mm;
  readonly y: Mm;
  readonly diameter: Mm;
  readonly zFloor: Mm;
}

export interface PieceInput {
  readonly side: ProofSide;
  readonly machine: Machine;
  readonly cutter: Cutter;
  readonly program: ProofProgram;
  readonly recesses: readonly PieceRecess[];
  readonly cell: Mm;
}

export interface PieceProof {
  readonly measures: readonly Measure[];
  readonly figure: ProgramFigure | null;
  readonly findings: readonly Finding[];
}

/** Of nominal, mm. */
const TOLERANCE = 0.02;

/**
 * Proves a program on a piece that is no neck: its text is read and run like any other (reading, machine's use, rapids, holding, shank
 * and holder), and every recess is measured in what is left.
 */
export function provePiece(input: PieceInput): PieceProof {
  const { side, machine, cutter, program, recesses, cell } = input;
  const setup = checkCutters({ programs: [program], cutters: [cutter] }, side.name);
  if (setup.some(isStop)) return { measures: [], figure: null, findings: setup };
  const frame = frameOf(side);
  const limits = clockLimits(machine);
  const { cells, bands } = bandsOfSide(side, cell);
  const into = new Float32Array(cells.nx * cells.ny);
  const cut = bands.map((_, band) =>
    cutBand(
      { neck: null, machine, cutters: [cutter], sides: [side], programs: [program], steps: [{ program: program.file }], cusps: {}, cell },
      side,
      frame,
      (moves) => secondsOf(moves, limits),
      band,
      into,
    ),
  );
  const { whole, probe } = cut[0].reading;
  const sim = joinBands(
    side,
    cell,
    cut.map((c) => c.cut),
  );
  const gauge = new Gauge(frame, probe);
  if (whole) {
    for (const r of recesses) {
      const ground = gauge.ground(r.x, r.y, r.diameter);
      const top = side.stock.max[2];
      const found = roundAt(ground, r.x, r.y, r.diameter / 2, (top + r.zFloor) / 2, wallAt);
      if (found === null) {
        gauge.missing(PF.RECESS, r.id, `${r.id} is not cut at its place, x ${r.x.toFixed(2)}, y ${r.y.toFixed(2)}.`, r);
        continue;
      }
      const measure = (what: string, ordered: number, measured: number): void =>
        gauge.measure(PF.RECESS, { id: r.id, what, unit: "mm", ordered, measured, tolerance: TOLERANCE }, r);
      measure("diameter", r.diameter, found.diameter);
      measure("centre, off its place", 0, Math.hypot(found.x - r.x, found.y - r.y));
      const floors = [0, 1, 2, 3].map((k) =>
        ground(r.x + 0.3 * r.diameter * Math.cos(k * 1.57), r.y + 0.3 * r.diameter * Math.sin(k * 1.57)),
      );
      measure(
        "floor above the bed",
        r.zFloor,
        floors.reduce((a, z) => (Math.abs(z - r.zFloor) > Math.abs(a - r.zFloor) ? z : a), r.zFloor),
      );
    }
  }
  return { measures: gauge.measures, figure: sim.figures[0] ?? null, findings: [...setup, ...sim.findings, ...gauge.findings] };
}
