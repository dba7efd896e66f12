import type { Mm } from "../units/index.ts";
import { FIRST_FREE, type Kernels, kernelInUse, openArena } from "./wasm/load.ts";

/*
 * How far columns of cells lie off a surface that is wanted, along its normal as two neighbouring columns and rows give it, with the count of it:
 * the inner loop of the comparison. WebAssembly and plain TypeScript compute in Float64, in the same order, and give the same to the last bit.
 */

/** Bins of a histogram, half a micrometre each, and one for all that is more. */
export const BINS = 2000;
export const BIN: Mm = 0.0005;
/** Columns worked on together: their cells of a row share a line or two of the cache. */
export const TOGETHER = 32;
/** Kinds of surface that can be counted apart. */
export const SLOTS = 16;
/** Numbers of a tally before its histogram, and all of them. */
const HEAD = 12;
const TALLY: number = HEAD + BINS + 1;

/** What was found of one kind of surface. Heights mm; places by column and row. */
export interface DeviationTally {
  readonly cells: number;
  readonly below: Mm;
  readonly above: Mm;
  readonly sum: Mm;
  readonly belowCount: number;
  readonly aboveCount: number;
  readonly belowAt: readonly [number, number];
  readonly aboveAt: readonly [number, number];
  readonly histogram: Float64Array;
}

export interface DeviationScale {
  /** +1 or -1: whether more of the map's height is more wood on the side looked at, and the height that is 0 there. */
  readonly up: 1 | -1;
  readonly zero: Mm;
  /** Twice the cell, and how much a slope may turn by in a cell. */
  readonly step: Mm;
  readonly crease: Mm;
}

/** Scratch for columns of at most `rows` cells, and what counts them. */
export interface Deviation {
  /** Rows from one column to the next. */
  readonly stride: number;
  /** Heights of TOGETHER columns, and what they lie off. */
  readonly got: Float32Array;
  readonly out: Float32Array;
  /** Three columns of what is wanted; NaN where nothing is. */
  readonly want: Float64Array;
  /** Rows that a call left to its caller: too steep, at a crease, or at an end of what is wanted. */
  readonly hard: Int32Array;
  /** Begins the count of a kind of surface. */
  begin(slot: number, limitBelow: Mm, limitAbove: Mm): void;
  /** Compares rows a..b (1 at least, the last but one at most) of column `lane`; `before`, `here`, `after`: of `want`. Gives how many rows are left in `hard`. */
  column(slot: number, station: number, lane: number, before: number, here: number, after: number, a: number, b: number): number;
  tally(slot: number): DeviationTally;
}

interface Memory extends Pick<Deviation, "got" | "out" | "want" | "hard"> {
  readonly tallies: Float64Array;
}

type Column = (slot: number, station: number, lane: number, before: number, here: number, after: number, a: number, b: number) => number;

/** Memory that is kept from call to call; nothing of one is read by the next. */
let kept: {
  readonly stride: number;
  readonly memory: Memory;

  readonly run: Kernels["deviationColumn"];
  readonly at: number[];
} | null = null;

/** Scratch and counters for columns of `rows` cells. */
export function openDeviation(rows: number, scale: DeviationScale): Deviation {
  const least = rows + 2;
  if (kernelInUse() === "wasm") {
    if (kept === null || kept.stride < least) kept = inWasm(least);
    if (kept !== null) {
      const { stride, memory, run, at } = kept;
      const { up, zero, step, crease } = scale;
      return deviation(stride, memory, (slot, station, lane, before, here, after, a, b) =>
        run(
          at[0] + lane * stride * 4,
          at[2] + before * stride * 8,
          at[2] + here * stride * 8,
          at[2] + after * stride * 8,
          at[1] + lane * stride * 4,
          a,
          b,
          at[4] + slot * TALLY * 8,
          at[3],
          station,
          up,
          zero,
          step,
          crease,
        ),
      );
    }
  }
  const memory: Memory = {
    got: new Float32Array(TOGETHER * least),
    out: new Float32Array(TOGETHER * least),
    want: new Float64Array(3 * least),
    hard: new Int32Array(least),
    tallies: new Float64Array(SLOTS * TALLY),
  };
  return deviation(least, memory, plain(least, memory, scale));
}

function inWasm(stride: number): NonNullable<typeof kept> | null {
  const sizes = [TOGETHER * stride * 4, TOGETHER * stride * 4, 3 * stride * 8, stride * 4, SLOTS * TALLY * 8].map((n) => (n + 63) & ~63);
  const arena = openArena(sizes.reduce((a, b) => a + b, 64));
  if (arena === null) return null;
  const { kernels, buffer } = arena;
  let next = FIRST_FREE;
  const at = sizes.map((size) => {
    next += size;
    return next - size;
  });
  return {
    stride,
    at,
    run: kernels.deviationColumn,
    memory: {
      got: new Float32Array(buffer, at[0], TOGETHER * stride),
      out: new Float32Array(buffer, at[1], TOGETHER * stride),
      want: new Float64Array(buffer, at[2], 3 * stride),
      hard: new Int32Array(buffer, at[3], stride),
      tallies: new Float64Array(buffer, at[4], SLOTS * TALLY),
    },
  };
}

function deviation(stride: number, memory: Memory, column: Column): Deviation {
  const { tallies, got, out, want, hard } = memory;
  return {
    stride,
    got,
    out,
    want,
    hard,
    column,
    begin(slot, limitBelow, limitAbove) {
      tallies.fill(0, slot * TALLY, (slot + 1) * TALLY);
      tallies.set([limitBelow, limitAbove], slot * TALLY + 10);
    },
    tally(slot) {
      const t = tallies.subarray(slot * TALLY, (slot + 1) * TALLY);
      return {
        cells: t[0],
        below: t[1],
        above: t[2],
        sum: t[3],
        belowCount: t[4],
        aboveCount: t[5],
        belowAt: [t[6], t[7]],
        aboveAt: [t[8], t[9]],
        histogram: t.slice(HEAD),
      };
    },
  };
}

const plain =
  (stride: number, { got, out, want, hard, tallies }: Memory, { up, zero, step, crease }: DeviationScale): Column =>
  (slot, station, lane, before, here, after, a, b) => {
    const [g, p, h, q] = [lane * stride, before * stride, here * stride, after * stride];
    const t = slot * TALLY;
    let left = 0;
    for (let j = a; j <= b; j++) {
      const wanted = want[h + j];
      const z = up * (got[g + j] - zero);
      const sx = (want[q + j] - want[p + j]) / step;
      const sy = (want[h + j + 1] - want[h + j - 1]) / step;
      const g2 = sx * sx + sy * sy;
      if (!(g2 < 4) || Math.abs(want[q + j] - 2 * wanted + want[p + j]) > crease) {
        hard[left++] = j;
        continue;
      }
      const dev = (up * (z - wanted)) / Math.sqrt(1 + g2);
      out[g + j] = dev;
      tallies[t]++;
      if (dev < 0) {
        const d = -dev;
        if (d > tallies[t + 10]) tallies[t + 4]++;
        if (d > tallies[t + 1]) {
          tallies[t + 1] = d;
          tallies[t + 6] = station;
          tallies[t + 7] = j;
        }
        tallies[t + HEAD]++;
        continue;
      }
      tallies[t + 3] += dev;
      if (dev > tallies[t + 11]) tallies[t + 5]++;
      if (dev > tallies[t + 2]) {
        tallies[t + 2] = dev;
        tallies[t + 8] = station;
        tallies[t + 9] = j;
      }
      tallies[t + HEAD + Math.min(BINS, Math.floor(dev / BIN))]++;
    }
    return left;
  };
