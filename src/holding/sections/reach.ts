import { flatten } from "../../kernel/contour.ts";
import type { Neck } from "../../neck/types.ts";
import type { MachineSpec } from "../../spec/types.ts";
import type { Mm } from "../../units/index.ts";
import { SWATH } from "../extent.ts";
import { congruent, rowOf } from "../grid.ts";
import type { Holding, Side, SideName } from "../types.ts";
import { inBlankOf } from "../where.ts";

/** A tip stays so far inside the travel's ends. */
export const INSIDE: Mm = 1;

/** Distances along the blank that the machine must reach, and what of them one setting reaches. */
export interface Reach {
  /** Of the bed and the travel the shorter; of both sides, where a grid of holes puts their zeros differently. */
  readonly span: Mm;
  readonly first: Mm;
  readonly last: Mm;
  /** Bed's left end in section 1, along the blank. */
  readonly start: Mm;
  /** Where each side's zero lies along the bed, from the bed's corner. */
  readonly zero: Readonly<Record<SideName, Mm>>;
}

/** Maps places along and across the blank to a side's program frame. */
export interface BlankFrame {
  readonly turned: boolean;
  readonly along: 1 | -1;
  readonly up: 1 | -1;
  readonly xy: (along: Mm, across: Mm) => readonly [Mm, Mm];
}

/** The program frame's origin is where datum edge and end stop meet, so stock bounds tell where the blank lies from there. */
export function blankFrame(side: Pick<Side, "stock" | "neckToProgram">): BlankFrame {
  const turned = Math.abs(side.neckToProgram[0]) < 0.5;
  const { min, max } = side.stock;
  const along = turned ? (max[1] > 0 ? 1 : -1) : max[0] > 0 ? 1 : -1;
  const up = turned ? (min[0] < 0 ? 1 : -1) : max[1] > 0 ? 1 : -1;
  return { turned, along, up, xy: (u, v) => (turned ? [-up * v + 0, along * u] : [along * u, up * v]) };
}

/**
 * What one setting reaches. On a plain bed the end stop stands by the bed's end; on one with a grid in the first column of holes that has
 * room for it. Null where the grid has no such column.
 */
export function reachOf(neck: Neck, machine: MachineSpec, plan: Holding): Reach | null {
  const long = Math.min(machine.bed[machine.along], machine.travel[machine.along]);
  const { diameter } = neck.order.holding.pin;
  const at = inBlankOf(neck, plan.placement);
  const p = neck.places;
  let [first, last] = [at.along(p.tip, 0), at.along(Math.max(p.end, p.shaftEnd), 0)];
  if (plan.placement.rotation !== undefined) {
    const flat = flatten(neck.outline, 0.02);
    const us = Array.from({ length: flat.length / 2 }, (_, k) => at.along(flat[2 * k], flat[2 * k + 1]));
    [first, last] = [Math.min(...us), Math.max(last, ...us)];
  }
  const ends = (["board", "carve"] as const).map((name) => {
    const { along } = blankFrame(plan.sides[name]);
    if (machine.grid === undefined) {
      const start = -(diameter + INSIDE);
      return { start, end: start + long, zero: along > 0 ? -start : start + long };
    }
    const row = rowOf(machine.grid, machine.along, machine.bed[machine.along]);
    const room = diameter / 2 + INSIDE;
    const n = along > 0 ? Math.ceil((room - row.first) / row.pitch - 1e-9) : Math.floor((long - room - row.first) / row.pitch + 1e-9);
    const column = along > 0 ? Math.max(0, n) : Math.min(row.count - 1, n);
    if (column < 0 || column >= row.count) return null;
    const zero = row.first + column * row.pitch + (along * diameter) / 2;
    return along > 0 ? { start: -zero, end: long - zero, zero } : { start: zero - long, end: zero, zero };
  });
  const [board, carve] = ends;
  if (board === null || carve === null) return null;
  const start = Math.max(board.start, carve.start);
  return {
    span: Math.min(board.end, carve.end) - start,
    first: first - SWATH,
    last: last + SWATH,
    start,
    zero: { board: board.zero, carve: carve.zero },
  };
}

/** Where a side's zero lies across a bed with a grid: rows of holes pass a pin's radius beside the datum edge, the blank about the bed's middle. */
export function zeroAcross(neck: Neck, machine: MachineSpec, side: Side): Mm | null {
  if (machine.grid === undefined) return null;
  const { turned, up } = blankFrame(side);
  const axis = turned ? "x" : "y";
  const sign = turned ? -up : up;
  const row = rowOf(machine.grid, axis, machine.bed[axis]);
  const { pin } = neck.order.holding;
  return congruent(machine.bed[axis] / 2 - (sign * neck.order.blank.width) / 2, row.first + (sign * pin.diameter) / 2, row.pitch);
}

/** Holes of the bed as a blank lies over them in one setting: along from its headstock end, across from its datum edge. */
export interface Lattice {
  readonly columns: readonly Mm[];
  readonly rows: readonly Mm[];
  /** Diameter of the bolts that go into them. */
  readonly bolt: Mm;
}

export function latticeOf(
  neck: Neck,
  machine: MachineSpec,
  side: Side,
  reach: Reach,
  shift: readonly [along: Mm, across: Mm],
): Lattice | null {
  const zero = zeroAcross(neck, machine, side);
  if (machine.grid === undefined || zero === null) return null;
  const { turned, along, up } = blankFrame(side);
  const across = turned ? "x" : "y";
  const sign = turned ? -up : up;
  const [g, h] = [rowOf(machine.grid, machine.along, machine.bed[machine.along]), rowOf(machine.grid, across, machine.bed[across])];
  const places = (n: number, of: (k: number) => Mm): Mm[] => Array.from({ length: n }, (_, k) => of(k)).sort((a, b) => a - b);
  return {
    columns: places(g.count, (k) => along * (g.first + k * g.pitch - reach.zero[side.name]) + shift[0]),
    rows: places(h.count, (k) => sign * (h.first + k * h.pitch - zero) + shift[1]),
    bolt: machine.grid.diameter,
  };
}
