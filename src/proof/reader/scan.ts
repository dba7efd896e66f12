import { FIRST_FREE, kernelInUse, openArena } from "../../kernel/wasm/load.ts";
import type { Machine } from "./machine.ts";
import { plainLines } from "./plain.ts";

/** Reads plain lines from a place of the text on, as `plainLines` does, and gives the first that it leaves to the full way. */
export type Scan = (start: number, m: Machine) => number;

/** Text, and moves, that are worked on at a time; both stay in the processor's near memory. ROOM and COLUMN are those of the kernel. */
const TEXT = 16384;
const ROOM = 2048;
/** Bytes between two columns of doubles: places of one move do not fall on the same lines of that memory. */
const COLUMN = ROOM * 8 + 192;
/** Bytes after the text, so that nothing reads past it. */
const SPARE = 64;
const STATE = 64;
/** A text shorter than this is read without. */
const SHORT = 4096;
/** Fewer moves than this are copied one by one. */
const FEW = 24;

/** Why the kernel stopped: the text it was given ended, a line is not plain, or its room for moves is full. */
const [ENDED, , FULL] = [0, 1, 2];

type Desk = NonNullable<ReturnType<typeof openDesk>>;

function openDesk() {
  const arena = openArena(TEXT + SPARE + STATE + 4 * COLUMN + ROOM * 5 + 128);
  if (arena === null) return null;
  const { kernels, buffer } = arena;
  const state = FIRST_FREE + TEXT + SPARE;
  const out = state + STATE;
  const column = (k: number): Float64Array => new Float64Array(buffer, out + k * COLUMN, ROOM);
  return {
    kernels,
    state,
    out,
    text: new Uint8Array(buffer, FIRST_FREE, TEXT + SPARE),
    places: new Float64Array(buffer, state, 4),
    modes: new Int32Array(buffer, state + 32, 4),
    x: column(0),
    y: column(1),
    z: column(2),
    feed: column(3),
    line: new Uint32Array(buffer, out + 4 * COLUMN, ROOM),
    kind: new Uint8Array(buffer, out + 4 * COLUMN + ROOM * 4 + 64, ROOM),
  };
}

/** One is enough: nothing of a reading is left in it when the next one begins. */
let desk: Desk | null = null;

/** The quick way through a text: in WebAssembly where it is in use and the text is worth it, else in plain TypeScript. */
export function makeScan(bytes: Uint8Array): Scan {
  if (bytes.length < SHORT || kernelInUse() === "plain") return (start, m) => plainLines(bytes, start, m);
  desk ??= openDesk();
  if (desk === null) return (start, m) => plainLines(bytes, start, m);
  const d = desk;
  const n = bytes.length;
  /** The part of the text that the desk holds. */
  let base = 0;
  let end = 0;
  return (start, m) => {
    if (!m.absolute || m.inverseTime) return start;
    let from = start;
    for (;;) {
      if (from < base || from >= end) {
        base = from;
        end = Math.min(n, base + TEXT);
        d.text.set(bytes.subarray(base, end));
        d.text[end - base] = 0;
      }
      d.places[0] = m.place[0];
      d.places[1] = m.place[1];
      d.places[2] = m.place[2];
      d.places[3] = m.feed;
      d.modes[0] = m.motion;
      const [ox, oy, oz] = m.off;
      from = base + d.kernels.scanLines(FIRST_FREE, from - base, end - base, d.state, d.out, ROOM, m.line, m.unit, ox, oy, oz);
      m.place[0] = d.places[0];
      m.place[1] = d.places[1];
      m.place[2] = d.places[2];
      m.feed = d.places[3];
      m.motion = d.modes[0];
      m.line = d.modes[2];
      if (d.modes[1] > 0) take(d, d.modes[1], m, from / n);
      const why = d.modes[3];
      if (why === FULL) continue;
      if (why !== ENDED || end === n) return from;
      // the line that is cut short begins the next part
      end = base;
    }
  };
}

function take(d: Desk, count: number, m: Machine, share: number): void {
  const { moves } = m;
  moves.makeRoom(count, share);
  const at = moves.count;
  if (count < FEW) {
    const { kind, x, y, z, feed, line } = moves;
    for (let k = 0, i = at; k < count; k++, i++) {
      kind[i] = d.kind[k];
      x[i] = d.x[k];
      y[i] = d.y[k];
      z[i] = d.z[k];
      feed[i] = d.feed[k];
      line[i] = d.line[k];
    }
  } else for (const name of ["kind", "x", "y", "z", "feed", "line"] as const) moves[name].set(d[name].subarray(0, count), at);
  moves.count = at + count;
}
