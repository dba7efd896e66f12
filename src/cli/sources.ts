import type { Disk } from "../job/disk.ts";
import { InputError } from "../job/errors.ts";
import { MAX_SOURCE_BYTES, readInput } from "../job/input.ts";
import { readOrderSource } from "../job/order-source.ts";
import type { Rewrite } from "../job/rewrite.ts";
import type { Source } from "../job/source.ts";
import { writingOf } from "../store/recording.ts";
import type { Io } from "./io.ts";

/** Reads an order (with its drawing) or a shop that was named on the command line. */
export async function source(io: Io, path: string, what: "order" | "shop"): Promise<Source> {
  if (what === "order") return readOrderSource(path, io.disk);
  return { path, bytes: await readInput(path, what, MAX_SOURCE_BYTES, io.disk) };
}

/** How often something is worked out anew when somebody else was quicker. */
const TRIES = 5;

/**
 * Works something out from a paper and writes it. In a shop's folder it is written under the lock that the bench takes; when somebody else has
 * written meanwhile, it is worked out again from what stands there, unless `once`: what was measured would mean something else.
 */
export async function storing<T>(
  io: Io,
  paper: Source,
  kind: "order" | "shop",
  act: (paper: Source, to: Disk | Rewrite) => Promise<T>,
  once = false,
): Promise<T> {
  const write = await writingOf(paper.path);
  if (write === null) return act(paper, io.disk);
  for (let now = paper, k = 1; ; k++) {
    let done = true;
    const result = await act(now, async ({ bytes: before }, bytes) => {
      done = await write(before, bytes);
    });
    if (done) return result;
    if (once || k === TRIES)
      throw new InputError(paper.path, "somebody else changed this meanwhile; nothing was written", "say the same again");
    now = await source(io, paper.path, kind);
  }
}
