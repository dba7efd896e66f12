import fc from "fast-check";
import { readPattern, readSlot, readThickness, toProgram, trueOf } from "../src/holding/correct/machine.ts";
import { readScribe, seenFromScribe } from "../src/holding/correct/scribe.ts";
import { machine } from "../src/holding/holding.test-data.ts";
import { type InBlank, placementProblem } from "../src/holding/placement/neck.ts";
import { marginAt, place } from "../src/holding/placement/solve.ts";
import { planHolding } from "../src/holding/plan.ts";
import { apply } from "../src/holding/transform.ts";
import { flatten } from "../src/kernel/contour.ts";
import { guitar } from "../src/neck/fixture.test-data.ts";
import { makeNeck } from "../src/neck/neck.ts";
import { type Faults, faults, measurePattern, measureScribe, tenth } from "./machine.ts";

/* The closed loop: a faulty machine scribes, a maker reads to a tenth, the correction is worked out, the machine cuts again. */

const PATTERN = { along: 400, across: 150 };
const STATIONS = [-80, 60, 250, 440];

/**
 * What readings to a tenth can leave, worst case. Scale: the half step over the pattern. Square: both diagonals off by a half
 * step, (d 4 h) / (4 a b) with d^2 = a^2 + b^2. A place at (x, y): scale times x, lean times y.
 */
const HALF = 0.05;
const BUDGET = {
  x: (x: number, y: number): number =>
    1.05 *
    ((HALF / PATTERN.along) * Math.abs(x) +
      ((HALF * Math.hypot(PATTERN.along, PATTERN.across)) / (PATTERN.along * PATTERN.across)) * Math.abs(y)),
  y: (y: number): number => (1.05 * HALF * Math.abs(y)) / PATTERN.across,
  /** Margin: each edge's line is off by no more than about two half steps at the ends of the stations' span. */
  margin: 0.3,
  reading: HALF + 1e-9,
};

const AT: InBlank = { rotation: 0, ...planHolding(makeNeck(guitar), machine).placement };

interface TrueBlank {
  readonly x0: number;
  readonly y: (x: number) => number;
  readonly wide: number;
  readonly length: number;
}

/**
 * The correction that turns the neck too, carried through: the order with that placement is planned for both sides, the outline is cut
 * where its transforms put it, and what is left to the edges of the blank as it truly lies is held against what was promised and
 * against the best there is. The blank is turned as wood is turned: what the carve side's transform says must fall on the same places. Then
 * the new scribe is measured, and what it says must agree.
 */
function turnedAgain(
  f: Faults,
  promised: { readonly margin: number; readonly to: InBlank },
  blank: TrueBlank,
  best: number,
): readonly (readonly [string, number])[] {
  const { to } = promised;
  const order = { ...guitar, blank: { ...guitar.blank, ...to } };
  const neck = makeNeck(order);
  const { sides, findings } = planHolding(neck, machine);
  const tilt = Math.hypot(1, blank.y(1) - blank.y(0));
  const [first, other] = [sides.board.neckToProgram, sides.carve.neckToProgram];
  const flat = flatten(neck.outline, 0.01);
  let left = Number.POSITIVE_INFINITY;
  let off = 0;
  for (let k = 0; k < flat.length; k += 2) {
    const [x, y] = apply(first, flat[k], flat[k + 1], 0);
    const [u, v] = apply(other, flat[k], flat[k + 1], 0);
    off = Math.max(off, Math.abs(u - x), Math.abs(v + y));
    // in the frame of the neck as it was scribed first: along the bed, from the nut's middle
    const [px, py] = [x + blank.x0, y - AT.centreFromDatum];
    const fromEdge = (py - blank.y(px)) / tilt;
    left = Math.min(left, fromEdge, blank.wide / tilt - fromEdge);
  }
  // the same blank, seen from where the neck's nut lies now
  const slope = blank.y(1) - blank.y(0);
  const there = { ...f, blank: { ...f.blank, y: f.blank.y + slope * (to.tipFromEnd - AT.tipFromEnd) } };
  const again = readScribe(neck, to, measureScribe(neck, to, there, STATIONS));
  return [
    ["turn exact", off / 1e-9],
    ["planned", findings.some((q) => q.rule === "HO-007" || q.rule === "HO-013") ? 2 : 0],
    ["cut, of what was promised", (promised.margin - left) / BUDGET.margin],
    ["cut, of the best there is", (best - left) / BUDGET.margin],
    ["scribed again", again.ok ? Math.max(again.value.now - left, best - again.value.now) / BUDGET.margin : Number.POSITIVE_INFINITY],
  ];
}

export interface Trials {
  readonly trials: number;
  readonly within: number;
  /** Worst share of the budget that each kind of error took. */
  readonly worst: Readonly<Record<string, number>>;
}

export function correctedTrials(count: number, seed: number): Trials {
  const neck = makeNeck(guitar);
  const at = AT;
  const problem = placementProblem(neck);
  let within = 0;
  const worst: Record<string, number> = {};
  for (const f of fc.sample(faults, { seed, numRuns: count })) {
    let good = true;
    const see = (what: string, share: number): void => {
      worst[what] = Math.max(worst[what] ?? 0, share);
      if (!(share <= 1)) good = false;
    };
    const axes = readPattern(measurePattern(f, PATTERN.along, PATTERN.across));
    if (axes.ok)
      for (const fret of neck.features.frets)
        for (const end of [fret.bass, fret.treble]) {
          const [x, y] = trueOf(f.axes, ...toProgram(axes.value, end.x, end.y));
          see("fret x", Math.abs(x - end.x) / BUDGET.x(end.x, end.y));
          see("fret y", Math.abs(y - end.y) / BUDGET.y(end.y));
        }
    else see(axes.says, Number.POSITIVE_INFINITY);
    const slot = readSlot(6, tenth(6 + f.worn + f.runOut), null);
    if (slot.ok) see("cutter", Math.abs(slot.value.diameter - (6 + f.worn + f.runOut)) / BUDGET.reading);
    else see(slot.says, Number.POSITIVE_INFINITY);
    const high = readThickness(21, tenth(21 + f.high));
    if (high.ok) see("thickness", Math.abs(high.value - f.high) / BUDGET.reading);
    else see(high.says, Number.POSITIVE_INFINITY);
    const scribed = readScribe(neck, at, measureScribe(neck, at, f, STATIONS));
    if (scribed.ok) {
      // the margin in the blank as it truly lies, where the correction by sliding puts the neck
      const [t, { width, length }] = [Math.tan(f.blank.turn), neck.order.blank];
      const wide = width / Math.cos(f.blank.turn);
      const x0 = neck.places.tip - at.tipFromEnd;
      const y = (x: number): number => -at.centreFromDatum + f.blank.y + t * x;
      const blank = Float64Array.of(x0, y(x0), x0 + length, y(x0 + length), x0 + length, y(x0 + length) + wide, x0, y(x0) + wide);
      const { to, margin } = scribed.value.slid;
      const shift = { x: to.tipFromEnd - at.tipFromEnd, y: to.centreFromDatum - at.centreFromDatum };
      const lies = seenFromScribe(problem, blank);
      const real = marginAt(lies, { rotation: 0, shift }).margin;
      see("margin", Math.abs(real - margin) / BUDGET.margin);
      for (const [what, share] of turnedAgain(f, scribed.value.turned, { x0, y, wide, length }, place(lies).margin)) see(what, share);
    } else see(scribed.says, Number.POSITIVE_INFINITY);
    if (good) within++;
  }
  return { trials: count, within, worst };
}
