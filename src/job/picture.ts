/*
 * What may come in as a photograph: JPEG and PNG, walked through by their parts without being unpacked. Whatever says where and by whom a
 * picture was taken is left out; only which way up it is stays.
 */

export interface Picture {
  readonly media: "image/jpeg" | "image/png";
  readonly width: number;
  readonly height: number;
  /** As it is kept. */
  readonly bytes: Uint8Array;
}

/** A picture that cannot be taken, and why. */
export class PictureError extends Error {}

/** Pixels a browser can still unpack on a tablet. */
const MOST_PIXELS = 60_000_000;
const MOST_SIDE = 16_000;
const MOST_PARTS = 20_000;

function checkSides(width: number, height: number): void {
  if (width < 1 || height < 1) throw new PictureError("The picture has no size.");
  if (width > MOST_SIDE || height > MOST_SIDE || width * height > MOST_PIXELS)
    throw new PictureError(
      `The picture has ${width} x ${height} pixels; at most ${MOST_PIXELS / 1e6} million, and ${MOST_SIDE} on a side.`,
    );
}

const joined = (parts: readonly Uint8Array[]): Uint8Array => {
  const out = new Uint8Array(parts.reduce((n, p) => n + p.length, 0));
  let at = 0;
  for (const p of parts) {
    out.set(p, at);
    at += p.length;
  }
  return out;
};

/** Throws PictureError on anything that is not a whole JPEG or PNG. */
export function readPicture(bytes: Uint8Array): Picture {
  if (bytes[0] === 0xff && bytes[1] === 0xd8) return jpeg(bytes);
  if (PNG.every((b, k) => bytes[k] === b)) return png(bytes);
  throw new PictureError("This is neither a JPEG nor a PNG.");
}

const PNG = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a];
/** Parts of a PNG that its pixels need (PNG specification, third edition, section 11). */
const PNG_KEPT = new Set(["IHDR", "PLTE", "IDAT", "IEND", "tRNS", "gAMA", "cHRM", "sRGB", "iCCP", "sBIT", "pHYs"]);

function png(bytes: Uint8Array): Picture {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const parts = [bytes.subarray(0, 8)];
  let [width, height, pixels] = [0, 0, false];
  for (let at = 8, k = 0; ; k++) {
    if (k > MOST_PARTS || at + 12 > bytes.length) throw new PictureError("The PNG is cut short.");
    const length = view.getUint32(at);
    const kind = String.fromCharCode(...bytes.subarray(at + 4, at + 8));
    if (length > bytes.length - at - 12) throw new PictureError("The PNG is cut short.");
    if (k === 0 ? kind !== "IHDR" || length !== 13 : kind === "IHDR") throw new PictureError("The PNG does not begin as it should.");
    if (kind === "IHDR") {
      [width, height] = [view.getUint32(at + 8), view.getUint32(at + 12)];
      checkSides(width, height);
    }
    pixels ||= kind === "IDAT";
    if (PNG_KEPT.has(kind)) parts.push(bytes.subarray(at, at + 12 + length));
    at += 12 + length;
    if (kind === "IEND") break;
  }
  if (!pixels) throw new PictureError("The PNG has no pixels.");
  return { media: "image/png", width, height, bytes: joined(parts) };
}

/** JPEG, ITU-T T.81, annex B: markers with their segments, then the coded pixels up to the end. */
function jpeg(bytes: Uint8Array): Picture {
  const parts = [bytes.subarray(0, 2)];
  let [width, height, turn] = [0, 0, 1];
  for (let at = 2, k = 0; ; k++) {
    if (k > MOST_PARTS || at + 4 > bytes.length || bytes[at] !== 0xff) throw new PictureError("The JPEG is cut short, or broken.");
    const marker = bytes[at + 1];
    if (marker === 0xff) {
      at++;
      continue;
    }
    if (marker === 0xd9) throw new PictureError("The JPEG has no pixels.");
    const length = (bytes[at + 2] << 8) | bytes[at + 3];
    if (length < 2 || at + 2 + length > bytes.length) throw new PictureError("The JPEG is cut short.");
    const segment = bytes.subarray(at, at + 2 + length);
    if (marker >= 0xc0 && marker <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(marker)) {
      if (length < 8) throw new PictureError("The JPEG's frame is broken.");
      height = (segment[5] << 8) | segment[6];
      width = (segment[7] << 8) | segment[8];
      checkSides(width, height);
    }
    if (marker === 0xe1) turn = orientation(segment) ?? turn;
    // APP0 (JFIF), APP2 (colour profile) and APP14 (colour transform) are needed for the pixels; other APPn and comments are not
    const said = (marker >= 0xe0 && marker <= 0xef && ![0xe0, 0xe2, 0xee].includes(marker)) || marker === 0xfe;
    if (!said) parts.push(segment);
    at += 2 + length;
    if (marker === 0xda) {
      if (width === 0) throw new PictureError("The JPEG has no size.");
      const end = lastEnd(bytes, at);
      parts.push(bytes.subarray(at, end));
      break;
    }
  }
  if (turn !== 1) parts.splice(1, 0, turnSegment(turn));
  return { media: "image/jpeg", width, height, bytes: joined(parts) };
}

/** Just behind the last end marker; what is hung on behind it is left out. */
function lastEnd(bytes: Uint8Array, from: number): number {
  for (let at = from; at + 1 < bytes.length; at++) {
    if (bytes[at] !== 0xff) continue;
    const next = bytes[at + 1];
    if (next === 0xd9) return at + 2;
    // stuffed bytes, restarts and fill go on; other markers have segments between scans
    if (next === 0 || next === 0xff || (next >= 0xd0 && next <= 0xd7)) continue;
    if (at + 3 >= bytes.length) break;
    at += 1 + ((bytes[at + 2] << 8) | bytes[at + 3]);
  }
  throw new PictureError("The JPEG is cut short: its end is missing.");
}

/** Which way up (Exif tag 0x0112, 1 to 8); null when the segment does not say. */
function orientation(segment: Uint8Array): number | null {
  if (String.fromCharCode(...segment.subarray(4, 10)) !== "Exif\0\0" || segment.length < 18) return null;
  const view = new DataView(segment.buffer, segment.byteOffset + 10, segment.length - 10);
  const little = view.getUint16(0) === 0x4949;
  const first = view.getUint32(4, little);
  if (first + 2 > view.byteLength) return null;
  const count = Math.min(view.getUint16(first, little), 200);
  for (let k = 0; k < count; k++) {
    const at = first + 2 + 12 * k;
    if (at + 12 > view.byteLength) return null;
    if (view.getUint16(at, little) !== 0x0112) continue;
    const value = view.getUint16(at + 8, little);
    return value >= 1 && value <= 8 ? value : null;
  }
  return null;
}

/** An Exif segment that says which way up, and nothing else. */
const turnSegment = (turn: number): Uint8Array =>
  Uint8Array.of(
    ...[0xff, 0xe1, 0, 34, 0x45, 0x78, 0x69, 0x66, 0, 0],
    ...[0x4d, 0x4d, 0, 42, 0, 0, 0, 8, 0, 1],
    ...[0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, turn, 0, 0, 0, 0, 0, 0],
  );
