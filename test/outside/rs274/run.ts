import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { ReadMove } from "../../laws/programs.ts";
import { ensureRs274, haveRs274 } from "./setup.mjs";

/*
 * Runs program text through the independent interpreter (see setup.mjs) and reads its canonical output: the functions of
 * NISTIR 6556 section 4, printed one a line with four decimals, lengths in the units that are active.
 */

/** A canonical move: STRAIGHT_TRAVERSE, STRAIGHT_FEED, ARC_FEED or DWELL, in mm, mm/min, seconds; arcs with centre and sweep. */
export type CanonMove = ReadMove;

export interface InterpretOptions {
  /** The machine's tool table. Default: cutters 1 to 99, each with another length. */
  readonly tools?: readonly { readonly number: number; readonly diameter: number; readonly length: number }[];
}

export interface Interpretation {
  readonly moves: CanonMove[];
  /** Every canonical function that is no move, as printed: CHANGE_TOOL(3), USE_TOOL_LENGTH_OFFSET(...), ... */
  readonly calls: string[];
}

/** True when the interpreter is not here and NECKWRIGHT_OFFLINE=1 says not to fetch it. */
export const leaveOut: boolean = process.env.NECKWRIGHT_OFFLINE === "1" && !haveRs274();
if (leaveOut)
  console.warn(
    "Left out, because NECKWRIGHT_OFFLINE=1 and no interpreter is unpacked: every check against the independent RS274/NGC interpreter.",
  );

const defaultTools = Array.from({ length: 99 }, (_, k) => ({ number: k + 1, diameter: 8, length: 20 + k / 4 }));

/** The canonical moves of a program; throws with the interpreter's own words when it refuses the text. */
export const interpret = (text: string, options: InterpretOptions = {}): CanonMove[] => interpretWhole(text, options).moves;

/** The same with every other canonical function that was called. */
export function interpretWhole(text: string, options: InterpretOptions = {}): Interpretation {
  const { program, env } = ensureRs274();
  const folder = mkdtempSync(join(tmpdir(), "rs274-"));
  try {
    const file = (name: string): string => join(folder, name);
    writeFileSync(file("program.ngc"), text);
    writeFileSync(file("parameters.var"), "");
    const tools = options.tools ?? defaultTools;
    // Started alone, the interpreter takes its tool table in inches.
    writeFileSync(file("tools.tbl"), tools.map((t) => `T${t.number} P${t.number} D${t.diameter / 25.4} Z${t.length / 25.4}\n`).join(""));
    const args = ["-t", file("tools.tbl"), "-v", file("parameters.var"), "-g", file("program.ngc"), file("canon.txt")];
    // it maps a tool table from the home folder: two at a time must not share one
    const r = spawnSync(program, args, { env: { ...env, HOME: folder }, cwd: folder, encoding: "utf8", maxBuffer: 1 << 26 });
    if (r.error) throw r.error;
    if (r.status !== 0) throw new Error(`the interpreter refused the program (${r.status ?? r.signal}): ${(r.stderr + r.stdout).trim()}`);
    const read = parseCanon(readFileSync(file("canon.txt"), "latin1"));
    if (!read.calls.includes("PROGRAM_END()")) throw new Error(`the interpreter did not reach the program's end: ${r.stderr.trim()}`);
    return read;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

const PLANES: Readonly<Record<string, number>> = { CANON_PLANE_XY: 0, CANON_PLANE_XZ: 1, CANON_PLANE_YZ: 2 };

/** Reads canonical output. */
export function parseCanon(text: string): Interpretation {
  const moves: CanonMove[] = [];
  const calls: string[] = [];
  let at: readonly [number, number, number] = [0, 0, 0];
  let plane = 0;
  let feed = 0;
  let unit = 1;
  const push = (kind: CanonMove["kind"], to: readonly [number, number, number], rest: Partial<CanonMove> = {}): void => {
    moves.push({ kind, from: at, to, feed, seconds: 0, plane, centre: [0, 0, 0], sweep: 0, ...rest });
    at = to;
  };
  for (const line of text.split("\n")) {
    const call = line.slice(line.indexOf("N.....") + 6).trim();
    const open = call.indexOf("(");
    if (open < 0) continue;
    const name = call.slice(0, open);
    const inside = call.slice(open + 1, call.lastIndexOf(")"));
    const n = name === "COMMENT" || name === "MESSAGE" ? [] : inside.split(/[ ,]+/).map(Number);
    if (name === "STRAIGHT_TRAVERSE" || name === "STRAIGHT_FEED") {
      push(name === "STRAIGHT_FEED" ? "line" : "rapid", [n[0] * unit, n[1] * unit, n[2] * unit]);
    } else if (name === "ARC_FEED") {
      const [u, v, w] = plane === 0 ? [0, 1, 2] : plane === 1 ? [2, 0, 1] : [1, 2, 0];
      const to: [number, number, number] = [0, 0, 0];
      const centre: [number, number, number] = [0, 0, 0];
      to[u] = n[0] * unit;
      to[v] = n[1] * unit;
      to[w] = n[5] * unit;
      centre[u] = n[2] * unit;
      centre[v] = n[3] * unit;
      push("arc", to, { centre, sweep: sweepOf(at, to, centre, u, v, n[4]) });
    } else if (name === "DWELL") push("dwell", at, { seconds: n[0] });
    else {
      calls.push(call);
      if (name === "SET_FEED_RATE") feed = n[0] * unit;
      else if (name === "SELECT_PLANE") plane = PLANES[inside];
      else if (name === "USE_LENGTH_UNITS") {
        if (inside !== "CANON_UNITS_MM" && inside !== "CANON_UNITS_INCHES") throw new Error(`unknown units ${inside}`);
        unit = inside === "CANON_UNITS_MM" ? 1 : 25.4;
      }
    }
  }
  return { moves, calls };
}

/** ARC_FEED's `rotation`: +n is n - 1 whole turns and the arc counter-clockwise, -n the same clockwise. */
function sweepOf(
  from: readonly number[],
  to: readonly number[],
  centre: readonly number[],
  u: number,
  v: number,
  rotation: number,
): number {
  const d = Math.atan2(to[v] - centre[v], to[u] - centre[u]) - Math.atan2(from[v] - centre[v], from[u] - centre[u]);
  const turn = 2 * Math.PI;
  const once = rotation > 0 ? ((d % turn) + turn) % turn || turn : -(((-d % turn) + turn) % turn || turn);
  return once + Math.sign(rotation) * (Math.abs(rotation) - 1) * turn;
}
