import type { Field } from "../field.ts";
import type { HeightMap } from "../heightmap.ts";
import { NOTHING } from "../heightmap.ts";
import { FIRST_FREE, type Kernels, kernelInUse, openArena } from "./load.ts";

/** Points of a chain handed over at a time; a longer chain goes in parts that share a point. */
const CHAIN = 4096;

/** Maps with fewer cells stay in plain TypeScript: a memory of their own costs more than it brings (the heights are the same). */
const SMALL = 16384;

/** The ball and flat sweeps in WebAssembly; the field's arrays are views of its memory, so plain sweeps work on them too. */
export interface WasmSweeps {
  readonly field: Field;
  /** Its memory may be taken by the next level map; see Arena. */
  giveBack(): void;
  refresh(i0: number, j0: number, i1: number, j1: number): void;
  chain(flat: boolean, R: number, xs: Float64Array, zs: Float64Array, n: number, y: number): number;
  line(flat: boolean, R: number, ax: number, ay: number, az: number, bx: number, by: number, bz: number, from: number, to: number): number;
  helix(
    R: number,
    cx: number,
    cy: number,
    rho: number,
    xMin: number,
    yMin: number,
    xMax: number,
    yMax: number,
    ex: number,
    ey: number,
    low: number,
    climb: number,
    dir: number,
    turn: number,
  ): number;
}

/** Moves the map's heights into WebAssembly memory (`map.z` becomes a view of it); null when plain kernels are to be used. */
export function openSweeps(map: HeightMap): WasmSweeps | null {
  const { nx, ny, cell } = map;
  return open(nx, 0, ny, cell, false, (kernels, heights) => {
    heights.set(map.z);
    (map as { z: Float32Array }).z = heights;
    kernels.maxima(0, 0, nx - 1, ny - 1);
  });
}

/** The same for a map whose rows `first` (a multiple of 16) to ny - 1 stand at one height, made in that memory; other rows are never touched. */
export const openLevelSweeps = (nx: number, first: number, ny: number, cell: number, height: number): WasmSweeps | null =>
  open(nx, first, ny, cell, true, (kernels) => kernels.level(height));

function open(
  nx: number,
  first: number,
  ny: number,
  cell: number,
  used: boolean,
  begin: (kernels: Kernels, heights: Float32Array) => void,
): WasmSweeps | null {
  if (nx * ny < SMALL || kernelInUse() === "plain") return null;
  const nbx = (nx + 15) >> 4;
  const nby = (ny + 15) >> 4;
  const round = (bytes: number): number => (bytes + 63) & ~63;
  let top = FIRST_FREE;
  const take = (bytes: number): number => {
    const at = top;
    top += round(bytes);
    return at;
  };
  const z = take(nx * ny * 4 + 64);
  const rows = take(nbx * ny * 4);
  const blocks = take(nbx * nby * 4);
  const lo = take(ny * 8);
  const hi = take(ny * 8);
  const xs = take(CHAIN * 8);
  const zs = take(CHAIN * 8);
  const arena = openArena(top - FIRST_FREE, used);
  if (!arena) return null;
  const { kernels, buffer } = arena;
  const heights = new Float32Array(buffer, z, nx * ny);
  kernels.field(z, rows, blocks, lo, hi, nx, first, ny, cell);
  begin(kernels, heights);
  new Float32Array(buffer, z + nx * ny * 4, 16).fill(NOTHING);
  const pointsX = new Float64Array(buffer, xs, CHAIN);
  const pointsZ = new Float64Array(buffer, zs, CHAIN);
  const field: Field = {
    nx,
    first,
    ny,
    cell,
    z: heights,
    nbx,
    nby,
    rows: new Float32Array(buffer, rows, nbx * ny),
    blocks: new Float32Array(buffer, blocks, nbx * nby),
    lo: new Float64Array(buffer, lo, ny),
    hi: new Float64Array(buffer, hi, ny),
  };
  return {
    field,
    giveBack: arena.giveBack,
    refresh: (i0, j0, i1, j1) => kernels.maxima(i0, j0, i1, j1),
    chain(flat, R, px, pz, n, y) {
      let removed = 0;
      // parts share their end points; the full caps there are part of the swept surface
      for (let k = 0; k + 1 < n; k += CHAIN - 1) {
        const count = Math.min(CHAIN, n - k);
        pointsX.set(px.subarray(k, k + count));
        pointsZ.set(pz.subarray(k, k + count));
        removed += kernels.chain(flat ? 1 : 0, R, xs, zs, count, y);
      }
      return removed;
    },
    line: (flat, R, ax, ay, az, bx, by, bz, from, to) => kernels.line(flat ? 1 : 0, R, ax, ay, az, bx, by, bz, from, to),
    helix: kernels.helix,
  };
}
