import { clockLimits } from "../cutting/clock-limits.ts";
import { showsOf } from "../cutting/conditions.ts";
import { POWER_SHARE, powerAt } from "../cutting/force.ts";
import type { Machine } from "../cutting/types.ts";
import { timeOf } from "../kernel/clock.ts";
import { MoveKind } from "../kernel/moves.ts";
import type { Cut } from "../paths/types.ts";
import type { CutterSpec } from "../spec/types.ts";
import type { Mm, Seconds } from "../units/index.ts";

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
  const value = new Float64Array(KINDS.length);
  let inWood = 0;
  let thin = 0;
  let t = 0;
  const columnAt = (time: Seconds): number => (seconds > 0 ? Math.min(columns - 1, Math.floor((time / seconds) * columns)) : 0);
  cuts.forEach((cut, c) => {
    const { moves: m, conditions: q } = cut;
    const { perMove } = times[c]!;
    const begin = t;
    const planned = (q.feed * 60) / (cutter.flutes * q.rpm);
    const still = q.edgeOnly ?? { force: q.force, shows: showsOf(q), power: q.power };
    const degrees = ((q.engagement ?? 0) * 180) / Math.PI;
    let [px, py, pz] = m.start;
    for (let k = 0; k < m.count; k++) {
      const kind = m.kind[k];
      const dt = perMove[k]!;
      const [x, y, z] = [m.x[k]!, m.y[k]!, m.z[k]!];
      const cutting = (kind === MoveKind.line || kind === MoveKind.arc) && Math.min(pz, z) < top - 1e-9 && dt > 0;
      value.fill(0);
      if (cutting) {
        const length = kind === MoveKind.arc ? arcLength(px, py, pz, m, k) : Math.hypot(x - px, y - py, z - pz);
        const perTooth = ((length / dt) * 60) / (cutter.flutes * q.rpm);
        const share = planned > 0 ? perTooth / planned : 0;
        value[0] = degrees;
        value[1] = q.chip * share;
        value[2] = still.force + (q.force - still.force) * share;
        value[3] = still.shows + (showsOf(q) - still.shows) * share;
        value[4] = still.power + (q.power - still.power) * share;
        inWood += dt;
        if (value[1] < cutter.chip.min * 0.99) thin += dt;
        for (let i = 0; i < value.length; i++) sum[i] += value[i]! * dt;
      }
      if (dt > 0) {
        const [c0, c1] = [columnAt(t), columnAt(t + dt)];
        for (let i = 0; i < value.length; i++) {
          const v = value[i]!;
          if (v > peak[i]!) peak[i] = v;
          const [lo, hi] = [least[i]!, most[i]!];
          for (let col = c0; col <= c1; col++) {
            if (v < lo[col]!) lo[col] = v;
            if (v > hi[col]!) hi[col] = v;
          }
        }
      }
      t += dt;
      px = x;
      py = y;
      pz = z;
    }
    const [from, to] = [columnAt(begin), columnAt(t)];
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

function arcLength(px: number, py: number, pz: number, m: Cut["moves"], k: number): Mm {
  const [dx, dy, dz] = [px - m.cx[k]!, py - m.cy[k]!, pz - m.cz[k]!];
  const plane = m.plane[k];
  const r = plane === 0 ? Math.hypot(dx, dy) : plane === 1 ? Math.hypot(dx, dz) : Math.hypot(dy, dz);
  const rise = plane === 0 ? m.z[k]! - pz : plane === 1 ? m.y[k]! - py : m.x[k]! - px;
  return Math.hypot(r * m.sweep[k]!, rise);
}
