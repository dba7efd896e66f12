import type { MoveList } from "../../kernel/moves.ts";
import { makeBlock, readBlock } from "./block.ts";
import { type CutterLength, Machine, type ProgramEvent } from "./machine.ts";
import { type ReadError, Refusal } from "./refusal.ts";
import { R } from "./rules.ts";
import { makeScan } from "./scan.ts";
import { Track } from "./track.ts";
import type { Cursor } from "./value.ts";

export interface ReaderOptions {
  /** Lengths for G43 H; without it every length is 0: the tip is where the program says. */
  readonly cutters?: readonly CutterLength[];
  /** Where the cutter's tip stands at the start, program coordinates in mm. */
  readonly start?: readonly [number, number, number];
  /** Numbered parameters as the machine's file has them (5161..., 5221...), mm. */
  readonly parameters?: ReadonlyMap<number, number>;
  /** The operator's switch for lines that begin with a slash: true leaves them out. */
  readonly skipOptional?: boolean;
  /** Memory that an earlier reading has used and whose moves nobody looks at any more; new memory costs more than reading into it. */
  readonly memory?: Track;
}

/** What a program's text means. */
export interface ReadProgram {
  /** Places of the cutter's tip in mm, in the frame of the coordinate system that is active at the start. */
  readonly moves: MoveList;
  readonly events: readonly ProgramEvent[];
  /** Empty when the text was understood whole; otherwise `moves` leaves out the lines named here. */
  readonly errors: readonly ReadError[];
  readonly lines: number;
}

const MOST_ERRORS = 100;

/**
 * Reads and interprets one RS274/NGC program (NISTIR 6556, version 3, three axes). Never throws on bad text: what is not
 * accepted stands in `errors`. Text is ASCII; a comment may hold any byte.
 */
export function interpretProgram(text: Uint8Array | string, options: ReaderOptions = {}): ReadProgram {
  const bytes = typeof text === "string" ? toBytes(text) : text;
  const start = options.start ?? [0, 0, 0];
  const moves = options.memory ?? new Track();
  moves.begin(start, 64 + Math.ceil(1.1 * linesOf(bytes)));
  const machine = new Machine(start, options.parameters ?? new Map(), options.cutters ?? null, moves);
  const scan = makeScan(bytes);
  const cursor: Cursor = { bytes, i: 0, end: 0, parameters: machine.parameters, depth: 0 };
  const block = makeBlock();
  const errors: ReadError[] = [];
  const n = bytes.length;
  let from = 0;
  let line = 0;
  /** 0 nothing yet, 1 in the program, 2 after its closing percent. */
  let state = 0;
  let percent = 0;
  let ended = 0;
  let closed = false;
  let lastLine = 1;

  const fail = (e: Refusal, lineFrom: number, lineEnd: number): void => {
    const at = Math.max(lineFrom, Math.min(e.at, lineEnd));
    const word = ascii(bytes, at, Math.min(Math.max(e.to, at), lineEnd, at + 40));
    errors.push({ line, column: at - lineFrom + 1, word, rule: e.rule.id, says: e.message, tryThis: e.tryThis });
  };

  while (from < n) {
    if (state === 1 && ended === 0) {
      machine.line = line;
      from = scan(from, machine);
      line = machine.line;
      if (from >= n) break;
    }
    line++;
    machine.line = line;
    let end = from;
    while (end < n && bytes[end] !== 10 && bytes[end] !== 13) end++;
    const lineFrom = from;
    from = end + (bytes[end] === 13 && bytes[end + 1] === 10 ? 2 : 1);
    const only = onlyByte(bytes, lineFrom, end);
    if (only === 0) continue;
    lastLine = line;
    if (only === 37) {
      if (state === 0) percent = line;
      else if (percent > 0) {
        closed = true;
        break;
      } else {
        fail(
          new Refusal(
            R.end,
            lineFrom,
            end,
            "A percent sign closes a program that did not begin with one.",
            "Remove it, or begin with one.",
          ),
          lineFrom,
          end,
        );
        break;
      }
      state = 1;
      continue;
    }
    state = 1;
    if (ended > 0) continue;
    cursor.i = lineFrom;
    cursor.end = end;
    try {
      readBlock(cursor, block);
      if (block.optional && options.skipOptional === true) continue;
      for (let k = 0; k < block.set.length; k++) machine.parameters[block.set[k]] = block.setTo[k];
      machine.run(block);
      ended = machine.ended;
    } catch (e) {
      if (!(e instanceof Refusal)) throw e;
      fail(e, lineFrom, end);
      if (errors.length >= MOST_ERRORS) {
        fail(
          new Refusal(
            R.tooMany,
            lineFrom,
            end,
            "More than 100 lines cannot be read; reading stops here.",
            "Check that this file is an RS274/NGC program.",
          ),
          lineFrom,
          end,
        );
        break;
      }
    }
  }
  if (errors.length <= MOST_ERRORS && ((percent > 0 && !closed) || (percent === 0 && ended === 0))) {
    const says =
      percent > 0 && !closed
        ? "The program opens with a percent sign that is never closed."
        : "The program has no end; it may have been cut short.";
    errors.push({
      line: lastLine,
      column: 1,
      word: "",
      rule: R.end.id,
      says,
      tryThis: "End it with M2 or M30, and a percent sign if it began with one.",
    });
  }
  return { moves: machine.moves.list(), events: machine.events, errors, lines: line };
}

/** About how many lines a text has: counted in three parts of it. */
function linesOf(bytes: Uint8Array): number {
  const part = 2048;
  let seen = 0;
  let ends = 0;
  for (const from of bytes.length <= 3 * part ? [0, part, 2 * part] : [part, bytes.length >> 1, bytes.length - 2 * part]) {
    const to = Math.min(bytes.length, from + part);
    for (let i = from; i < to; i++) if (bytes[i] === 10) ends++;
    seen += Math.max(0, to - from);
  }
  return seen === 0 ? 0 : (ends / seen) * bytes.length;
}

/** The one byte other than white space on a line; 0 for none, -1 for more. */
function onlyByte(bytes: Uint8Array, from: number, end: number): number {
  let only = 0;
  for (let i = from; i < end; i++) {
    const b = bytes[i];
    if (b === 32 || b === 9) continue;
    if (only !== 0) return -1;
    only = b;
  }
  return only;
}

function ascii(bytes: Uint8Array, from: number, to: number): string {
  let s = "";
  for (let i = from; i < to; i++) s += bytes[i] >= 32 && bytes[i] < 127 ? String.fromCharCode(bytes[i]) : "?";
  return s.trim();
}

function toBytes(text: string): Uint8Array {
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) {
    bytes[i] = Math.min(text.charCodeAt(i), 127);
  }
  return bytes;
}
