import { Bytes } from "./bytes.ts";
import type { Deflate } from "./deflate.ts";

/*
 * Pictures of few colours: PNG with a palette (PNG specification, third edition), a byte for each dot.
 */

/**
 * `palette`: red, green, blue of up to 256 colours. `paint` is given the rows from the top, `width` + 1 bytes each, the first of which stays 0 (no
 * filter: for places in a table it would only cost time); the others are places in the palette.
 */
export function indexedPng(
  width: number,
  height: number,
  palette: Uint8Array,
  paint: (rows: Uint8Array) => void,
  deflate: Deflate,
): Uint8Array {
  const rows = new Uint8Array((width + 1) * height);
  paint(rows);
  const out = new Bytes(1 << 14);
  for (const b of SIGNATURE) out.byte(b);
  // 8 bits, palette, packed, no filter, not interlaced
  part(out, "IHDR", new Bytes().u32(width).u32(height).byte(8).byte(3).byte(0).byte(0).byte(0).view());
  part(out, "PLTE", palette);
  part(out, "IDAT", deflate(rows));
  part(out, "IEND", new Uint8Array(0));
  return out.view().slice();
}

const SIGNATURE = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a];

/** A picture of ours in its parts, for a writer that holds them otherwise. */
export interface Indexed {
  readonly width: number;
  readonly height: number;
  readonly palette: Uint8Array;
  /** As packed, with the filter byte before each row. */
  readonly rows: Uint8Array;
}

/** Takes a picture apart that `indexedPng` made. */
export function readIndexed(png: Uint8Array): Indexed {
  const view = new DataView(png.buffer, png.byteOffset, png.byteLength);
  const parts = new Map<string, Uint8Array>();
  for (let at = 8; at < png.length; at += 12 + view.getUint32(at))
    parts.set(String.fromCharCode(...png.subarray(at + 4, at + 8)), png.subarray(at + 8, at + 8 + view.getUint32(at)));
  const [palette, rows] = [parts.get("PLTE"), parts.get("IDAT")];
  if (palette === undefined || rows === undefined) throw new Error("the picture has no palette");
  return { width: view.getUint32(16), height: view.getUint32(20), palette, rows };
}

function part(out: Bytes, kind: string, data: Uint8Array): void {
  const from = out.u32(data.length).length;
  out.text(kind).bytes(data);
  out.u32(crc(out.view().subarray(from)));
}

/** Cyclic redundancy check (annex D there). */
const CRC: Uint32Array = new Uint32Array(256).map((_, n) => {
  let c = n;
  for (let k = 0; k < 8; k++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c;
});

function crc(bytes: Uint8Array): number {
  let c = 0xffffffff;
  for (let k = 0; k < bytes.length; k++) c = CRC[(c ^ bytes[k]) & 255] ^ (c >>> 8);
  return (c ^ 0xffffffff) >>> 0;
}
