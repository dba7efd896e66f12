/*
 * Text in our PDF files beside fontkit, which lays text out by the tables GSUB and GPOS of a font where we take its characters for joined letters
 * and its table kern: the same glyphs at the same places; and the fonts in the files read back by it.
 */
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { deflateSync, inflateSync } from "node:zlib";
import { describe, expect, test } from "vitest";
import { pdf } from "../../src/sheet/draw/pdf.ts";
import { PdfFont } from "../../src/sheet/draw/pdf-font.ts";
import { readTrueType } from "../../src/sheet/draw/truetype.ts";
import { subset } from "../../src/sheet/draw/truetype-subset.ts";
import type { Drawing } from "../../src/sheet/draw/types.ts";
import { WIDTH_RANGES } from "../../src/sheet/draw/widths.ts";

interface OtherGlyph {
  readonly id: number;
  readonly advanceWidth: number;
  readonly path: { toSVG(): string };
}
interface OtherFont {
  readonly unitsPerEm: number;
  layout(text: string): { readonly glyphs: readonly OtherGlyph[]; readonly positions: readonly { readonly xAdvance: number }[] };
  getGlyph(id: number): OtherGlyph;
  glyphForCodePoint(c: number): OtherGlyph;
}

const require = createRequire(import.meta.url);
const fontkit = require("fontkit") as { create(bytes: Buffer): OtherFont };
const read = (name: string): Buffer => readFileSync(require.resolve(`dejavu-fonts-ttf/ttf/${name}`));
/** All characters that the sheets may hold; a soft hyphen, which is not printed, left out. */
const CHARACTERS = WIDTH_RANGES.flatMap(([from, to]) => Array.from({ length: to - from + 1 }, (_, k) => from + k)).filter(
  (c) => c !== 0xad,
);

describe.each(["DejaVuSans.ttf", "DejaVuSans-Bold.ttf"])("%s", (name) => {
  const bytes = read(name);
  const other = fontkit.create(bytes);
  const font = readTrueType(bytes);

  test("every character has the same glyph, as wide", () => {
    for (const c of CHARACTERS) {
      const { id, advanceWidth } = other.glyphForCodePoint(c);
      expect([font.glyphOf(c), font.advance(font.glyphOf(c))]).toEqual([id, advanceWidth]);
    }
    expect([font.glyphOf(0x4e2d), font.glyphOf(0x1f3b8)]).toEqual([0, 0]);
  });

  test("every pair of the keyboard's characters, and words with joined letters, end at the same place", () => {
    const ours = new PdfFont(bytes);
    const keys = CHARACTERS.filter((c) => c < 127).map((c) => String.fromCharCode(c));
    const pairs = keys.flatMap((a) => keys.map((b) => a + b));
    let kerned = 0;
    for (const text of [...pairs, "finish of the fluted heel", "offset, baffle", "ffifflfffi", "AVATAR Yo. 11.7°", "Ø 6.35 ± 0.1 – “T7”"]) {
      const { glyphs, kerns, width } = ours.run(text);
      const { glyphs: theirs, positions } = other.layout(text);
      expect(glyphs.length, text).toBe(theirs.length);
      positions.forEach((p, k) => {
        const kern = p.xAdvance - theirs[k].advanceWidth;
        if (kern !== 0) kerned++;
        expect(kerns[k], text).toBeCloseTo((1000 * kern) / other.unitsPerEm, 6);
      });
      expect(width, text).toBeCloseTo(positions.reduce((s, p) => s + p.xAdvance, 0) / other.unitsPerEm, 9);
    }
    expect(kerned).toBeGreaterThan(100);
  });

  test("a font of some glyphs has their outlines and widths, those of letters with accents too", () => {
    const glyphs = [0, ...new Set(CHARACTERS.map((c) => font.glyphOf(c)))].slice(0, 300);
    const small = fontkit.create(Buffer.from(subset(font, glyphs)));
    glyphs.forEach((g, k) => {
      const [a, b] = [other.getGlyph(g), small.getGlyph(k)];
      expect([b.path.toSVG(), b.advanceWidth]).toEqual([a.path.toSVG(), a.advanceWidth]);
    });
  });
});

test("what a page shows is in the font of its file", () => {
  const text = "Fret 12: 324.00 mm";
  const page: Drawing = {
    id: "p",
    title: "Page (one)",
    says: "",
    width: 100,
    height: 20,
    group: 0.35,
    scale: null,
    items: [{ kind: "text", at: [5, 10], text, size: 5, anchor: "start" }],
  };
  const fonts = { regular: read("DejaVuSans.ttf"), bold: read("DejaVuSans-Bold.ttf"), deflate: deflateSync };
  const file = Buffer.from(pdf([page], fonts, { title: "T", subject: "S" }));
  const latin = file.toString("latin1");
  const streams = [...latin.matchAll(/\/Length (\d+) \/Filter \/FlateDecode >>\nstream\n/g)].map((m) =>
    inflateSync(file.subarray(m.index + m[0].length, m.index + m[0].length + Number(m[1]))),
  );
  const content = streams[0].toString("latin1");
  const codes = [...content.matchAll(/<([0-9A-F]*)>/g)].flatMap((m) => m[1].match(/.{4}/g)!.map((h) => Number.parseInt(h, 16)));
  const whole = fontkit.create(read("DejaVuSans.ttf"));
  const small = fontkit.create(streams[1]);
  expect(codes.map((c) => small.getGlyph(c).path.toSVG())).toEqual(whole.layout(text).glyphs.map((g) => g.path.toSVG()));
  expect(latin).toContain("/Title (Page \\(one\\))");
});
