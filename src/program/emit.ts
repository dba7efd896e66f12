import { FIRST_FREE, kernelInUse, openArena } from "../kernel/wasm/load.ts";

/** Moves that are written at a time, and more bytes than the line of one has without a feed. */
const ROOM = 1024;
const LINE = 48;

/** The fewest moves in a row with one feed that are worth it. */
export const MANY = 64;

/** Straight moves as text in WebAssembly, counts of 1/10000 mm: what the writer's own loop writes between two changes of the feed. */
export interface Emitter {
  readonly room: number;
  /** The counts of the place before, and then of the last place written; then how many moves were done. */
  readonly state: Int32Array;
  /** The lines of moves from..to of at most `room`; a view that the next call overwrites. */
  emit(x: Float64Array, y: Float64Array, z: Float64Array, from: number, to: number): Uint8Array;
}

let emitter: Emitter | null | undefined;

/** Null where WebAssembly is not in use. One is enough: nothing of one text is left in it when the next begins. */
export function openEmitter(): Emitter | null {
  if (kernelInUse() === "plain") return null;
  if (emitter === undefined) emitter = makeEmitter();
  return emitter;
}

function makeEmitter(): Emitter | null {
  const column = ROOM * 8;
  const arena = openArena(64 + 3 * column + ROOM * LINE);
  if (arena === null) return null;
  const { kernels, buffer } = arena;
  const [xs, ys, zs, out] = [0, 1, 2, 3].map((k) => FIRST_FREE + 64 + k * column);
  const columns = [xs, ys, zs].map((at) => new Float64Array(buffer, at, ROOM));
  const state = new Int32Array(buffer, FIRST_FREE, 4);
  return {
    room: ROOM,
    state,
    emit(x, y, z, from, to) {
      columns[0].set(x.subarray(from, to));
      columns[1].set(y.subarray(from, to));
      columns[2].set(z.subarray(from, to));
      return new Uint8Array(buffer, out, kernels.emitLines(xs, ys, zs, to - from, FIRST_FREE, out));
    },
  };
}
