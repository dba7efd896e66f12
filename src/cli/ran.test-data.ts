import { realDisk } from "../job/disk.ts";
import { run } from "./app.ts";
import type { Io } from "./io.ts";

export interface Ran {
  readonly code: number;
  readonly out: string;
  readonly err: string;
}

/** A terminal that is none, with what was written to it. */
export function heard(options: Partial<Io> = {}): { readonly io: Io; readonly out: () => string; readonly err: () => string } {
  let [out, err] = ["", ""];
  const io: Io = {
    out: (t) => {
      out += t;
    },
    err: (t) => {
      err += t;
    },
    terminal: false,
    colour: false,
    columns: 80,
    signal: new AbortController().signal,
    disk: realDisk,
    workers: 0,
    cache: null,
    ...options,
  };
  return { io, out: () => out, err: () => err };
}

/** One command line in this process. */
export async function cli(...argv: string[]): Promise<Ran> {
  const { io, out, err } = heard();
  const code = await run(argv, io);
  return { code, out: out(), err: err() };
}
