import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { MoveKind } from "../../../src/kernel/moves.ts";
import { interpretProgram } from "../../../src/proof/reader/index.ts";
import { pointOf, type ReadMove } from "../../laws/programs.ts";
import { interpret } from "./run.ts";

export interface Comparison {
  readonly file: string;
  readonly moves: number;
  /** Largest distance between the two readings of one place, mm. */
  readonly worst: number;
}

/** Two readings of one place agree within this (four decimals are printed by the other interpreter). */
export const AGREE = 0.001;

/** Compares every program (*.ngc) of a folder; throws at the first place where the readings part. */
export function comparePrograms(folder: string): Comparison[] {
  const files = readdirSync(folder)
    .filter((f) => f.endsWith(".ngc"))
    .sort();
  if (files.length === 0) throw new Error(`${folder} holds no program (*.ngc)`);
  return files.map((file) => compareText(file, readFileSync(join(folder, file), "latin1")));
}

/** Sets the proof's reading of a program beside the independent interpreter's, move by move. */
export function compareText(file: string, text: string): Comparison {
  const ours = ourMoves(file, text).filter(goesSomewhere);
  const theirs = interpret(text).filter(goesSomewhere);
  let worst = 0;
  for (let k = 0; k < Math.max(ours.length, theirs.length); k++) {
    const [a, b] = [ours[k], theirs[k]];
    if (a === undefined || b === undefined || a.kind !== b.kind) throw new Error(`${file}, move ${k + 1}: ${say(a)} here, ${say(b)} there`);
    for (const s of a.kind === "arc" ? [0, 0.25, 0.5, 0.75, 1] : [0, 1]) {
      const p = pointOf(a, s);
      const q = pointOf(b, s);
      const d = Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]);
      if (!(d <= AGREE)) throw new Error(`${file}, move ${k + 1}: ${d} mm apart at share ${s}; ${say(a)} here, ${say(b)} there`);
      worst = Math.max(worst, d);
    }
    if (Math.abs(a.seconds - b.seconds) > 0.0005)
      throw new Error(`${file}, move ${k + 1}: dwell ${a.seconds} s here, ${b.seconds} s there`);
    // The feed is printed with four decimals there.
    const feeds = a.kind === "line" || a.kind === "arc";
    if (feeds && Math.abs(a.feed - b.feed) > 0.0002) throw new Error(`${file}, move ${k + 1}: F${a.feed} here, F${b.feed} there`);
  }
  return { file, moves: ours.length, worst };
}

const say = (m: ReadMove | undefined): string => (m === undefined ? "nothing" : `${m.kind} to ${m.to.map((v) => v.toFixed(5)).join(" ")}`);

/** Leaves out straight moves to where the tip already is, in the four decimals that the other interpreter prints. */
const goesSomewhere = (m: ReadMove): boolean => m.kind === "arc" || m.kind === "dwell" || m.from.some((v, a) => four(v) !== four(m.to[a]));
const four = (v: number): number => Number(v.toFixed(4)) + 0;

function ourMoves(file: string, text: string): ReadMove[] {
  const { moves: m, errors } = interpretProgram(text);
  if (errors.length > 0) throw new Error(`${file}: the proof's reader refuses line ${errors[0].line}: ${errors[0].says}`);
  const kinds = { [MoveKind.rapid]: "rapid", [MoveKind.line]: "line", [MoveKind.arc]: "arc", [MoveKind.dwell]: "dwell" } as const;
  const out: ReadMove[] = [];
  let from: readonly [number, number, number] = m.start;
  for (let k = 0; k < m.count; k++) {
    const kind = kinds[m.kind[k] as keyof typeof kinds];
    const to: [number, number, number] = [m.x[k], m.y[k], m.z[k]];
    const centre: [number, number, number] = [m.cx[k], m.cy[k], m.cz[k]];
    const seconds = kind === "dwell" ? m.feed[k] : 0;
    out.push({ kind, from, to, feed: m.feed[k] * 60, seconds, plane: m.plane[k], centre, sweep: m.sweep[k] });
    from = to;
  }
  return out;
}
