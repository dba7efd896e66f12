import { readInput } from "../job/input.ts";
import { readOrderSource } from "../job/order-source.ts";
import { MAX_SOURCE_BYTES, type Source } from "../job/source.ts";
import type { Io } from "./io.ts";

/** Reads an order (with its drawing) or a shop that was named on the command line. */
export async function source(io: Io, path: string, what: "order" | "shop"): Promise<Source> {
  if (what === "order") return readOrderSource(path, io.disk);
  return { path, bytes: await readInput(path, what, MAX_SOURCE_BYTES, io.disk) };
}
