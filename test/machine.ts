import fc from "fast-check";
import { type PatternReading, trueOf } from "../src/holding/correct/machine.ts";
import type { StationReading } from "../src/holding/correct/types.ts";
import { type InBlank, upOf } from "../src/holding/placement/neck.ts";
import type { Affine } from "../src/kernel/map-moves.ts";
import type { Neck } from "../src/neck/types.ts";

/*
 * A machine that does not do what it is told: its axes are out of scale and out of square, the blank lies elsewhere, the cutter is
 * worn; and a maker beside it who reads to a tenth of a millimetre. Everything is drawn from stated ranges with a seed.
 */

export interface Faults {
  /** True way per programmed way; y leans toward +x by `square`. */
  readonly axes: { readonly x: number; readonly y: number; readonly square: number };
  /** The blank lies this far from where the plan has it, at the nut, and askew. */
  readonly blank: { readonly y: number; readonly turn: number };
  /** What the cutter is really wide, less its name. */
  readonly worn: number;
  /** What running out of true adds to a slot. */
  readonly runOut: number;
  /** Zero of z: what comes out too high. */
  readonly high: number;
}

/** Evenly spread: doubles of the generator itself crowd around 0. */
export const between = (min: number, max: number): fc.Arbitrary<number> =>
  fc.integer({ min: 0, max: 1_000_000 }).map((k) => min + ((max - min) * k) / 1_000_000);

/** Scale within 0.5 %, squareness within 0.3 degrees, blank within 6 mm and 0.6 degrees, a cutter worn by up to 0.15 mm. */
export const faults: fc.Arbitrary<Faults> = fc.record({
  axes: fc.record({ x: between(0.995, 1.005), y: between(0.995, 1.005), square: between(-0.005, 0.005) }),
  blank: fc.record({ y: between(-6, 6), turn: between(-0.01, 0.01) }),
  worn: between(-0.15, 0),
  runOut: between(0, 0.05),
  high: between(-0.6, 0.6),
});

/** Read with a rule to a tenth. */
export const tenth = (v: number): number => Math.round(v * 10) / 10;

/** The six readings of a scribed rectangle. */
export function measurePattern(f: Faults, along: number, across: number): PatternReading {
  const corner = (x: number, y: number): readonly [number, number] => trueOf(f.axes, x, y);
  const d = (a: readonly [number, number], b: readonly [number, number]): number => tenth(Math.hypot(a[0] - b[0], a[1] - b[1]));
  const [o, a, b, c] = [corner(0, 0), corner(along, 0), corner(along, across), corner(0, across)];
  return { along, across, x: [d(o, a), d(c, b)], y: [d(o, c), d(a, b)], diagonals: [d(o, b), d(a, c)] };
}

/** Distances from the scribed outline to the blank's edges, the blank lying askew by the faults; also the blank's true edges. */
export function measureScribe(neck: Neck, at: InBlank, f: Faults, stations: readonly number[]): readonly StationReading[] {
  const up = upOf(neck);
  const { width } = neck.order.blank;
  const t = Math.tan(f.blank.turn);
  const wide = width / Math.cos(f.blank.turn);
  const [cos, sin] = [Math.cos(at.rotation), Math.sin(at.rotation)];
  return stations.map((x) => {
    const [lo, hi] =
      up > 0
        ? neck.edges(x)
        : (neck
            .edges(x)
            .map((v) => -v)
            .reverse() as [number, number]);
    // square to the neck, however it lies: where the edge y = a + t x of the frame along the bed meets the line through this station
    const meets = (a: number): number => (a + (t * cos - sin) * x) / (cos + t * sin);
    const edge = -at.centreFromDatum + f.blank.y;
    return { x, near: tenth(lo - meets(edge)), far: tenth(meets(edge + wide) - hi) };
  });
}

/**
 * What a piece meets beside: after the turn it lies elsewhere and askew (carve program's frame: turned about the zero, then shifted), and
 * each side's zero of z is off.
 */
export interface TurnFaults {
  readonly turn: { readonly x: number; readonly y: number; readonly angle: number };
  readonly high: { readonly board: number; readonly carve: number };
}

/** Where two pins stand along a blank, about. */
const PINS = [84, 616] as const;

/** A wrong turn-over: off by up to 1.5 mm at the stop and at each of two pins (and so askew by up to 0.32 degrees); zeros of z within 0.6 mm. */
export const turnFaults: fc.Arbitrary<TurnFaults> = fc.record({
  turn: fc.record({ x: between(-1.5, 1.5), near: between(-1.5, 1.5), far: between(-1.5, 1.5) }).map(({ x, near, far }) => {
    const slope = (far - near) / (PINS[1] - PINS[0]);
    return { x, y: near - slope * PINS[0], angle: Math.atan(slope) };
  }),
  high: fc.record({ board: between(-0.6, 0.6), carve: between(-0.6, 0.6) }),
});

/** What this machine makes of a side's program, as a map of its frame. */
export function madeBy(f: Faults, t: TurnFaults, side: "board" | "carve"): Affine {
  const { x, y, angle } = side === "carve" ? t.turn : { x: 0, y: 0, angle: 0 };
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const [a, b, d] = [f.axes.x, Math.tan(f.axes.square) * f.axes.y, f.axes.y];
  return [c * a, c * b - s * d, 0, x, s * a, s * b + c * d, 0, y, 0, 0, 1, t.high[side]];
}
