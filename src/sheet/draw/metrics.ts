import { BOLD_WIDTHS, REGULAR_WIDTHS, WIDTH_RANGES } from "./widths.ts";

/*
 * How wide text comes out in the shipped font, so that tables, dimensions and line breaks are laid out without a font
 * engine and the same in every writer.
 */

function table(widths: string): ReadonlyMap<number, number> {
  const w = widths.split(" ").map(Number);
  const map = new Map<number, number>();
  let i = 0;
  for (const [from, to] of WIDTH_RANGES) for (let c = from; c <= to; c++) map.set(c, w[i++] / 2048);
  return map;
}
const regular = table(REGULAR_WIDTHS);
const bold = table(BOLD_WIDTHS);

/** Width of a code point that the table does not hold: that of a capital M, so that nothing runs over. */
const UNKNOWN = 1;

/** Capital height as a share of the em (DejaVu Sans: 1493/2048). */
export const CAP_HEIGHT: number = 1493 / 2048;

/** Whether the shipped font has every character of the text (others come out as an empty box). */
export function isCovered(text: string): boolean {
  for (const ch of text) if (!regular.has(ch.codePointAt(0)!)) return false;
  return true;
}

/** Width in the unit of `size`, without kerning. */
export function textWidth(text: string, size: number, isBold = false): number {
  const map = isBold ? bold : regular;
  let sum = 0;
  for (const ch of text) sum += map.get(ch.codePointAt(0)!) ?? UNKNOWN;
  return sum * size;
}

/** Breaks text into lines no wider than `width`; breaks inside a word only when the word alone is too wide. */
export function wrapText(text: string, width: number, size: number, isBold = false): string[] {
  const lines: string[] = [];
  for (const paragraph of text.split("\n")) {
    let line = "";
    for (const word of paragraph.split(" ")) {
      const longer = line === "" ? word : `${line} ${word}`;
      if (textWidth(longer, size, isBold) <= width) {
        line = longer;
        continue;
      }
      if (line !== "") lines.push(line);
      line = word;
      while (textWidth(line, size, isBold) > width) {
        const cut = fits(line, width, size, isBold);
        lines.push(line.slice(0, cut));
        line = line.slice(cut);
      }
    }
    lines.push(line);
  }
  return lines;
}

/** How many UTF-16 units of `word` fit into `width`, at least one character; prefers to break after - . _ or /. */
function fits(word: string, width: number, size: number, isBold: boolean): number {
  let n = 0;
  let nice = 0;
  for (const ch of word) {
    if (n > 0 && textWidth(word.slice(0, n + ch.length), size, isBold) > width) break;
    n += ch.length;
    if ("-._/".includes(ch)) nice = n;
  }
  return nice > n / 2 ? nice : n;
}
