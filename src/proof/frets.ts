import { MoveKind } from "../kernel/moves.ts";
import type { FretSlot, Neck } from "../neck/types.ts";
import { slotLimits } from "./compare-place.ts";
import type { Gauge } from "./gauge.ts";
import { chords, wallAt } from "./probe.ts";
import * as PF from "./rules.ts";
import type { Reading, SimulatedProgram } from "./simulate.ts";

/** Where a slot is looked at, as a share of its length. */
const STATIONS = [0.08, 0.5, 0.92] as const;
/** Tolerances of a slot, mm: centreline in the program and in the wood, width, depth, blind ends. */
const IN_PROGRAM = 0.005;
const IN_WOOD = 0.02;
const END = 0.05;

interface Line {
  readonly slot: FretSlot;
  readonly length: number;
  /** Along the slot, and across it toward the bridge. */
  readonly ux: number;
  readonly uy: number;
  readonly nx: number;
  readonly ny: number;
}

function lineOf(slot: FretSlot): Line {
  const length = Math.hypot(slot.treble.x - slot.bass.x, slot.treble.y - slot.bass.y);
  const ux = (slot.treble.x - slot.bass.x) / length;
  const uy = (slot.treble.y - slot.bass.y) / length;
  const sign = uy >= 0 ? 1 : -1;
  return { slot, length, ux, uy, nx: sign * uy, ny: -sign * ux };
}

/** Measures every fret slot twice: from the program's own words, and from what is left of the wood. */
export function measureFrets(gauge: Gauge, sim: Reading, neck: Neck): void {
  const lines = neck.features.frets.map(lineOf);
  const offsets = programOffsets(sim.programs, lines, gauge, neck);
  const { below: floor } = slotLimits(neck);
  lines.forEach((line, n) => {
    const { slot } = line;
    const exact = neck.fretAt(slot.number);
    const middle = { x: (slot.bass.x + slot.treble.x) / 2, y: (slot.bass.y + slot.treble.y) / 2 };
    const found = inWood(gauge, neck, line);
    if (found === null) {
      gauge.missing(PF.FRET_MISSING, slot.id, `${slot.id} is not cut where it belongs, ${exact.toFixed(3)} mm from the nut.`, middle);
      return;
    }
    const mm = (what: string, ordered: number, measured: number, tolerance: number): Parameters<Gauge["measure"]>[1] => ({
      id: slot.id,
      what,
      unit: "mm",
      ordered,
      measured,
      tolerance,
    });
    gauge.measure(PF.FRET_PROGRAM, mm("centreline in the program", exact, exact + offsets[n], IN_PROGRAM), middle);
    gauge.measure(PF.FRET_PLACE, mm("centreline in the wood", exact, exact + found.off, IN_WOOD), middle);
    gauge.measure(PF.FRET_SHAPE, mm("width", slot.kerf, found.width, 0.02), middle);
    gauge.measure(PF.FRET_SHAPE, mm("depth below the board", slot.depth, found.depth, floor), middle);
    for (const end of found.ends) gauge.measure(PF.FRET_SHAPE, mm(`${end.name} end, past the ordered one`, 0, end.past, END), middle);
  });
}

/** Middle between the outermost ways of the cutter's centre in each slot, against the exact line; NaN where there is none. */
function programOffsets(programs: readonly SimulatedProgram[], lines: readonly Line[], gauge: Gauge, neck: Neck): number[] {
  const low = lines.map(() => Number.POSITIVE_INFINITY);
  const high = lines.map(() => Number.NEGATIVE_INFINITY);
  const { frame } = gauge;
  for (const { moves: m, tool } of programs) {
    if (lines.length === 0 || 2 * tool.radius > lines[0].slot.kerf + 0.02) continue;
    const piece = (ax: number, ay: number, bx: number, by: number, z: number): void => {
      const [px, py] = frame.neckXY(ax, ay);
      const [x, y] = frame.neckXY(bx, by);
      for (let n = 0; n < lines.length; n++) {
        const l = lines[n];
        const { slot } = l;
        const a = (px - slot.bass.x) * l.nx + (py - slot.bass.y) * l.ny;
        const b = (x - slot.bass.x) * l.nx + (y - slot.bass.y) * l.ny;
        if (Math.abs(a) > 0.6 || Math.abs(b) > 0.6) continue;
        const along = (x - slot.bass.x) * l.ux + (y - slot.bass.y) * l.uy;
        if (along < -5 || along > l.length + 5) continue;
        // in the wood, not above it
        if (frame.neckZ(z) > neck.boardTop(x, y) - 0.2 * slot.depth) continue;
        low[n] = Math.min(low[n], a, b);
        high[n] = Math.max(high[n], a, b);
      }
    };
    for (let k = 0; k < m.count; k++) {
      const [ax, ay, az] = k > 0 ? [m.x[k - 1], m.y[k - 1], m.z[k - 1]] : m.start;
      if (m.kind[k] === MoveKind.line) piece(ax, ay, m.x[k], m.y[k], m.z[k]);
      else if (m.kind[k] === MoveKind.arc) chords(m, k, ax, ay, az, 0.0005, (px, py, _pz, qx, qy, qz) => piece(px, py, qx, qy, qz));
    }
  }
  return low.map((l, n) => (l + high[n]) / 2);
}

interface InWood {
  /** Of the centreline, the farthest from the exact one at any station. */
  readonly off: number;
  readonly width: number;
  readonly depth: number;
  readonly ends: readonly { readonly name: string; readonly past: number }[];
}

function inWood(gauge: Gauge, neck: Neck, l: Line): InWood | null {
  const { slot } = l;
  const { frame } = gauge;
  let off = 0;
  let width = slot.kerf;
  let depth = slot.depth;
  for (const share of STATIONS) {
    const x = slot.bass.x + l.ux * l.length * share;
    const y = slot.bass.y + l.uy * l.length * share;
    const ground = gauge.ground(x, y, slot.kerf + 1);
    const across = (s: number): number => ground(x + l.nx * s, y + l.ny * s);
    const surface = neck.boardTop(x, y);
    const level = frame.z(surface - slot.depth / 2);
    const far = slot.kerf / 2 + 0.5;
    const plus = wallAt(across, level, far, 0, 0.02);
    const minus = wallAt(across, level, -far, 0, 0.02);
    if (Number.isNaN(plus) || Number.isNaN(minus)) return null;
    const o = (plus + minus) / 2;
    if (Math.abs(o) > Math.abs(off)) off = o;
    if (Math.abs(plus - minus - slot.kerf) > Math.abs(width - slot.kerf)) width = plus - minus;
    const d = surface - frame.neckZ(across(o));
    if (Math.abs(d - slot.depth) > Math.abs(depth - slot.depth)) depth = d;
  }
  return { off, width, depth, ends: [endOf(gauge, neck, l, "bass"), endOf(gauge, neck, l, "treble")] };
}

/** How far the slot runs past its ordered end; a through slot that opens at the edge counts as 0. */
function endOf(gauge: Gauge, neck: Neck, l: Line, name: "bass" | "treble"): { readonly name: string; readonly past: number } {
  const { slot } = l;
  const end = slot[name];
  const sign = name === "bass" ? -1 : 1;
  const ground = gauge.ground(end.x, end.y, slot.kerf + 2);
  const along = (s: number): number => ground(end.x + sign * l.ux * s, end.y + sign * l.uy * s);
  const level = gauge.frame.z(neck.boardTop(end.x, end.y) - slot.depth / 2);
  if (slot.ends === "through") {
    const open = gauge.frame.z(neck.boardTop(end.x, end.y) - slot.depth) + 0.02;
    if (along(0) <= open && along(-0.2) <= open) return { name, past: 0 };
    const at = wallAt(along, level, 1, -slot.kerf * 2, 0.02);
    return { name, past: Number.isNaN(at) ? -slot.kerf * 2 : Math.min(0, at) };
  }
  return { name, past: wallAt(along, level, 1.5, -slot.kerf, 0.02) };
}
