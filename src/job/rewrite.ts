import { basename, dirname } from "node:path";
import type { Disk } from "./disk.ts";
import type { Source } from "./source.ts";
import { writeFiles } from "./write.ts";

/** How an order or a shop that was read is written anew: whole or not at all. */
export type Rewrite = (source: Source, bytes: Uint8Array) => Promise<void>;

/** As a plain file, beside which nobody else writes. */
export const onDisk =
  (disk: Disk): Rewrite =>
  (source, bytes) =>
    writeFiles(dirname(source.path), [{ path: basename(source.path), bytes }], { disk }).then(() => undefined);

export const rewriteBy = (to: Disk | Rewrite): Rewrite => (typeof to === "function" ? to : onDisk(to));
