import { styleText } from "node:util";
import { type CacheOptions, defaultCache } from "../job/cache/store.ts";
import { type Disk, realDisk } from "../job/disk.ts";

/** What the command needs of the world, so that tests can run it without a process of its own. */
export interface Io {
  /** Results. */
  out(text: string): void;
  /** Progress, findings of a run that prints something else, errors. */
  err(text: string): void;
  /** Is stderr a terminal (a bar can be redrawn)? */
  readonly terminal: boolean;
  /** May results and errors carry colour? */
  readonly colour: boolean;
  readonly columns: number;
  readonly signal: AbortSignal;
  readonly disk: Disk;
  /** How many threads when nobody says. */
  readonly workers: number;
  /** Where results are kept when nobody says; null: nowhere. */
  readonly cache: CacheOptions | null;
}

export type Style = "bold" | "dim" | "red" | "yellow" | "cyan" | "green";

/** Colours a text when the terminal takes it; leaves it alone elsewhere. */
export const paint = (io: Io, style: Style | readonly Style[], text: string): string =>
  io.colour ? styleText(style as Style, text, { validateStream: false }) : text;

/**
 * The real process. A reader that goes away (a closed pipe) ends the printing, not the work: what is being written is
 * finished and the exit code stays true.
 */
export function processIo(signal: AbortSignal): Io {
  const closed = { out: false, err: false };
  process.stdout.on("error", () => {
    closed.out = true;
  });
  process.stderr.on("error", () => {
    closed.err = true;
  });
  const colour = process.env.NO_COLOR === undefined && process.stdout.isTTY === true && process.stderr.isTTY === true;
  return {
    out: (text) => {
      if (!closed.out) process.stdout.write(text);
    },
    err: (text) => {
      if (!closed.err) process.stderr.write(text);
    },
    terminal: process.stderr.isTTY === true,
    colour,
    columns: process.stderr.columns ?? 80,
    signal,
    disk: realDisk,
    workers: 2,
    cache: defaultCache(),
  };
}
