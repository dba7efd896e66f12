/*
 * As much of a TrueType font as a page needs: which glyph a character has, how wide it is, how pairs are kerned, and a smaller font of the
 * glyphs that were used (OpenType specification 1.9: tables cmap format 4, hmtx, kern format 0, name, glyf, loca).
 */

export interface TrueType {
  readonly name: string;
  readonly unitsPerEm: number;
  readonly ascent: number;
  readonly descent: number;
  /** xMin, yMin, xMax, yMax in font units. */
  readonly box: readonly [number, number, number, number];
  readonly glyphs: number;
  /** Bytes of a table; undefined when the font has none of that name. */
  readonly table: (tag: string) => DataView | undefined;
  /** 0, the empty box, for a character that the font does not have. */
  readonly glyphOf: (codePoint: number) => number;
  /** Advance in font units. */
  readonly advance: (glyph: number) => number;
  /** What a pair is set closer (below 0) or wider, font units. */
  readonly kern: (left: number, right: number) => number;
}

export function readTrueType(bytes: Uint8Array): TrueType {
  const file = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const tables = new Map<string, DataView>();
  for (let k = 0, at = 12; k < file.getUint16(4); k++, at += 16) {
    const tag = String.fromCharCode(...bytes.subarray(at, at + 4));
    tables.set(tag, new DataView(bytes.buffer, bytes.byteOffset + file.getUint32(at + 8), file.getUint32(at + 12)));
  }
  const table = (tag: string): DataView => {
    const found = tables.get(tag);
    if (found === undefined) throw new Error(`the font has no table "${tag}"`);
    return found;
  };
  const [head, hhea, hmtx] = [table("head"), table("hhea"), table("hmtx")];
  const metrics = hhea.getUint16(34);
  const pairs = kernPairs(tables.get("kern"));
  return {
    name: postScriptName(table("name")),
    unitsPerEm: head.getUint16(18),
    ascent: hhea.getInt16(4),
    descent: hhea.getInt16(6),
    box: [head.getInt16(36), head.getInt16(38), head.getInt16(40), head.getInt16(42)],
    glyphs: table("maxp").getUint16(4),
    table: (tag) => tables.get(tag),
    glyphOf: characterMap(table("cmap")),
    advance: (glyph) => hmtx.getUint16(4 * Math.min(glyph, metrics - 1)),
    kern: (left, right) => pairs.get(65536 * left + right) ?? 0,
  };
}

/** Name 6 of the Windows platform, as a PDF names the font. */
function postScriptName(name: DataView): string {
  const texts = name.getUint16(4);
  for (let k = 0, at = 6; k < name.getUint16(2); k++, at += 12) {
    if (name.getUint16(at) !== 3 || name.getUint16(at + 6) !== 6) continue;
    const from = texts + name.getUint16(at + 10);
    let text = "";
    for (let i = 0; i < name.getUint16(at + 8); i += 2) text += String.fromCharCode(name.getUint16(from + i));
    return text;
  }
  throw new Error("the font has no PostScript name");
}

/** The Windows Unicode map of the basic plane. */
function characterMap(cmap: DataView): (codePoint: number) => number {
  for (let k = 0, at = 4; k < cmap.getUint16(2); k++, at += 8) {
    const from = cmap.getUint32(at + 4);
    if (cmap.getUint16(at) !== 3 || cmap.getUint16(at + 2) !== 1 || cmap.getUint16(from) !== 4) continue;
    const twice = cmap.getUint16(from + 6);
    const ends = from + 14;
    const starts = ends + twice + 2;
    return (c) => {
      if (c > 0xffff) return 0;
      let s = 0;
      while (s < twice && cmap.getUint16(ends + s) < c) s += 2;
      if (s >= twice || cmap.getUint16(starts + s) > c) return 0;
      const delta = cmap.getUint16(starts + twice + s);
      const place = starts + 2 * twice + s;
      const offset = cmap.getUint16(place);
      const glyph = offset === 0 ? c : cmap.getUint16(place + offset + 2 * (c - cmap.getUint16(starts + s)));
      return offset !== 0 && glyph === 0 ? 0 : (glyph + delta) & 0xffff;
    };
  }
  throw new Error("the font has no map of Unicode characters");
}

/** Horizontal pairs, by 65536 times the left glyph and the right one. */
function kernPairs(kern: DataView | undefined): ReadonlyMap<number, number> {
  const out = new Map<number, number>();
  if (kern === undefined || kern.getUint16(0) !== 0) return out;
  for (let t = 0, from = 4; t < kern.getUint16(2); t++, from += kern.getUint16(from + 2)) {
    // format 0, horizontal, distances and nothing else
    if (kern.getUint16(from + 4) !== 1) continue;
    for (let k = 0, at = from + 14; k < kern.getUint16(from + 6); k++, at += 6) out.set(kern.getUint32(at), kern.getInt16(at + 4));
  }
  return out;
}
