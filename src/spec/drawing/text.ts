import type { Finding } from "../../units/index.ts";
import { MAX_DRAWING_BYTES, REPAIRED, refuse, SIZE, TEXT, tell } from "./rules.ts";

/** The finding for a drawing of `bytes` bytes that is too large to read; null when it may be read. Ask before reading the file. */
export function checkDrawingSize(bytes: number): Finding | null {
  if (bytes <= MAX_DRAWING_BYTES) return null;
  return tell(
    SIZE,
    "the drawing",
    `The drawing has ${bytes} bytes; at most ${MAX_DRAWING_BYTES} are read.`,
    "Save the outline alone, without pictures and without other layers: an outline is a few kilobytes.",
    { value: bytes, limit: MAX_DRAWING_BYTES, unit: "bytes" },
  );
}

/** Text of the file's bytes: UTF-8, or for DXF the Western code page of old files. Throws a Refusal. */
export function drawingText(bytes: Uint8Array, kind: "dxf" | "svg", findings: Finding[]): string {
  const tooLarge = checkDrawingSize(bytes.byteLength);
  if (tooLarge !== null) refuse(SIZE, tooLarge.where, tooLarge.says, tooLarge.tryThis, tooLarge);
  const no = (what: string, tryThis: string): never => refuse(TEXT, "the drawing", what, tryThis);
  if (bytes.byteLength === 0) no("The drawing is empty.", "Save it again from the drawing program.");
  if (bytes[0] === 0x1f && bytes[1] === 0x8b) no("The drawing is packed (gzip).", "Unpack it, or save it as plain SVG.");
  if (bytes[0] === 0x50 && bytes[1] === 0x4b) no("The drawing is a zip archive.", "Unpack it and give the drawing in it.");
  if ((bytes[0] === 0xff && bytes[1] === 0xfe) || (bytes[0] === 0xfe && bytes[1] === 0xff)) {
    no("The drawing is written in UTF-16.", "Save it as UTF-8.");
  }
  const zero = bytes.indexOf(0);
  if (zero >= 0) {
    refuse(
      TEXT,
      `byte ${zero}`,
      `The drawing is not text: byte ${zero} is zero.`,
      kind === "dxf" ? "Save it as text (ASCII) DXF, not in the binary form." : "Save it as plain SVG.",
      { value: zero },
    );
  }
  let text: string;
  try {
    text = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch {
    if (kind === "svg") no("The drawing is not UTF-8 text.", "Save it as UTF-8.");
    text = new TextDecoder("windows-1252").decode(bytes);
    findings.push(
      tell(
        REPAIRED,
        "the drawing",
        "The drawing is not UTF-8; its texts were read in the Western code page 1252.",
        "Nothing, if layer names look right.",
      ),
    );
  }
  if (text.charCodeAt(0) === 0xfeff) {
    text = text.slice(1);
    findings.push(tell(REPAIRED, "line 1", "The drawing starts with a byte order mark, which was skipped.", "Nothing."));
  }
  if (text.trim() === "") no("The drawing is empty.", "Save it again from the drawing program.");
  return text;
}
