import type { SideName } from "../holding/types.ts";
import { BIN, BINS } from "../kernel/deviation.ts";
import { type Finding, finding } from "../units/index.ts";
import { GOUGE, LEFT_OVER, NOT_FINISHED } from "./rules.ts";
import type { RegionFigure } from "./types.ts";

export interface Limits {
  readonly below: number;
  readonly above: number;
}

/** What was found in one region so far. */
export interface Tally {
  readonly region: string;
  readonly limits: Limits;
  cells: number;
  below: number;
  above: number;
  sum: number;
  belowAt: readonly [number, number];
  aboveAt: readonly [number, number];
  /** Cells past their limit. */
  belowCount: number;
  aboveCount: number;
  readonly histogram: Float64Array;
}

/** The tally of a region, begun at its first cell. */
export function tallyOf(tallies: Map<string, Tally>, region: string, limits: Limits, x: number, y: number): Tally {
  let t = tallies.get(region);
  if (t === undefined) {
    t = {
      region,
      limits,
      cells: 0,
      below: 0,
      above: 0,
      sum: 0,
      belowAt: [x, y],
      aboveAt: [x, y],
      belowCount: 0,
      aboveCount: 0,
      histogram: new Float64Array(BINS + 1),
    };
    tallies.set(region, t);
  }
  return t;
}

/** One cell more: `dev` is how far its wood stands above what is wanted, mm. */
export function count(t: Tally, dev: number, x: number, y: number): void {
  t.cells++;
  if (dev < 0) {
    if (-dev > t.limits.below) t.belowCount++;
    if (-dev > t.below) {
      t.below = -dev;
      t.belowAt = [x, y];
    }
    t.histogram[0]++;
    return;
  }
  t.sum += dev;
  if (dev > t.limits.above) t.aboveCount++;
  if (dev > t.above) {
    t.above = dev;
    t.aboveAt = [x, y];
  }
  t.histogram[Math.min(BINS, Math.floor(dev / BIN))]++;
}

/** What another part of the same region found, put to `all`. */
export function add(all: Tally, t: Tally): void {
  if (t.below > all.below) [all.below, all.belowAt] = [t.below, t.belowAt];
  if (t.above > all.above) [all.above, all.aboveAt] = [t.above, t.aboveAt];
  all.cells += t.cells;
  all.sum += t.sum;
  all.belowCount += t.belowCount;
  all.aboveCount += t.aboveCount;
  for (let k = 0; k <= BINS; k++) all.histogram[k] += t.histogram[k];
}

/** What is printed of a region. */
export function figureOf(t: Tally, side: SideName): RegionFigure {
  let seen = 0;
  let bin = 0;
  while (bin < BINS && seen + t.histogram[bin] < 0.95 * t.cells) seen += t.histogram[bin++];
  return {
    region: t.region,
    side,
    cells: t.cells,
    worstBelow: t.below,
    worstAbove: t.above,
    meanAbove: t.sum / t.cells,
    // a bin's upper end, so that it never flatters
    p95Above: Math.min(t.above, (bin + 1) * BIN),
    limitBelow: t.limits.below,
    limitAbove: t.limits.above,
  };
}

/** What is wrong with a region: cut below, or left above, its limits. */
export function judge(t: Tally, f: RegionFigure): Finding[] {
  const out: Finding[] = [];
  const mm = (v: number): string => v.toFixed(3);
  const place = ([x, y]: readonly [number, number]): string => `x ${x.toFixed(1)}, y ${y.toFixed(1)} of the neck`;
  if (f.worstBelow > f.limitBelow) {
    out.push(
      finding(GOUGE, {
        where: `${f.side} side, ${f.region}`,
        value: f.worstBelow,
        limit: f.limitBelow,
        unit: "mm",
        says: `${f.region}: cut ${mm(f.worstBelow)} mm too deep at ${place(t.belowAt)} (${t.belowCount} cells past the limit).`,
        tryThis: "Find the program that cuts there and mend it; do not run these programs.",
        at: { x: t.belowAt[0], y: t.belowAt[1] },
      }),
    );
  }
  if (f.worstAbove > f.limitAbove) {
    out.push(
      finding(LEFT_OVER, {
        where: `${f.side} side, ${f.region}`,
        value: f.worstAbove,
        limit: f.limitAbove,
        unit: "mm",
        says: `On the ${f.region} ${mm(f.worstAbove)} mm of wood is left at ${place(t.aboveAt)} (${t.aboveCount} cells past the limit).`,
        tryThis: "See whether a cut is missing, was cut with another cutter, or cannot reach there.",
        at: { x: t.aboveAt[0], y: t.aboveAt[1] },
      }),
    );
  }
  return out;
}

/** Nothing of a region could be compared. */
export const missing = (side: SideName, region: string): Finding =>
  finding(NOT_FINISHED, {
    where: `${side} side, ${region}`,
    value: 0,
    limit: 1,
    unit: "cells",
    says: `Nothing of the ${region} could be compared: it lies off the stock, or the cells are too coarse.`,
    tryThis: "Check the placement in the blank, or prove with smaller cells.",
  });
