import { type Arena, FIRST_FREE, kernelInUse, openArena } from "./load.ts";

/** Cells of a grid; see kernel/clearing. */
interface Cells {
  readonly nx: number;
  readonly ny: number;
  readonly x0: number;
  readonly y0: number;
  readonly cell: number;
}

/** What Uncut measures and takes away, in WebAssembly. */
export interface UncutKernel {
  readonly m: Float32Array;
  met(x: number, y: number, ux: number, uy: number): number;
  sweep(ax: number, ay: number, bx: number, by: number, joined: boolean): void;
}

const round = (bytes: number): number => (bytes + 63) & ~63;

/** `m` moves into the kernel's memory; null where WebAssembly is not in use, or has no room. */
export function openUncut(
  grid: Cells,
  m: Float32Array,
  radius: number,
  band: number,
  cos: Float64Array,
  sin: Float64Array,
): UncutKernel | null {
  if (kernelInUse() === "plain") return null;
  const table = round(cos.byteLength);
  const arena = openArena(2 * table + round(m.byteLength));
  if (arena === null) return null;
  const { kernels, buffer } = arena;
  const at = FIRST_FREE + 2 * table;
  new Float64Array(buffer, FIRST_FREE, cos.length).set(cos);
  new Float64Array(buffer, FIRST_FREE + table, sin.length).set(sin);
  const inside = new Float32Array(buffer, at, m.length);
  inside.set(m);
  kernels.uncutField(at, FIRST_FREE, FIRST_FREE + table, grid.nx, grid.ny, grid.x0, grid.y0, grid.cell, radius, band);
  return {
    m: inside,
    met: kernels.uncutMet,
    sweep: (ax, ay, bx, by, joined) => kernels.uncutSweep(ax, ay, bx, by, joined ? 1 : 0),
  };
}

/** Memory for `distancesInWasm`, kept from call to call; nothing of one call is read by the next. */
let scratch: { readonly arena: Arena; readonly bytes: number } | null = null;

/** `distances` of kernel/clearing; null where WebAssembly is not in use, or has no room. */
export function distancesInWasm(nx: number, marked: Uint8Array, i0: number, j0: number, wx: number, wy: number): Float32Array | null {
  if (kernelInUse() === "plain") return null;
  const sizes = [nx * wy, wx * wy * 4, wx * wy * 8, (wx + 1) * 4, (wx + 1) * 8, (wx + 1) * 8].map(round);
  const bytes = sizes.reduce((a, b) => a + b, 0);
  if (scratch === null || scratch.bytes < bytes) {
    const arena = openArena(bytes);
    if (arena === null) return null;
    scratch = { arena, bytes };
  }
  const { kernels, buffer } = scratch.arena;
  const at: number[] = [];
  let next = FIRST_FREE;
  for (const size of sizes) {
    at.push(next);
    next += size;
  }
  new Uint8Array(buffer, at[0], nx * wy).set(marked.subarray(j0 * nx, (j0 + wy) * nx));
  kernels.gridDistances(nx, at[0], i0, 0, wx, wy, at[1], at[2], at[3], at[4], at[5]);
  return new Float32Array(buffer, at[1], wx * wy).slice();
}
