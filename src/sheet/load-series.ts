import { clockLimits } from "../cutting/clock-limits.ts";
import { showsOf } from "../cutting/conditions.ts";
import { POWER_SHARE, powerAt } from "../cutting/force.ts";
import type { Machine } from "../cutting/types.ts";
import { timeOf } from "../kernel/clock.ts";
import type { Cut } from "../paths/types.ts";
import type { CutterSpec } from "../spec/types.ts";
import type { Mm, Seconds } from "../units/index.ts";
import { Shares } from "./load-shares.ts";

/*
 * What a program asks of cutter and machine over its time: engagement and depth as planned, chip, force, bend and power at the speed
 * the clock gives each move. However many moves there are, a column of the picture keeps the least and the most of what falls into it.
 */

export type LoadKind = "engagement" | "chip" | "force" | "bend" | "power";

export interface LimitLine {
  /** Columns it stands over. */
  readonly from: number;
  readonly to: number;
  readonly value: number;
  readonly name: string;
}

export interface LoadPanel {
  readonly kind: LoadKind;
  readonly unit: string;
  /** Least and most by column; 0 in rapids and in the air. */
  readonly least: Float32Array;
  readonly most: Float32Array;
  readonly limits: readonly LimitLine[];
  /** Largest of all. */
  readonly peak: number;
  /** Averaged over the time in wood. */
  readonly mean: number;
}

export interface LoadSeries {
  readonly seconds: Seconds;
  /** Of that, in feed below the blank's face. */
  readonly inWood: Seconds;
  readonly moves: number;
  readonly columns: number;
  readonly panels: readonly LoadPanel[];
  /** Where each cut stands, in columns. */
  readonly cuts: readonly { readonly id: string; readonly from: number; readonly to: number }[];
  /** Share of the time in wood at which the chip is under the cutter's least. */
  readonly thin: number;
}

const KINDS: readonly { readonly kind: LoadKind; readonly unit: string }[] = [
  { kind: "engagement", unit: "°" },
  { kind: "chip", unit: "mm" },
  { kind: "force", unit: "N" },
  { kind: "bend", unit: "mm" },
  { kind: "power", unit: "W" },
];

/**
 * The series of consecutive cuts with one cutter. `top`: the blank's face in the program's frame. `audited`: the most engagement, in
 * degrees, that the proof found in the text for a cut; `trace`: the same over equal parts of the program's time, which then takes the place
 * of the planned engagement.
 */
export function loadSeries(
  cuts: readonly Cut[],
  cutter: CutterSpec,
  machine: Machine,
  top: Mm,
  columns: number,
  audited: ReadonlyMap<string, number> = new Map(),
  trace: readonly number[] = [],
): LoadSeries {
  const limits = clockLimits(machine);
  const times = cuts.map((c) => timeOf(c.moves, limits));
  const seconds = times.reduce((s, t) => s + t.seconds, 0);
  const least = KINDS.map(() => new Float32Array(columns).fill(Number.POSITIVE_INFINITY));
  const most = KINDS.map(() => new Float32Array(columns));
  const peak = new Float64Array(KINDS.length);
  const sum = new Float64Array(KINDS.length);
  const lines: LimitLine[][] = KINDS.map(() => []);
  const spans: { id: string; from: number; to: number }[] = [];
  const shares = new Shares(columns, seconds, top);
  cuts.forEach((cut, c) => {
    const { conditions: q } = cut;
    const still = q.edgeOnly ?? { force: q.force, shows: showsOf(q), power: q.power };
    const degrees = ((q.engagement ?? 0) * 180) / Math.PI;
    // every load grows evenly with the share of the planned chip: what it is without any, and what all of it adds
    const without = [degrees, 0, still.force, still.shows, still.power];
    const adds = [0, q.chip, q.force - still.force, showsOf(q) - still.shows, q.power - still.power];
    const edges = cutter.flutes * q.rpm;
    shares.look(cut.moves, times[c]!.perMove, { edges, perTooth: (q.feed * 60) / edges, chip: q.chip, thin: cutter.chip.min * 0.99 });
    const { from, to } = shares;
    for (let i = 0; i < KINDS.length; i++) {
      const [base, slope, lo, hi] = [without[i]!, adds[i]!, least[i]!, most[i]!];
      sum[i]! += base * shares.seconds + slope * shares.chips;
      for (let col = from; col <= to; col++) {
        if (shares.air[col] === 1 && lo[col]! > 0) lo[col] = 0;
        if (!(shares.most[col]! >= shares.least[col]!)) continue;
        const [a, b] = [base + slope * shares.least[col]!, base + slope * shares.most[col]!];
        const [low, high] = a < b ? [a, b] : [b, a];
        if (low < lo[col]!) lo[col] = low;
        if (high > hi[col]!) hi[col] = high;
        if (high > peak[i]!) peak[i] = high;
      }
    }
    spans.push({ id: cut.id, from, to });
    const add = (i: number, v: number, name: string): void => {
      lines[i]!.push({ from, to, value: v, name });
    };
    if (cut.engagement) add(0, (cut.engagement.limit * 180) / Math.PI, "limit");
    const found = audited.get(cut.id);
    if (found !== undefined) add(0, found, "audited");
    add(1, cutter.chip.min, "least");
    add(1, cutter.chip.max, "most");
    if (q.bendLimit !== undefined) add(3, q.bendLimit, "limit");
    add(4, POWER_SHARE * powerAt(machine.spindle, q.rpm), "limit");
  });
  const { inWood, thin } = shares;
  if (trace.length > 0) {
    least[0]!.fill(0);
    for (let c = 0; c < columns; c++) most[0]![c] = trace[Math.min(trace.length - 1, Math.floor((c / columns) * trace.length))]!;
    peak[0] = Math.max(...trace);
    const cutting = trace.filter((v) => v > 0);
    sum[0] = cutting.length > 0 ? (inWood * cutting.reduce((a, v) => a + v, 0)) / cutting.length : 0;
  }
  const panels = KINDS.map(({ kind, unit }, i) => {
    const lo = least[i]!.map((v) => (Number.isFinite(v) ? v : 0));
    return { kind, unit, least: lo, most: most[i]!, limits: lines[i]!, peak: peak[i]!, mean: inWood > 0 ? sum[i]! / inWood : 0 };
  });
  return {
    seconds,
    inWood,
    moves: cuts.reduce((n, c) => n + c.moves.count, 0),
    columns,
    panels,
    cuts: spans,
    thin: inWood > 0 ? thin / inWood : 0,
  };
}
