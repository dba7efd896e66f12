import type { ClockKernel } from "../clock-kernel.ts";
import type { DropKernel } from "../drop-kernel.ts";
import type { EngageKernel } from "../engagement-memory.ts";
import { KERNELS } from "./kernels.generated.ts";

/** What the WebAssembly kernels export; pointers are byte offsets into the memory given at the start. */
export interface Kernels extends DropKernel, ClockKernel, EngageKernel {
  engageField(
    cells: number,
    before: number,
    looks: number,
    most: number,
    inVain: number,
    cos: number,
    sin: number,
    out: number,
    numbers: number,
    nx: number,
    ny: number,
    tilesX: number,
  ): void;
  /** Straight moves as text; see openEmitter of program. Gives the bytes written. */
  emitLines(columns: number, count: number, decimals: number, scale: number, limit: number, state: number, out: number): number;
  /** The quick way through a program's text; see makeScan of proof/reader. Gives where the first line begins that was not read. */
  scanLines(
    text: number,
    at: number,
    end: number,
    state: number,
    out: number,
    room: number,
    line: number,
    unit: number,
    ox: number,
    oy: number,
    oz: number,
  ): number;
  deviationColumn(
    got: number,
    before: number,
    here: number,
    after: number,
    out: number,
    a: number,
    b: number,
    tally: number,
    hard: number,
    station: number,
    up: number,
    zero: number,
    step: number,
    crease: number,
  ): number;
  uncutField(
    m: number,
    cos: number,
    sin: number,
    nx: number,
    ny: number,
    x0: number,
    y0: number,
    cell: number,
    radius: number,
    band: number,
  ): void;
  uncutMet(x: number, y: number, ux: number, uy: number): number;
  uncutSweep(ax: number, ay: number, bx: number, by: number, joined: number): void;
  gridDistances(
    nx: number,
    marked: number,
    i0: number,
    j0: number,
    wx: number,
    wy: number,
    out: number,
    columns: number,
    vertex: number,
    from: number,
    f: number,
  ): void;
  field(z: number, rows: number, blocks: number, lo: number, hi: number, nx: number, first: number, ny: number, cell: number): void;
  maxima(i0: number, j0: number, i1: number, j1: number): void;
  level(height: number): void;
  chain(flat: number, R: number, xs: number, zs: number, n: number, y: number): number;
  line(flat: number, R: number, ax: number, ay: number, az: number, bx: number, by: number, bz: number, from: number, to: number): number;
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

/** The little of the WebAssembly interface that is needed, so that no browser or Node types are. */
interface Wasm {
  Module: new (bytes: Uint8Array) => object;
  Instance: new (module: object, imports: object) => { readonly exports: object };
  Memory: new (limits: { initial: number; maximum: number }) => { readonly buffer: ArrayBuffer };
}

export type KernelKind = "wasm" | "plain";

let wanted: KernelKind = "wasm";
let compiled: object | null | undefined;

/** Chooses the kernels for stocks and droppers made from now on. "wasm" falls back to plain TypeScript where WebAssembly or its SIMD is missing. */
export function useKernel(kind: KernelKind): void {
  wanted = kind;
}

/** The kernels that stocks and droppers made now will use. */
export function kernelInUse(): KernelKind {
  return wanted === "wasm" && compile() ? "wasm" : "plain";
}

const PAGE = 65536;
/** The first page is the module's own. */
export const FIRST_FREE: number = PAGE;

export interface Arena {
  readonly kernels: Kernels;
  readonly buffer: ArrayBuffer;
  /** The memory may be taken by the next arena that asks for used memory; nothing may look at its views any more. */
  giveBack(): void;
}

/** Pages of memory that is worth keeping, and the most that is kept: from the system it comes page by page, each at its first touch. */
const [LEAST_KEPT, MOST_KEPT] = [64, 1024];

/** One memory that was given back. */
let kept: { readonly pages: number; readonly memory: { readonly buffer: ArrayBuffer } } | null = null;

/**
 * An instance with its own memory of `bytes` above FIRST_FREE, never grown, freed with its last view; null where WebAssembly is missing or there is no room.
 * The memory is fresh and all nought, or, where `used` says so, perhaps one that was given back with whatever stands in it.
 */
export function openArena(bytes: number, used = false): Arena | null {
  const wasm = engine();
  const module = compile();
  if (!wasm || !module) return null;
  const pages = Math.ceil((FIRST_FREE + bytes) / PAGE);
  // 32-bit memory ends at 4 GB; engines may refuse less
  if (pages > 65536) return null;
  try {
    const again = used && kept !== null && kept.pages >= pages && kept.pages <= 2 * pages ? kept : null;
    if (again !== null) kept = null;
    const memory = again?.memory ?? new wasm.Memory({ initial: pages, maximum: pages });
    const size = again?.pages ?? pages;
    const abort = (): never => {
      throw new Error("a kernel aborted");
    };
    const instance = new wasm.Instance(module, { env: { memory, abort } });
    return {
      kernels: instance.exports as Kernels,
      buffer: memory.buffer,
      giveBack() {
        if (size >= LEAST_KEPT && size <= MOST_KEPT) kept = { pages: size, memory };
      },
    };
  } catch (e) {
    if (e instanceof RangeError) return null;
    throw e;
  }
}

function engine(): Wasm | null {
  const w = (globalThis as { WebAssembly?: unknown }).WebAssembly;
  return typeof w === "object" && w !== null ? (w as Wasm) : null;
}

function compile(): object | null {
  if (compiled !== undefined) return compiled;
  const wasm = engine();
  compiled = null;
  if (wasm) {
    try {
      compiled = new wasm.Module(fromBase64(KERNELS));
    } catch {
      // no SIMD here: the plain kernels do the work
      compiled = null;
    }
  }
  return compiled;
}

function fromBase64(text: string): Uint8Array {
  const letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  const value = new Uint8Array(128);
  for (let k = 0; k < 64; k++) value[letters.charCodeAt(k)] = k;
  const end = text.indexOf("=");
  const n = end < 0 ? text.length : end;
  const out = new Uint8Array((n * 3) >> 2);
  let bits = 0;
  let have = 0;
  let k = 0;
  for (let i = 0; i < n; i++) {
    bits = ((bits << 6) | value[text.charCodeAt(i)]) & 0xffffff;
    have += 6;
    if (have >= 8) {
      have -= 8;
      out[k++] = (bits >> have) & 255;
    }
  }
  return out;
}
