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
const made = new WeakMap<Float32Array, { readonly regions: SideProof["regions"]; readonly pictures: Map<string, MapImage> }>();

/**
 * Left over (`above`) or dug in (`below`) over one side. Each pixel shows the largest value of the cells under it, so that no spot
 * is averaged away; nut left as the piece lies (a piece along y is turned a quarter).
 */
export function mapImage(side: SideProof, what: "above" | "below"): MapImage {
  let known = made.get(side.deviation);
  if (known === undefined || known.regions !== side.regions) {
    known = { regions: side.regions, pictures: new Map() };
    made.set(side.deviation, known);
  }
  const picture = known.pictures.get(what) ?? drawMap(side, what);
  known.pictures.set(what, picture);
  return picture;
}

function drawMap(side: SideProof, what: "above" | "below"): MapImage {
  const { nx, ny, cell, x0, y0 } = side.stock;
  const dev = side.deviation;
  const sign = what === "above" ? 1 : -1;
  const box = comparedBox(dev, nx, ny);
  const [w0, h0] = [box.i1 - box.i0 + 1, box.j1 - box.j0 + 1];
  const step = Math.max(1, Math.ceil(Math.max(w0, h0) / MOST));
  const [w, h] = [Math.max(1, Math.ceil(w0 / step)), Math.max(1, Math.ceil(h0 / step))];
  const value = new Float32Array(w * h).fill(Number.NaN);
  const limits = side.regions.map((r) => (what === "above" ? r.limitAbove : r.limitBelow));
  const limit = limits.length > 0 ? Math.max(1e-6, Math.min(...limits)) : 0.01;
  const widest = Math.max(limit, ...limits);
  let worst = 0;
  let pastLimit = 0;
  let cells = 0;
  for (let j = box.j0; j <= box.j1; j++) {
    const row = ((j - box.j0) / step) | 0;
    for (let i = box.i0; i <= box.i1; i++) {
      const d = dev[j * nx + i] * sign;
      if (Number.isNaN(d)) continue;
      cells++;
      if (d > worst) worst = d;
      if (d > limit) pastLimit++;
      const k = row * w + (((i - box.i0) / step) | 0);
      const v = value[k];
      if (Number.isNaN(v) || d > v) value[k] = d;
    }
  }
  const top = Math.max(2 * limit, 1.25 * widest);
  const turned = h0 > w0;
  const png = paint(value, w, h, top, what, turned);
  return {
    png,
    width: turned ? h : w,
    height: turned ? w : h,
    top,
    min: [x0 + box.i0 * cell - cell / 2, y0 + box.j0 * cell - cell / 2],
    max: [x0 + (box.i0 + w * step) * cell - cell / 2, y0 + (box.j0 + h * step) * cell - cell / 2],
    worst,
    limit,
    widest,
    pastLimit,
    cells,
    turned,
  };
}

/** The part of the map where anything is compared, with a small border; the whole map when nothing is. */
function comparedBox(dev: Float32Array, nx: number, ny: number): { i0: number; i1: number; j0: number; j1: number } {
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
