import type { Cutter, Machine } from "../cutting/types.ts";
import { bounds } from "../kernel/bounds.ts";
import { largestSine } from "../kernel/clock.ts";
import { MoveKind, type MoveList } from "../kernel/moves.ts";
import { type Finding, finding, type Rule } from "../units/index.ts";
import type { ReadProgram } from "./reader/index.ts";
import * as PF from "./rules.ts";
import type { ProofProgram, ProofSide } from "./types.ts";

/** Where the reader is told that a cutter stands at the start: nowhere a program would ever say. */
export const NOWHERE: readonly [number, number, number] = [-77777.777, -77777.777, 77777.777];

/** The controller may leave the path by this much and the proof still holds its own tolerances. */
const MOST_ROUNDING = 0.02;

/** Directions of short moves turn a little when their ends are rounded to the text's decimals. */
const ROUNDED = 1.02;

/**
 * Replaces the unknown place at the start: rapids that leave an axis where it was get the first value that the program gives
 * it. The list is changed in place. Says so when a program does not first set its height, then cross, then go down.
 */
export function settleStart(
  file: string,
  m: MoveList,
  highest: number,
): { readonly moves: MoveList; readonly findings: readonly Finding[] } {
  const first = (a: Float64Array, unknown: number): number => {
    for (let k = 0; k < m.count; k++) if (a[k] !== unknown) return k;
    return m.count;
  };
  const kx = first(m.x, NOWHERE[0]);
  const ky = first(m.y, NOWHERE[1]);
  const kz = first(m.z, NOWHERE[2]);
  const kxy = Math.max(kx, ky);
  let bad = -1;
  for (let k = 0; k <= Math.min(m.count - 1, Math.max(kxy, kz)); k++) {
    const rapid = m.kind[k] === MoveKind.rapid || m.kind[k] === MoveKind.dwell;
    const crosses = k >= Math.min(kx, ky);
    if (!rapid || (crosses && (k < kz || m.z[k] < highest))) {
      bad = k;
      break;
    }
  }
  if (bad < 0 && kz < m.count && m.z[kz] < highest) bad = kz;
  const set = (a: Float64Array, to: number): number => {
    const v = to < m.count ? a[to] : 0;
    for (let k = 0; k < to && k < m.count; k++) a[k] = v;
    return v;
  };
  const start: [number, number, number] = [set(m.x, kx), set(m.y, ky), set(m.z, kz)];
  const findings =
    bad < 0
      ? []
      : [
          say(
            PF.UNKNOWN_START,
            `${file}:${m.line[bad]}`,
            null,
            null,
            "",
            "Where the cutter stands at the start is unknown, but the program crosses or goes down before it has raised the cutter above everything.",
            "Begin with G0 and a safe Z, then X and Y.",
          ),
        ];
  return { moves: { ...m, start }, findings };
}

function say(
  rule: Rule,
  where: string,
  value: number | string | null,
  limit: number | string | null,
  unit: string,
  says: string,
  tryThis: string,
): Finding {
  return finding(rule, { where, value, limit, unit, says, tryThis });
}

/** What a program asks of spindle, cutter, controller and axes. */
export function checkMachineUse(
  p: ProofProgram,
  read: ReadProgram,
  moves: MoveList,
  cutter: Cutter,
  machine: Machine,
  side: ProofSide,
): Finding[] {
  const out: Finding[] = [];
  const at = (line: number): string => `${p.file}:${line}`;
  const once = new Set<string>();
  const add = (key: string, f: () => Finding): void => {
    if (once.has(key)) return;
    once.add(key);
    out.push(f());
  };
  let lengthSeen = false;
  let changed = false;
  const spindle: { move: number; rpm: number; line: number }[] = [];
  for (const e of read.events) {
    if (e.kind === "change") {
      changed = true;
      if (e.value !== p.cutter)
        add("change", () =>
          say(
            PF.CUTTER_CHANGE,
            at(e.line),
            e.value,
            p.cutter,
            "",
            `The program changes to cutter ${e.value}, but it is for cutter ${p.cutter}.`,
            "Check the T word, or make the programs again.",
          ),
        );
    } else if (e.kind === "length") {
      if (e.value !== 0) {
        lengthSeen = true;
        if (e.value !== p.cutter)
          add("length", () =>
            say(
              PF.LENGTH_OFFSET,
              at(e.line),
              e.value,
              p.cutter,
              "",
              `The program uses the length of cutter ${e.value}, but it is for cutter ${p.cutter}: every height would be wrong.`,
              "Make H the number of the cutter.",
            ),
          );
      }
    } else if (e.kind === "spindle") spindle.push({ move: e.move, rpm: e.value, line: e.line });
    else if (e.kind === "machine place")
      add("place", () =>
        say(
          PF.MACHINE_PLACE,
          at(e.line),
          null,
          null,
          "",
          "The program moves to a place of the machine (G28, G30 or G53), which no one here can know.",
          "Write places from the program's zero.",
        ),
      );
    else if (e.kind === "origin" && e.at !== undefined && e.at.some((v) => Math.abs(v) > 1e-9))
      add("origin", () =>
        say(PF.ORIGIN, at(e.line), null, null, "", "The program shifts its zero while it runs.", "Write all places from one zero (G54)."),
      );
    else if (e.kind === "optional line")
      add("optional", () =>
        say(
          PF.OPTIONAL_LINE,
          at(e.line),
          null,
          null,
          "",
          "Lines that begin with a slash run or not, as a switch at the machine stands; the proof ran them.",
          "Remove the slashes, or the lines.",
        ),
      );
    else if (e.kind === "path" && (e.value < 0 || e.value > MOST_ROUNDING))
      add("path", () =>
        say(
          PF.PATH_TOLERANCE,
          at(e.line),
          e.value < 0 ? "unbounded" : e.value,
          MOST_ROUNDING,
          "mm",
          "The controller may leave the path by more than the proof can allow for (G64).",
          "Write G61, or G64 with P 0.02 or less.",
        ),
      );
  }
  if (machine.controller.dialect === "full" && changed && !lengthSeen)
    add("length", () =>
      say(
        PF.LENGTH_OFFSET,
        p.file,
        null,
        p.cutter,
        "",
        "The program changes the cutter but asks for no length offset (G43).",
        "Write G43 H with the cutter's number after the change.",
      ),
    );
  const feeds = [machine.feed.x, machine.feed.y, machine.feed.z];
  let s = 0;
  let rpm = 0;
  let cuts = 0;
  let [px, py, pz] = moves.start;
  for (let k = 0; k < moves.count; k++) {
    while (s < spindle.length && spindle[s].move <= k) rpm = spindle[s++].rpm;
    const kind = moves.kind[k];
    if (kind === MoveKind.line || kind === MoveKind.arc) {
      cuts++;
      const line = moves.line[k];
      if (!(rpm > 0))
        add("off", () =>
          say(
            PF.SPINDLE_OFF,
            at(line),
            rpm,
            null,
            "rpm",
            rpm < 0 ? "The spindle turns backward while the cutter feeds." : "The cutter feeds while the spindle stands still.",
            "Start the spindle with S and M3 before the first feed move.",
          ),
        );
      else if (rpm > cutter.maxRpm || rpm > machine.spindle.max || rpm < machine.spindle.min)
        add("rpm", () => {
          const limit = rpm < machine.spindle.min ? machine.spindle.min : Math.min(cutter.maxRpm, machine.spindle.max);
          return say(
            PF.SPINDLE_SPEED,
            at(line),
            rpm,
            limit,
            "rpm",
            `The spindle is asked for ${rpm} rpm; the ${rpm < limit ? "least" : "most"} is ${limit}.`,
            "Mend the S word, or the conditions in the shop file.",
          );
        });
      const d = [moves.x[k] - px, moves.y[k] - py, moves.z[k] - pz];
      const length = Math.hypot(d[0], d[1], d[2]);
      const v = moves.feed[k];
      const shares = kind === MoveKind.arc ? arcShares(moves, k, px, py, pz) : d;
      for (let a = 0; a < 3; a++) {
        const share = kind === MoveKind.line ? (length > 1e-9 ? Math.abs(d[a]) / length : 0) : shares[a];
        if (v * share > feeds[a] * ROUNDED)
          add(`feed${a}`, () =>
            say(
              PF.FEED_LIMIT,
              at(line),
              v * share * 60,
              feeds[a] * 60,
              "mm/min",
              `The ${"XYZ"[a]} axis is asked for ${(v * share * 60).toFixed(0)} mm/min; its most is ${(feeds[a] * 60).toFixed(0)}.`,
              "Lower F; the machine would slow down by itself, and chips grow thin.",
            ),
          );
      }
    }
    px = moves.x[k];
    py = moves.y[k];
    pz = moves.z[k];
  }
  if (cuts === 0)
    add("empty", () => say(PF.EMPTY_PROGRAM, p.file, 0, 1, "moves", "The program cuts nothing.", "Check that the file is whole."));
  out.push(...checkTravel(p, moves, machine, side));
  return out;
}

/** Largest share of an arc's feed that each axis takes anywhere along it. */
function arcShares(m: MoveList, k: number, px: number, py: number, pz: number): [number, number, number] {
  const plane = m.plane[k];
  const u = plane === 0 ? px - m.cx[k] : plane === 1 ? pz - m.cz[k] : py - m.cy[k];
  const v = plane === 0 ? py - m.cy[k] : plane === 1 ? px - m.cx[k] : pz - m.cz[k];
  const rise = plane === 0 ? m.z[k] - pz : plane === 1 ? m.y[k] - py : m.x[k] - px;
  const flat = Math.hypot(u, v) * Math.abs(m.sweep[k]);
  const length = Math.hypot(flat, rise);
  if (!(length > 1e-9)) return [0, 0, 0];
  const a0 = Math.atan2(v, u);
  const a1 = a0 + m.sweep[k];
  const su = (flat / length) * largestSine(a0, a1);
  const sv = (flat / length) * largestSine(a0 + Math.PI / 2, a1 + Math.PI / 2);
  const sw = Math.abs(rise) / length;
  return plane === 0 ? [su, sv, sw] : plane === 1 ? [sv, sw, su] : [sw, su, sv];
}

function checkTravel(p: ProofProgram, moves: MoveList, machine: Machine, side: ProofSide): Finding[] {
  if (moves.count === 0) return [];
  const out: Finding[] = [];
  const box = bounds(moves);
  const travel = [machine.travel.x, machine.travel.y, machine.travel.z];
  for (let a = 0; a < 2; a++) {
    const lo = box.min[a] + side.zeroOnBed[a];
    const hi = box.max[a] + side.zeroOnBed[a];
    if (lo >= -1e-6 && hi <= travel[a] + 1e-6) continue;
    const worst = lo < 0 ? lo : hi;
    out.push(
      say(
        PF.TRAVEL,
        p.file,
        worst,
        lo < 0 ? 0 : travel[a],
        "mm",
        `The program goes to ${worst.toFixed(1)} mm along the machine's ${"XY"[a]}, outside its travel of 0 to ${travel[a]} mm.`,
        "Move the zero on the bed, or use a larger machine.",
      ),
    );
  }
  const height = box.max[2] - Math.min(box.min[2], side.bed);
  if (height > travel[2] + 1e-6)
    out.push(
      say(
        PF.TRAVEL,
        p.file,
        height,
        travel[2],
        "mm",
        `The program needs ${height.toFixed(1)} mm of Z from the bed up; the machine has ${travel[2]}.`,
        "Lower the clearance, or use a machine with more travel.",
      ),
    );
  return out;
}
