import type { HeightMap } from "./heightmap.ts";

/**
 * Block maxima of a height map, for "can anything in here matter?" tests. Level `rows`: maxima of 1 x 16 cells,
 * rows[j * nbx + bi]; level `blocks`: maxima of 16 x 16 cells, blocks[bj * nbx + bi].
 */
export interface BlockMaxima {
  readonly nbx: number;
  readonly nby: number;
  readonly rows: Float32Array;
  readonly blocks: Float32Array;
}

export const BLOCK = 16;

/** Maxima over rows `first` (a multiple of 16) to `end` - 1 of a map; those of other rows stay 0. */
export function makeBlockMaxima(map: HeightMap, first = 0, end: number = map.ny): BlockMaxima {
  const nbx = (map.nx + 15) >> 4;
  const nby = (map.ny + 15) >> 4;
  const p: BlockMaxima = { nbx, nby, rows: new Float32Array(nbx * map.ny), blocks: new Float32Array(nbx * nby) };
  fillBlockMaxima(map, p, first, end);
  return p;
}

/** Recomputes both levels from rows `first` to `end` - 1 of the map. */
export function fillBlockMaxima(map: HeightMap, p: BlockMaxima, first: number, end: number): void {
  const { nx, z } = map;
  const { nbx, rows, blocks } = p;
  for (let j = first; j < end; j++) {
    for (let bi = 0; bi < nbx; bi++) rows[j * nbx + bi] = maxOf(z, j * nx + bi * 16, j * nx + Math.min(nx, bi * 16 + 16));
  }
  for (let bj = first >> 4; bj << 4 < end; bj++) for (let bi = 0; bi < nbx; bi++) blocks[bj * nbx + bi] = columnMax(rows, nbx, bi, bj, end);
}

export function maxOf(z: Float32Array, from: number, to: number): number {
  let m = z[from];
  for (let k = from + 1; k < to; k++) {
    const q = z[k];
    if (q > m) m = q;
  }
  return m;
}

/** Maximum of the row maxima of block (bi, bj). */
export function columnMax(rows: Float32Array, nbx: number, bi: number, bj: number, ny: number): number {
  const end = Math.min(ny, bj * 16 + 16);
  let m = rows[bj * 16 * nbx + bi];
  for (let j = bj * 16 + 1; j < end; j++) {
    const q = rows[j * nbx + bi];
    if (q > m) m = q;
  }
  return m;
}
