import { Bytes } from "./bytes.ts";
import type { TrueType } from "./truetype.ts";

/** Flags of a part of a composite glyph (OpenType 1.9, glyf). */
const WORDS = 1;
const SCALE = 8;
const MORE = 32;
const TWO_SCALES = 64;
const MATRIX = 128;

/** Tables that a page's reader needs beside the glyphs; the last three steer the drawing on a coarse screen. */
const KEPT = ["head", "hhea", "maxp", "cvt ", "fpgm", "prep"] as const;

/**
 * A font of some glyphs of another, numbered as they stand in `glyphs` (the first is 0, the empty box). Parts of composite glyphs that are not
 * among them come after. Readers find glyphs by number: there is no map of characters in it.
 */
export function subset(font: TrueType, glyphs: readonly number[]): Uint8Array {
  const all = [...glyphs];
  const numberOf = new Map(all.map((g, k) => [g, k]));
  const glyf = new Bytes(1 << 16);
  const loca = new Bytes();
  const hmtx = new Bytes();
  const outlines = font.table("glyf")!;
  const places = font.table("loca")!;
  const long = font.table("head")!.getInt16(50) === 1;
  const placeOf = (g: number): number => (long ? places.getUint32(4 * g) : 2 * places.getUint16(2 * g));
  const bearings = font.table("hmtx")!;
  const metrics = font.table("hhea")!.getUint16(34);
  // the list grows while it is walked
  for (let k = 0; k < all.length; k++) {
    const g = all[k];
    loca.u32(glyf.length);
    const [from, to] = [placeOf(g), placeOf(g + 1)];
    const outline = new Uint8Array(outlines.buffer, outlines.byteOffset + from, to - from).slice();
    const view = new DataView(outline.buffer);
    if (outline.length > 0 && view.getInt16(0) < 0)
      for (let at = 10, flags = MORE; flags & MORE; ) {
        flags = view.getUint16(at);
        const part = view.getUint16(at + 2);
        let number = numberOf.get(part);
        if (number === undefined) {
          number = all.push(part) - 1;
          numberOf.set(part, number);
        }
        view.setUint16(at + 2, number);
        at += 4 + (flags & WORDS ? 4 : 2) + (flags & SCALE ? 2 : flags & TWO_SCALES ? 4 : flags & MATRIX ? 8 : 0);
      }
    glyf.bytes(outline);
    while (glyf.length % 4 > 0) glyf.byte(0);
    hmtx.u16(font.advance(g)).u16(bearings.getUint16(g < metrics ? 4 * g + 2 : 4 * metrics + 2 * (g - metrics)));
  }
  loca.u32(glyf.length);
  const tables = new Map<string, Uint8Array>([
    ["glyf", glyf.view()],
    ["hmtx", hmtx.view()],
    ["loca", loca.view()],
  ]);
  for (const tag of KEPT) {
    const t = font.table(tag);
    if (t !== undefined) tables.set(tag, new Uint8Array(t.buffer, t.byteOffset, t.byteLength).slice());
  }
  const set = (tag: string, at: number, v: number): void => new DataView(tables.get(tag)!.buffer).setUint16(at, v);
  set("head", 50, 1);
  set("hhea", 34, all.length);
  set("maxp", 4, all.length);
  new DataView(tables.get("head")!.buffer).setUint32(8, 0);
  return fontFile(tables);
}

/** The tables in order of their names, with the directory before them. */
function fontFile(tables: ReadonlyMap<string, Uint8Array>): Uint8Array {
  const tags = [...tables.keys()].sort();
  const power = Math.floor(Math.log2(tags.length));
  const out = new Bytes(1 << 16);
  out
    .u32(0x00010000)
    .u16(tags.length)
    .u16(16 << power)
    .u16(power)
    .u16(16 * tags.length - (16 << power));
  let at = 12 + 16 * tags.length;
  for (const tag of tags) {
    const t = tables.get(tag)!;
    out.text(tag).u32(sumOf(t)).u32(at).u32(t.length);
    at += (t.length + 3) & ~3;
  }
  let head = 0;
  for (const tag of tags) {
    if (tag === "head") head = out.length;
    out.bytes(tables.get(tag)!);
    while (out.length % 4 > 0) out.byte(0);
  }
  const file = out.view().slice();
  new DataView(file.buffer).setUint32(head + 8, (0xb1b0afba - sumOf(file)) >>> 0);
  return file;
}

/** Sum of the table's 32-bit words, the last filled up with zeros. */
function sumOf(t: Uint8Array): number {
  let sum = 0;
  for (let k = 0; k < t.length; k++) sum = (sum + (t[k] << (24 - 8 * (k & 3)))) >>> 0;
  return sum;
}
