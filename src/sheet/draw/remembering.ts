/// <reference path="./fontkit.d.ts" />
import type { Font, Glyph, Position, Run } from "fontkit";

/** Loads what reads fonts with the first of them. */
export const openFont = async (bytes: Uint8Array): Promise<Font> => (await import("fontkit")).create(bytes);

/** Texts in which the typeface joins letters. */
const JOINED = /f[fil]/;

/**
 * A font that lays out each character and each pair of them once and puts texts together from these, which takes a fraction of the time. For typefaces
 * whose characters touch their neighbours by kerning and joined letters only, as those of the sheets do; texts with joined letters are laid
 * out as they are.
 */
export function remembering(font: Font): Font {
  const glyphs = new Map<string, Glyph>();
  const kerns = new Map<string, number>();
  const glyphOf = (ch: string): Glyph => {
    let glyph = glyphs.get(ch);
    if (glyph === undefined) {
      glyph = font.layout(ch).glyphs[0];
      glyphs.set(ch, glyph);
    }
    return glyph;
  };
  const kern = (pair: string, left: Glyph): number => {
    let by = kerns.get(pair);
    if (by === undefined) {
      by = font.layout(pair).positions[0].xAdvance - left.advanceWidth;
      kerns.set(pair, by);
    }
    return by;
  };
  const layout = (text: string): Run => {
    if (JOINED.test(text)) return font.layout(text);
    const characters = [...text];
    const all = characters.map(glyphOf);
    const positions = all.map(
      (glyph, k): Position => ({
        xAdvance: glyph.advanceWidth + (k + 1 < all.length ? kern(characters[k] + characters[k + 1], glyph) : 0),
        yAdvance: 0,
        xOffset: 0,
        yOffset: 0,
      }),
    );
    return {
      glyphs: all,
      positions,
      // whoever asks has scaled the positions by then
      get advanceWidth() {
        return positions.reduce((sum, p) => sum + p.xAdvance, 0);
      },
    };
  };
  return Object.create(font, { layout: { value: layout } }) as Font;
}
