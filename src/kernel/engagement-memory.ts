import type { Mm } from "../units/index.ts";
import { FRONT, PlainEngage, STRIDE } from "./engagement-plain.ts";
import { FIRST_FREE, kernelInUse, openArena } from "./wasm/load.ts";

export interface EngagementBox {
  readonly xMin: Mm;
  readonly yMin: Mm;
  readonly xMax: Mm;
  readonly yMax: Mm;
}

/** The cells of an EngagementField and their tiles. */
export interface EngageShape {
  readonly nx: number;
  readonly ny: number;
  readonly tilesX: number;
  readonly tilesY: number;
  /** Centre of cell (0, 0). */
  readonly x0: Mm;
  readonly y0: Mm;
  readonly cell: Mm;
  /** Distances are known within this of an edge. */
  readonly band: Mm;
  readonly wood: EngagementBox;
}

/** Measures and stamps; see EngagementField. Lengths mm. */
export interface EngageKernel {
  /** A cell, or a tile, of untouched wood of height `top`. */
  engageCell(p: number, top: Mm): void;
  engageTile(tile: number, top: Mm): void;
  engageBegin(turn: number): void;
  /** Adds angle and load of the half circle ahead to `measured`; `off` intervals at either end are left out. */
  engageArc(x: Mm, y: Mm, z: Mm, ux: number, uy: number, r: Mm, depth: Mm, off: number): void;
  engageStamp(ax: Mm, ay: Mm, az: Mm, bx: Mm, by: Mm, bz: Mm, r: Mm, joined: number): void;
}

/** The arrays of a field. */
export interface EngageMemory {
  /**
   * Four numbers of each cell, one after the other: height of the wood, and signed distance to the edge of what lowered it (at most 0);
   * height of the lowest sweep that passes by within the band, and the distance to its edge.
   */
  readonly cells: Float32Array;
  /** The same four before they were lowered to those, of the layer above, a height of 0 standing for none: looked at seldom, so they lie apart. */
  readonly before: Float32Array;
  /** Of each tile the last turn at which a rim is measured there; what comes later need not be stamped. */
  readonly looks: Int32Array;
  /** Of each tile: a sweep at this height or higher changes nothing in it; and how many cells have been looked at in vain since that was found out. */
  readonly most: Float32Array;
  readonly inVain: Uint16Array;
  /** Directions of the rim's front half. */
  readonly cos: Float64Array;
  readonly sin: Float64Array;
  /** Angle and load. */
  readonly measured: Float64Array;
}

interface Opened {
  readonly kernel: EngageKernel;
  readonly memory: EngageMemory;
}

/** Memory for a field, all zero, and what works on it: in WebAssembly, or in plain TypeScript where that is not in use or has no room. */
export const openEngage = (shape: EngageShape): Opened => inWasm(shape) ?? plain(shape);

function inWasm({ nx, ny, tilesX, tilesY, x0, y0, cell, band, wood }: EngageShape): Opened | null {
  if (kernelInUse() === "plain") return null;
  let top = FIRST_FREE;
  const take = (bytes: number): number => {
    const at = top;
    top += (bytes + 63) & ~63;
    return at;
  };
  const numbers = [x0, y0, cell, band, wood.xMin, wood.yMin, wood.xMax, wood.yMax];
  const tiles = tilesX * tilesY;
  const at = {
    measured: take(16),
    numbers: take(numbers.length * 8),
    cos: take((FRONT + 1) * 8),
    sin: take((FRONT + 1) * 8),
    looks: take(tiles * 4),
    most: take(tiles * 4),
    inVain: take(tiles * 2),
    cells: take(nx * ny * STRIDE * 4),
    before: take(nx * ny * STRIDE * 4),
  };
  const arena = openArena(top - FIRST_FREE);
  if (arena === null) return null;
  const { kernels, buffer } = arena;
  new Float64Array(buffer, at.numbers, numbers.length).set(numbers);
  kernels.engageField(at.cells, at.before, at.looks, at.most, at.inVain, at.cos, at.sin, at.measured, at.numbers, nx, ny, tilesX);
  return {
    kernel: kernels,
    memory: {
      cells: new Float32Array(buffer, at.cells, nx * ny * STRIDE),
      before: new Float32Array(buffer, at.before, nx * ny * STRIDE),
      looks: new Int32Array(buffer, at.looks, tiles),
      most: new Float32Array(buffer, at.most, tiles),
      inVain: new Uint16Array(buffer, at.inVain, tiles),
      cos: new Float64Array(buffer, at.cos, FRONT + 1),
      sin: new Float64Array(buffer, at.sin, FRONT + 1),
      measured: new Float64Array(buffer, at.measured, 2),
    },
  };
}

function plain(shape: EngageShape): Opened {
  const cells = shape.nx * shape.ny * STRIDE;
  const tiles = shape.tilesX * shape.tilesY;
  const memory = {
    cells: new Float32Array(cells),
    before: new Float32Array(cells),
    looks: new Int32Array(tiles),
    most: new Float32Array(tiles),
    inVain: new Uint16Array(tiles),
    cos: new Float64Array(FRONT + 1),
    sin: new Float64Array(FRONT + 1),
    measured: new Float64Array(2),
  };
  return { kernel: new PlainEngage(shape, memory), memory };
}
