import type { MoveList } from "../kernel/moves.ts";
import { FIRST_FREE, kernelInUse, openArena } from "../kernel/wasm/load.ts";

/** Moves that are written at a time, the bytes from one column of them to the next (both as in the kernel), and more bytes than a line has. */
const ROOM = 1024;
const COLUMN = ROOM * 8 + 64;
const COUNT_COLUMN = ROOM * 4 + 64;
const LINE = 64;
const STATE = 64;

/** The fewest moves in a row that are worth it. */
export const MANY = 12;

/** Largest count that the kernel takes. */
const LARGEST_COUNT = 2 ** 31 - 2;

/** Straight moves as text in WebAssembly: what the writer's own loop writes. */
export interface Emitter {
  readonly room: number;
  /** Counts of x, y, z and the feed in force (-1: none), 1 where G1 is in force; then the same of the last move done, and how many were. */
  readonly state: Int32Array;
  /** Whether a count is one that the kernel takes. */
  holds(count: number): boolean;
  /** The lines of straight moves from..to, at most `room`; a view that the next call overwrites. It stops before what may not be written. */
  emit(moves: MoveList, from: number, to: number): Uint8Array;
}

type Desk = ReturnType<typeof openDesk>;

function openDesk() {
  const end = 4 * COLUMN + 4 * COUNT_COLUMN;
  const arena = openArena(STATE + end + ROOM * LINE + 64);
  if (arena === null) return null;
  const { kernels, buffer } = arena;
  const columns = FIRST_FREE + STATE;
  return {
    kernels,
    buffer,
    columns,
    out: columns + end,
    state: new Int32Array(buffer, FIRST_FREE, STATE / 4),
    of: [0, 1, 2, 3].map((k) => new Float64Array(buffer, columns + k * COLUMN, ROOM)),
  };
}

/** One is enough: nothing of one text is left in it when the next begins. */
let desk: Desk | undefined;

/** Null where WebAssembly is not in use. Places are `limit` mm away at most, and written with so many decimals, 4 to 6. */
export function openEmitter(decimals: number, limit: number): Emitter | null {
  if (kernelInUse() === "plain") return null;
  if (desk === undefined) desk = openDesk();
  if (desk === null) return null;
  const { kernels, buffer, columns, out, state, of } = desk;
  const scale = 10 ** decimals;
  const near = Math.min(limit, LARGEST_COUNT / scale);
  return {
    room: ROOM,
    state,
    holds: (count) => Math.abs(count) <= LARGEST_COUNT,
    emit(moves, from, to) {
      of[0].set(moves.x.subarray(from, to));
      of[1].set(moves.y.subarray(from, to));
      of[2].set(moves.z.subarray(from, to));
      of[3].set(moves.feed.subarray(from, to));
      return new Uint8Array(buffer, out, kernels.emitLines(columns, to - from, decimals, scale, near, FIRST_FREE, out));
    },
  };
}
