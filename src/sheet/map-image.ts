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

/** Pictures that were made of a side: report and run sheet show the same. */
const made = new WeakMap<Float32Array, { readonly regions: SideProof["regions"]; readonly pictures: Record<Shown, MapImage> }>();

type Shown = "above" | "below";

/**
 * Left over (`above`) or dug in (`below`) over one side. Each pixel shows the largest value of the cells under it, so that no spot
 * is averaged away; nut left as the piece lies (a piece along y is turned a quarter).
 */
export function mapImage(side: SideProof, what: Shown): MapImage {
  let known = made.get(side.deviation);
  if (known === undefined || known.regions !== side.regions) {
    known = { regions: side.regions, pictures: drawMaps(side) };
    made.set(side.deviation, known);
  }
  return known.pictures[what];
}

/** What the cells under a picture come to. */
interface Seen {
  /** Largest value of each pixel; NaN where nothing was compared. */
  readonly value: Float32Array;
  readonly limit: number;
  readonly widest: number;
  worst: number;
  pastLimit: number;
}

/** Both pictures of a side, from one look at its cells. */
function drawMaps(side: SideProof): Record<Shown, MapImage> {
  const { nx, ny, cell, x0, y0 } = side.stock;
  const dev = side.deviation;
  const box = comparedBox(dev, nx, ny);
  const [w0, h0] = [box.i1 - box.i0 + 1, box.j1 - box.j0 + 1];
  const step = Math.max(1, Math.ceil(Math.max(w0, h0) / MOST));
  const [w, h] = [Math.max(1, Math.ceil(w0 / step)), Math.max(1, Math.ceil(h0 / step))];
  const seen = (limits: readonly number[]): Seen => {
    const limit = limits.length > 0 ? Math.max(1e-6, Math.min(...limits)) : 0.01;
    return { value: new Float32Array(w * h).fill(Number.NaN), limit, widest: Math.max(limit, ...limits), worst: 0, pastLimit: 0 };
  };
  const above = seen(side.regions.map((r) => r.limitAbove));
  const below = seen(side.regions.map((r) => r.limitBelow));
  const cells = look(dev, nx, box, step, w, above, below);
  const turned = h0 > w0;
  const picture = (s: Seen, what: Shown): MapImage => {
    const top = Math.max(2 * s.limit, 1.25 * s.widest);
    return {
      png: paint(s.value, w, h, top, what, turned),
      width: turned ? h : w,
      height: turned ? w : h,
      top,
      min: [x0 + box.i0 * cell - cell / 2, y0 + box.j0 * cell - cell / 2],
      max: [x0 + (box.i0 + w * step) * cell - cell / 2, y0 + (box.j0 + h * step) * cell - cell / 2],
      worst: s.worst,
      limit: s.limit,
      widest: s.widest,
      pastLimit: s.pastLimit,
      cells,
      turned,
    };
  };
  return { above: picture(above, "above"), below: picture(below, "below") };
}

/** Looks at every cell of the box once; returns how many were compared. */
function look(dev: Float32Array, nx: number, box: Box, step: number, w: number, above: Seen, below: Seen): number {
  const high = above.value;
  const low = below.value;
  const [most, least] = [above.limit, -below.limit];
  let [highest, lowest, pastHigh, pastLow, cells] = [0, 0, 0, 0, 0];
  for (let j = box.j0; j <= box.j1; j++) {
    let k = (((j - box.j0) / step) | 0) * w;
    for (let from = box.i0; from <= box.i1; from += step, k++) {
      const to = Math.min(box.i1, from + step - 1);
      let a = high[k];
      let b = low[k];
      for (let p = j * nx + from; p <= j * nx + to; p++) {
        const d = dev[p];
        // NaN: not compared
        if (Number.isNaN(d)) continue;
        cells++;
        if (d > highest) highest = d;
        if (d < lowest) lowest = d;
        if (d > most) pastHigh++;
        if (d < least) pastLow++;
        if (!(a >= d)) a = d;
        if (!(b >= -d)) b = -d;
      }
      high[k] = a;
      low[k] = b;
    }
  }
  above.worst = highest;
  below.worst = 0 - lowest;
  above.pastLimit = pastHigh;
  below.pastLimit = pastLow;
  return cells;
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
function paint(value: Float32Array, w: number, h: number, top: number, what: "above" | "below", turned: boolean): Uint8Array {
  const table = rampTable(what);
  const [pw, ph] = turned ? [h, w] : [w, h];
  return rgbPng(pw, ph, (data) => {
    for (let y = 0; y < ph; y++) {
      for (let x = 0; x < pw; x++) {
        const v = turned ? value[x * w + y] : value[(h - 1 - y) * w + x];
        const o = (y * pw + x) * 3;
        if (Number.isNaN(v)) {
          data[o] = GROUND[0];
          data[o + 1] = GROUND[1];
          data[o + 2] = GROUND[2];
        } else {
          const c = 3 * Math.max(0, Math.min(255, Math.round((v / top) * 255)));
          data[o] = table[c];
          data[o + 1] = table[c + 1];
          data[o + 2] = table[c + 2];
        }
      }
    }
  });
}
