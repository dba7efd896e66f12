import { dirname, join, relative, sep } from "node:path";
import { MAX_DRAWING_BYTES } from "../spec/drawing/rules.ts";
import { checkDrawingSize } from "../spec/drawing/text.ts";
import { type Disk, realDisk } from "./disk.ts";
import { InputError } from "./errors.ts";
import { asInputError, MAX_SOURCE_BYTES, readInput } from "./input.ts";
import type { Source } from "./source.ts";

/** An order's file, and the drawing it asks for. Throws InputError for files that cannot be used. */
export async function readOrderSource(path: string, disk: Disk = realDisk): Promise<Source> {
  const bytes = await readInput(path, "order", MAX_SOURCE_BYTES, disk);
  const request = mayAsk(bytes) ? (await import("./source.ts")).drawingAsked(bytes) : null;
  return request === null ? { path, bytes } : { path, bytes, drawing: await readDrawingFile(dirname(path), request.drawing, disk) };
}

/** Whether the bytes hold the key at all, as it is or in escapes: of most orders this is known without their schema. */
function mayAsk(bytes: Uint8Array): boolean {
  const text = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  return text.includes("drawing") || text.includes("\\u");
}

/** Only a plain file that lies in the order's folder or below once every link is followed; its size is looked at before a byte is read. */
async function readDrawingFile(folder: string, name: string, disk: Disk): Promise<Uint8Array> {
  const named = join(folder, name);
  let real = named;
  try {
    real = await disk.real(named);
    const way = relative(await disk.real(folder), real);
    if (way === "" || way === ".." || way.startsWith(`..${sep}`) || join(way) !== way || /^(?:[a-zA-Z]:|[\\/])/.test(way)) {
      throw new InputError(named, "the drawing lies outside of the order's folder, by a link", "copy the drawing itself beside the order");
    }
    const found = await disk.kind(real);
    const tooLarge = found?.kind === "file" ? checkDrawingSize(found.size) : null;
    if (tooLarge !== null) throw new InputError(named, tooLarge.says, tooLarge.tryThis);
  } catch (error) {
    throw asInputError(error, named, "headstock drawing that the order asks for");
  }
  return readInput(real, "headstock drawing that the order asks for", MAX_DRAWING_BYTES, disk);
}
