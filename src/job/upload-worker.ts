import { parentPort, workerData } from "node:worker_threads";
import { MAX_DRAWING_BYTES, readDrawing } from "../spec/drawing/index.ts";
import { ACTIVE } from "../spec/drawing/rules.ts";
import { PictureError, readPicture } from "./picture.ts";
import type { UploadKind, UploadReply } from "./uploads.ts";

/** The thread in which files from outside are read: one file, one answer. */
function read(kind: UploadKind, bytes: Uint8Array): UploadReply {
  if (kind === "photo") {
    try {
      return readPicture(bytes);
    } catch (e) {
      if (e instanceof PictureError) return { refused: e.message, tryThis: "send a photograph as JPEG or PNG" };
      throw e;
    }
  }
  if (bytes.length > MAX_DRAWING_BYTES) return { refused: "the drawing is too large", tryThis: "leave out what is not the outline" };
  const { findings, facts } = readDrawing(bytes, kind);
  // a unit or a layer that the order still has to name is no reason to refuse; what is no drawing is
  const stop = findings.find((f) => f.severity === "stop" && facts.layers.length === 0);
  if (stop !== undefined) return { refused: stop.says, tryThis: stop.tryThis };
  const active = findings.find((f) => f.rule === ACTIVE.id);
  if (active !== undefined) return { refused: active.says, tryThis: "save it as plain SVG, without scripts" };
  return { media: kind === "svg" ? "image/svg+xml" : "image/vnd.dxf", width: 0, height: 0, bytes };
}

const { kind, bytes } = workerData as { readonly kind: UploadKind; readonly bytes: Uint8Array };
parentPort?.postMessage(read(kind, bytes));
