import fc from "fast-check";
import { neckBudget } from "../src/holding/budget/neck.ts";
import { centsOfScale, readPattern, readSlot, readThickness } from "../src/holding/correct/machine.ts";
import { readMarks } from "../src/holding/correct/piece.ts";
import { realOf } from "../src/holding/correct/posting.ts";
import { machine } from "../src/holding/holding.test-data.ts";
import { planHolding } from "../src/holding/plan.ts";
import { apply, inverse } from "../src/holding/transform.ts";
import type { SideName } from "../src/holding/types.ts";
import { type Affine, inverseAffine, mapPoint } from "../src/kernel/map-moves.ts";
import { guitar } from "../src/neck/fixture.test-data.ts";
import { makeNeck } from "../src/neck/neck.ts";
import type { OrderCorrection } from "../src/spec/corrections.ts";
import { type Faults, faults, madeBy, measurePattern, type TurnFaults, tenth, turnFaults } from "./machine.ts";

/*
 * The whole loop on the places that the programs of a neck go to: a faulty machine cuts them; a maker measures a pattern, then a slot, then
 * the step at two marks and the thickness, each to a tenth; the corrections are stored as the command stores them; the programs
 * are posted through their inverse and the same machine cuts again. What comes out is held to the limits of the neck's error budget.
 */

const PATTERN = { along: 400, across: 150 };
const IDENTITY: Affine = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0];
const SIDES: readonly SideName[] = ["board", "carve"];
type P = readonly [number, number, number];

export interface LoopTrials {
  readonly trials: number;
  readonly within: number;
  /** Of the same machines before anything was measured. */
  readonly withinBefore: number;
  /** Readings that were refused, with the sentence. */
  readonly refused: readonly string[];
  /** Largest share of each limit after the correction. */
  readonly worst: Readonly<Record<string, number>>;
}

export function postedTrials(count: number, seed: number): LoopTrials {
  const neck = makeNeck(guitar);
  const holding = planHolding(neck, machine);
  const limit = Object.fromEntries(neckBudget(neck, machine, {}, 10).outcomes.map((o) => [o.id, o.limit]));
  const { frets } = neck.features;
  const stations = [neck.places.tip + 5, 0, 100, 250, neck.places.end - 5];
  const edge = stations.flatMap((x) => neck.edges(x).map((y): P => [x, y, -3]));
  // marks that both sides cut, in the waste near both ends
  const marks: readonly P[] = [
    [neck.places.tip + 20, 0, 0],
    [neck.places.end - 20, 0, 0],
  ];
  /** Where a place of the neck comes to lie in the neck's frame, cut from a side through what was posted. */
  const cut = (side: SideName, made: Affine, real: Affine | undefined, p: P): P => {
    const t = holding.sides[side].neckToProgram;
    return apply(inverse(t), ...mapPoint(made, ...mapPoint(inverseAffine(real ?? IDENTITY), ...apply(t, ...p))));
  };
  const errors = (
    f: Faults,
    t: TurnFaults,
    real: (side: SideName) => Affine | undefined,
    width: number,
  ): Readonly<Record<string, number>> => {
    const at = (side: SideName, p: P): P => cut(side, madeBy(f, t, side), real(side), p);
    const nut = at("board", [0, 0, 0]);
    const along = (x: number): number => at("board", [x, 0, 0])[0] - nut[0];
    const last = frets[frets.length - 1]!;
    const ends = [last.bass, last.treble].map((e) => Math.abs(at("board", [e.x, e.y, 0])[0] - nut[0] - e.x));
    const steps = edge.map((p) => {
      const [a, b] = [at("board", p), at("carve", p)];
      return Math.hypot(a[0] - b[0], a[1] - b[1]);
    });
    const thick = stations.map((x) => Math.abs(at("board", [x, 0, 5])[2] - at("carve", [x, 0, -15])[2] - 20));
    const d = neck.fretAt(12);
    return {
      fret: Math.max(...ends),
      cents: Math.abs(centsOfScale(along(d) / d, 12)),
      step: Math.max(...steps) + Math.abs(width),
      thickness: Math.max(...thick),
    };
  };
  let within = 0;
  let withinBefore = 0;
  const refused: string[] = [];
  const worst: Record<string, number> = {};
  const both = fc.sample(fc.tuple(faults, turnFaults), { seed, numRuns: count });
  for (const [f, t] of both) {
    const before = errors(f, t, () => undefined, f.worn + f.runOut);
    if (Object.entries(before).every(([id, v]) => v <= limit[id]!)) withinBefore++;
    // the machine, from a pattern and a slot
    const axes = readPattern(measurePattern(f, PATTERN.along, PATTERN.across));
    const slot = readSlot(6, tenth(6 + f.worn + f.runOut), null);
    if (!axes.ok || !slot.ok) {
      refused.push(axes.ok ? (slot.ok ? "" : slot.says) : axes.says);
      continue;
    }
    const real = { x: axes.value.x, y: axes.value.y, z: 1, square: axes.value.square };
    const day = { date: "2026-03-31", reason: "trial" };
    const posted = (c: readonly OrderCorrection[]) => (side: SideName) => realOf({ real }, c, side);
    // then the piece, cut with that: each side's first pass, and the step at the marks in the carve program's frame
    const corrections: OrderCorrection[] = [];
    for (const side of SIDES) {
      const by = readThickness(20, tenth(20 + t.high[side]));
      if (by.ok && by.value !== 0) corrections.push({ kind: "height", side, by: by.value, ...day });
    }
    const carve = holding.sides.carve.neckToProgram;
    const read = readMarks(
      marks.map((m) => {
        const [a, b] = SIDES.map((s) => apply(carve, ...cut(s, madeBy(f, t, s), posted(corrections)(s), m)));
        const [x, y] = apply(carve, ...m);
        return { x: tenth(x), y: tenth(y), dx: tenth(b![0] - a![0]), dy: tenth(b![1] - a![1]) };
      }),
    );
    if (read.ok) corrections.push({ kind: "turn", ...read.value, ...day });
    else refused.push(read.says);
    const after = errors(f, t, posted(corrections), f.worn + f.runOut - (slot.value.diameter - 6));
    for (const [id, v] of Object.entries(after)) worst[id] = Math.max(worst[id] ?? 0, v / limit[id]!);
    if (Object.entries(after).every(([id, v]) => v <= limit[id]!)) within++;
  }
  return { trials: count, within, withinBefore, refused, worst };
}
