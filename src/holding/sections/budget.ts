import { fitClearance } from "../../materials/fits.ts";
import type { MachineSpec } from "../../spec/types.ts";
import type { Mm } from "../../units/index.ts";
import { budgetOf } from "../budget/budget.ts";
import type { Sureness } from "../budget/neck.ts";
import type { Contributor, Outcome, OutcomeBudget } from "../budget/types.ts";

/*
 * The step at a seam, to first order. The same machine bores the index holes, and the pins' own seats, in one frame: the scale of its
 * axes moves holes, pins and programs alike and drops out of the step, and so does the zero, which stays where it is. What stays:
 *
 *   the pin's play in its hole at either end of the pair, across and along;
 *   where the machine came back to for holes and seats;
 *   a lean of the line of the pins (seats in the sub-plate are bored on the axis, so this is play and repeat over their distance);
 *   the height of the sub-plate where the blank lies now and where it lay.
 *
 * Over holes of a bed's grid the pins stand where the grid has them. The scale then moves the index holes against the pins by its share of
 * what the pins stand from the zero, the lean of the axes turns the blank by as much, and every seat has the grid's own error.
 */

export interface SeamShape {
  /** Distance of the two index holes across the blank. */
  readonly arm: Mm;
  /** From the holes' line back to the seam, and on to the end of the longest section behind it. */
  readonly toSeam: Mm;
  readonly toEnd: Mm;
  /** Slope of the neck's edge and of its back along x at the seam. */
  readonly edgeSlope: number;
  readonly backSlope: number;
  /** Half the neck's width at the seam. */
  readonly half: Mm;
  readonly pin: Mm;
  /** Pins over holes of a bed's grid: where the round hole's pin stands from the program's zero. Absent: in seats that this machine bored. */
  readonly overHoles?: { readonly along: Mm; readonly across: Mm };
}

/** Where a hole of a bed's grid stands against its place, half-width. */
const GRID_TRUE: Mm = 0.05;

/** Allowed step at a seam: a scraper and 150 grit take it out, common practice, no source. */
export const SEAM_STEP: Mm = 0.15;
/** Allowed bend of the neck's line over a section. */
export const SEAM_BEND: Mm = 0.3;
/** Largest step in what a fret stands from its place across a seam. */
export const SEAM_FRET: Mm = 0.1;

const PRACTICE = "common practice, no source";

/** Half the largest clearance of an H7 hole on a g6 pin; 0.02 where no row of the standard is known. */
export function pinPlay(pin: Mm): { readonly half: Mm; readonly source: string } {
  const fit = fitClearance(pin, "H7", "g6");
  return fit === undefined
    ? { half: 0.02, source: `${PRACTICE}; no row for this size` }
    : { half: fit.max / 2, source: `ISO 286, H7/g6 at ${pin} mm: half the largest clearance` };
}

/** What moves a seam's step, and by how much of itself. */
export function seamErrors(
  shape: SeamShape,
  machine: MachineSpec,
  known: Sureness & { readonly flat?: Mm } = {},
): { readonly contributors: readonly Contributor[]; readonly outcomes: readonly Outcome[] } {
  const play = pinPlay(shape.pin);
  const uniform = (id: string, says: string, half: number, source: string): Contributor => ({
    id,
    says,
    spread: { kind: "uniform", half },
    source,
  });
  const normal = (id: string, says: string): Contributor => ({
    id,
    says,
    spread: { kind: "normal", sigma: machine.repeat / 2 },
    source: "machine.repeat of the shop, as two deviations",
  });
  const scale = known.scale ?? 0.5;
  const square = known.square ?? 0.5;
  const grid = shape.overHoles;
  const seats = (id: string, way: string, which: string): Contributor[] =>
    grid === undefined
      ? [normal(id, `Where the ${which}'s seat was bored, ${way}`)]
      : [uniform(id, `Where the bed's hole of the ${which} stands, ${way}`, GRID_TRUE, PRACTICE)];
  const shared = grid === undefined ? " (shared by holes, pins and programs)" : "";
  const contributors: Contributor[] = [
    uniform("play-across", "Round index hole on its pin, across", play.half, play.source),
    uniform("play-along", "Round index hole on its pin, along", play.half, play.source),
    uniform("play-slot", "Index slot on its pin, along", play.half, play.source),
    normal("hole-across", "Where the round hole was bored, across"),
    normal("hole-along", "Where the round hole was bored, along"),
    normal("slot-along", "Where the slot was bored, along"),
    ...seats("seat-across", "across", "pin"),
    ...seats("seat-along", "along", "pin"),
    ...seats("seat-slot", "along", "second pin"),
    normal("cut-across", "Coming back to a place in the cut, across"),
    normal("cut-along", "Coming back to a place in the cut, along"),
    uniform("flat", "Height of the sub-plate between the two places", known.flat ?? 0.05, PRACTICE),
    // holes, seats and programs of one machine share scale and squareness: 0 is left of them; over a grid's holes the pins do not
    uniform("scale", `Scale of the axes, per metre${shared}`, scale, PRACTICE),
    uniform("square", `Squareness of the axes, per metre${shared}`, square, PRACTICE),
  ];
  // turn of the piece about the round hole: difference of the two holes along, over their distance across
  const turned = (arm: Mm): Record<string, number> => {
    const t = arm / shape.arm;
    const lean = grid === undefined ? {} : { square: arm / 1000 };
    return { "play-along": -t, "play-slot": t, "hole-along": t, "slot-along": -t, "seat-along": -t, "seat-slot": t, ...lean };
  };
  // the blank goes with seat and play, and against where its hole was bored; scale and lean move what is told, not a grid's holes
  const told = (u: Mm, v: Mm): Record<string, number> => (grid === undefined ? {} : { scale: u / 1000, square: v / 1000 });
  const [u, v] = [grid?.along ?? 0, grid?.across ?? 0];
  const across = { "play-across": 1, "hole-across": -1, "seat-across": 1, "cut-across": Math.SQRT2, ...told(v, 0) };
  const along = { "play-along": 1, "hole-along": -1, "seat-along": 1, "cut-along": Math.SQRT2, ...told(u, v) };
  const sum = (...parts: readonly Record<string, number>[]): Record<string, number> => {
    const out: Record<string, number> = { scale: 0, square: 0 };
    for (const p of parts) for (const [k, v] of Object.entries(p)) out[k] = (out[k] ?? 0) + v;
    return out;
  };
  const times = (p: Record<string, number>, by: number): Record<string, number> =>
    Object.fromEntries(Object.entries(p).map(([k, v]) => [k, v * by]));
  // the round hole lies by the datum edge: half the arm from the neck's middle
  const swing = turned(shape.arm / 2);
  const outcomes: Outcome[] = [
    {
      id: "seam-edge",
      says: "Step in the neck's edges at the seam",
      unit: "mm",
      limit: SEAM_STEP,
      sensitivity: sum(across, turned(shape.toSeam), times(sum(along, swing), shape.edgeSlope)),
    },
    {
      id: "seam-back",
      says: "Step in board and back at the seam",
      unit: "mm",
      limit: SEAM_STEP,
      sensitivity: sum({ flat: 1 }, times(sum(along, swing), shape.backSlope)),
    },
    {
      id: "seam-fret",
      says: "Frets of the two sections from each other",
      unit: "mm",
      limit: SEAM_FRET,
      sensitivity: sum(along, swing),
    },
    {
      id: "seam-bend",
      says: "Neck's line at the end of the section behind the seam",
      unit: "mm",
      limit: SEAM_BEND,
      sensitivity: sum(across, turned(shape.toEnd)),
    },
  ];
  return { contributors, outcomes };
}

/** Worst case, variances and seeded trials of a seam's step. */
export function seamBudget(
  shape: SeamShape,
  machine: MachineSpec,
  known: Sureness & { readonly flat?: Mm } = {},
  trials = 4000,
): readonly OutcomeBudget[] {
  const { contributors, outcomes } = seamErrors(shape, machine, known);
  return budgetOf(contributors, outcomes, trials);
}
