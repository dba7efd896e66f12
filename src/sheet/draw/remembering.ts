/// <reference path="./fontkit.d.ts" />
import type { Font, Glyph, Position, Run } from "fontkit";

/** Loads what reads fonts with the first of them. */
export const openFont = async (bytes: Uint8Array): Promise<Font> => (await import("fontkit")).create(bytes);

/** What comes out as one glyph: a character, or letters that the typeface joins. */
const UNITS = /ff[il]|f[fil]|./gsu;

/**
 * A font that remembers the glyphs and the pairs of neighbours of every text it has laid out, and puts later texts together from these, which takes
 * a fraction of the time. For typefaces whose characters touch their neighbours by kerning and joined letters only, as those of the sheets do.
 */
export function remembering(font: Font): Font {
  const glyphs = new Map<string, Glyph>();
  const kerns = new Map<string, number>();
  const learn = (units: readonly string[]): void => {
    const run = font.layout(units.join(""));
    if (run.glyphs.length !== units.length) throw new Error(`the font joins other letters than ours: "${units.join("")}"`);
    units.forEach((unit, k) => {
      glyphs.set(unit, run.glyphs[k]);
      if (k + 1 < units.length) kerns.set(unit + units[k + 1], run.positions[k].xAdvance - run.glyphs[k].advanceWidth);
    });
  };
  const layout = (text: string): Run => {
    const units = text.match(UNITS) ?? [];
    const isKnown = units.every((unit, k) => (k + 1 < units.length ? kerns.has(unit + units[k + 1]) : glyphs.has(unit)));
    if (!isKnown) learn(units);
    const all = units.map((unit) => glyphs.get(unit)!);
    const positions = all.map(
      (glyph, k): Position => ({
        xAdvance: glyph.advanceWidth + (k + 1 < all.length ? kerns.get(units[k] + units[k + 1])! : 0),
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
