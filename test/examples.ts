import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { drawingAsked, type Source } from "../src/job/source.ts";

/** An order of our own with the drawing it asks for. */
export function orderSource(path: string): Source {
  const bytes = readFileSync(path);
  const asked = drawingAsked(bytes);
  return asked === null ? { path, bytes } : { path, bytes, drawing: readFileSync(join(dirname(path), asked.drawing)) };
}
