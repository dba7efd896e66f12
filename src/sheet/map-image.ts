import type { SideProof } from "../proof/types.ts";
import type { Mm } from "../units/index.ts";
import { rgbPng } from "./draw/png.ts";
import { rampTable } from "./ramp.ts";

/*
 * Pictures of the proof: one colour for each piece of the finished surface, by how far it stands above or below the target.
 */

export interface MapImage {
  readonly png: Uint8Array;
  readonly width: number;
  readonly height: number;
  /** What full scale stands for, mm; everything beyond has its colour. */
  readonly top: Mm;
  /** Extent of the picture in the side's program frame. */
  readonly min: readonly [Mm, Mm];
  readonly max: readonly [Mm, Mm];
  /** Largest value in the map, mm, and how many cells are past `limit`, the strictest of the side's regions. */
  readonly worst: Mm;
  readonly limit: Mm;
  /** The widest limit of the side's regions. */
  readonly widest: Mm;
  readonly pastLimit: number;
  readonly cells: number;
  /** Along program y on the page: the piece lies along y at the machine and the picture is turned a quarter. */
  readonly turned: boolean;
}

/** Ground where nothing is compared. */
const GROUND = [251, 248, 241] as const;

/** Most pixels along the picture's long side. */
const MOST = 1600;

type Shown = "above" | "below";

/** What is left over (`above`) and dug in (`below`) over one side. */
export interface SideMaps extends Readonly<Record<Shown, MapImage>> {
  readonly side: SideProof["side"];
}

/**
 * Both pictures of a side, from one look at its cells. Each pixel shows the largest value of the cells under it, so that no spot is averaged
 * away; nut left as the piece lies (a piece along y is turned a quarter).
 */
export function sideMaps(side: SideProof): SideMaps {
  const { nx, ny, cell, x0, y0 } = side.stock;
  const dev = side.deviation;
  const box = comparedBox(dev, nx, ny);
  const [w0, h0] = [box.i1 - box.i0 + 1, box.j1 - box.j0 + 1];
  const step = Math.max(1, Math.ceil(Math.max(w0, h0) / MOST));
  const [w, h] = [Math.max(1, Math.ceil(w0 / step)), Math.max(1, Math.ceil(h0 / step))];
  const strictest = (limits: readonly number[]): number => (limits.length > 0 ? Math.max(1e-6, Math.min(...limits)) : 0.01);
  const limits = { above: side.regions.map((r) => r.limitAbove), below: side.regions.map((r) => r.limitBelow) };
  const [most, deepest] = [strictest(limits.above), strictest(limits.below)];
  const seen: Seen = {
    above: new Float32Array(w * h).fill(Number.NEGATIVE_INFINITY),
    below: new Float32Array(w * h).fill(Number.NEGATIVE_INFINITY),
    most,
    deepest,
    cells: 0,
    pastMost: 0,
    pastDeepest: 0,
  };
  for (let j = box.j0; j <= box.j1; j++) lookAtRow(dev, j * nx + box.i0, j * nx + box.i1, step, seen, Math.floor((j - box.j0) / step) * w);
  const turned = h0 > w0;
  const picture = (what: Shown): MapImage => {
    const limit = what === "above" ? most : deepest;
    const widest = Math.max(limit, ...limits[what]);
    const top = Math.max(2 * limit, 1.25 * widest);
    return {
      png: paint(seen[what], w, h, top, what, turned),
      width: turned ? h : w,
      height: turned ? w : h,
      top,
      min: [x0 + box.i0 * cell - cell / 2, y0 + box.j0 * cell - cell / 2],
      max: [x0 + (box.i0 + w * step) * cell - cell / 2, y0 + (box.j0 + h * step) * cell - cell / 2],
      worst: largest(seen[what]),
      limit,
      widest,
      pastLimit: what === "above" ? seen.pastMost : seen.pastDeepest,
      cells: seen.cells,
      turned,
    };
  };
  return { side: side.side, above: picture("above"), below: picture("below") };
}

/** What the cells of the map come to. */
interface Seen {
  /** Largest height above the target and largest depth below it of each pixel; -Infinity where nothing was compared. */
  readonly above: Float32Array;
  readonly below: Float32Array;
  readonly most: number;
  readonly deepest: number;
  cells: number;
  pastMost: number;
  pastDeepest: number;
}

/** The cells from..last of one row, `step` of them under each pixel from k on. Cells that were not compared are NaN: no comparison holds for them. */
function lookAtRow(dev: Float32Array, from: number, last: number, step: number, seen: Seen, k: number): void {
  const { above, below, most } = seen;
  const least = -seen.deepest;
  let cells = 0;
  for (let p = from; p <= last; k++) {
    const begin = p;
    const end = Math.min(last + 1, p + step);
    let high = above[k];
    let low = -below[k];
    for (; p < end; p++) {
      const d = dev[p];
      if (d > high) high = d;
      if (d < low) low = d;
      if (d <= Number.POSITIVE_INFINITY) cells++;
    }
    above[k] = high;
    below[k] = -low;
    // rare: only then does it matter how many
    if (high > most) for (p = begin; p < end; p++) if (dev[p] > most) seen.pastMost++;
    if (low < least) for (p = begin; p < end; p++) if (dev[p] < least) seen.pastDeepest++;
  }
  seen.cells += cells;
}

function largest(values: Float32Array): number {
  let most = 0;
  for (let k = 0; k < values.length; k++) if (values[k] > most) most = values[k];
  return most;
}

interface Box {
  readonly i0: number;
  readonly i1: number;
  readonly j0: number;
  readonly j1: number;
}

/** The part of the map where anything is compared, with a small border; the whole map when nothing is. */
function comparedBox(dev: Float32Array, nx: number, ny: number): Box {
  let [i0, i1, j0, j1] = [nx, -1, ny, -1];
  for (let j = 0; j < ny; j++) {
    const row = j * nx;
    let first = 0;
    while (first < nx && Number.isNaN(dev[row + first])) first++;
    if (first === nx) continue;
    let last = nx - 1;
    while (last > i1 && Number.isNaN(dev[row + last])) last--;
    i0 = Math.min(i0, first);
    i1 = Math.max(i1, last);
    j0 = Math.min(j0, j);
    j1 = j;
  }
  if (i1 < 0) return { i0: 0, i1: nx - 1, j0: 0, j1: ny - 1 };
  const b = 12;
  return { i0: Math.max(0, i0 - b), i1: Math.min(nx - 1, i1 + b), j0: Math.max(0, j0 - b), j1: Math.min(ny - 1, j1 + b) };
}

/** RGB PNG, y upward; turned: program y to the right, x downward. */
function paint(value: Float32Array, w: number, h: number, top: number, what: Shown, turned: boolean): Uint8Array {
  const table = rampTable(what);
  const [pw, ph] = turned ? [h, w] : [w, h];
  return rgbPng(pw, ph, (data) => {
    for (let y = 0; y < ph; y++) paintRow(data, 3 * y * pw, pw, value, turned ? y : (h - 1 - y) * w, turned ? w : 1, top, table);
  });
}

/** A row of the picture: `count` values, each `next` places after the last. */
function paintRow(
  data: Uint8Array,
  at: number,
  count: number,
  value: Float32Array,
  from: number,
  next: number,
  top: number,
  table: Uint8Array,
): void {
  for (let k = 0, o = at, p = from; k < count; k++, o += 3, p += next) {
    const v = value[p];
    const compared = v > Number.NEGATIVE_INFINITY;
    const c = compared ? 3 * Math.max(0, Math.min(255, Math.round((v / top) * 255))) : 0;
    data[o] = compared ? table[c] : GROUND[0];
    data[o + 1] = compared ? table[c + 1] : GROUND[1];
    data[o + 2] = compared ? table[c + 2] : GROUND[2];
  }
}
