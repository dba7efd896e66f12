import { FIRST_FREE, kernelInUse, openArena } from "./wasm/load.ts";

/** Measures and stamps; see EngagementField. Lengths mm. */
export interface EngageKernel {
  engageWood(top: number): void;
  engageBegin(turn: number): void;
  /** Adds angle and load to `measured`. */
  engageArc(x: number, y: number, z: number, ux: number, uy: number, r: number, depth: number, off: number): void;
  engageStamp(ax: number, ay: number, az: number, bx: number, by: number, bz: number, r: number, joined: number): void;
}

/** The arrays of a field. */
export interface EngageMemory {
  /** Four numbers a cell, twice: as it is, and as it was before. */
  readonly cells: Float32Array;
  readonly before: Float32Array;
  readonly looks: Int32Array;
  readonly most: Float32Array;
  readonly inVain: Uint16Array;
  readonly cos: Float64Array;
  readonly sin: Float64Array;
  /** Angle and load. */
  readonly measured: Float64Array;
}

/** `points`: of the rim's front half; `numbers`: x0, y0, cell, band, then the wood's box. Null where WebAssembly is not in use, or has no room. */
export function openEngage(
  nx: number,
  ny: number,
  tilesX: number,
  tilesY: number,
  points: number,
  numbers: readonly number[],
): (EngageMemory & { readonly kernel: EngageKernel }) | null {
  if (kernelInUse() === "plain") return null;
  let top = FIRST_FREE;
  const take = (bytes: number): number => {
    const at = top;
    top += (bytes + 63) & ~63;
    return at;
  };
  const tiles = tilesX * tilesY;
  const at = {
    measured: take(16),
    numbers: take(numbers.length * 8),
    cos: take(points * 8),
    sin: take(points * 8),
    looks: take(tiles * 4),
    most: take(tiles * 4),
    inVain: take(tiles * 2),
    cells: take(nx * ny * 16),
    before: take(nx * ny * 16),
  };
  const arena = openArena(top - FIRST_FREE);
  if (arena === null) return null;
  const { kernels, buffer } = arena;
  new Float64Array(buffer, at.numbers, numbers.length).set(numbers);
  kernels.engageField(at.cells, at.before, at.looks, at.most, at.inVain, at.cos, at.sin, at.measured, at.numbers, nx, ny, tilesX);
  return {
    kernel: kernels,
    cells: new Float32Array(buffer, at.cells, nx * ny * 4),
    before: new Float32Array(buffer, at.before, nx * ny * 4),
    looks: new Int32Array(buffer, at.looks, tiles),
    most: new Float32Array(buffer, at.most, tiles),
    inVain: new Uint16Array(buffer, at.inVain, tiles),
    cos: new Float64Array(buffer, at.cos, points),
    sin: new Float64Array(buffer, at.sin, points),
    measured: new Float64Array(buffer, at.measured, 2),
  };
}

/** The same in plain arrays. */
export const plainMemory = (cells: number, tiles: number, points: number): EngageMemory & { readonly kernel: null } => ({
  kernel: null,
  cells: new Float32Array(cells * 4),
  before: new Float32Array(cells * 4),
  looks: new Int32Array(tiles),
  most: new Float32Array(tiles),
  inVain: new Uint16Array(tiles),
  cos: new Float64Array(points),
  sin: new Float64Array(points),
  measured: new Float64Array(2),
});
