import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import type { Run } from "fontkit";
import { expect, test } from "vitest";
import { runSheetPages } from "../runsheet.ts";
import { sampleInput } from "../sample-proof.ts";
import { plainItems } from "./plain.ts";
import { openFont, remembering } from "./remembering.ts";
import { WIDTH_RANGES } from "./widths.ts";

const require = createRequire(import.meta.url);
const read = (name: string): Uint8Array => readFileSync(require.resolve(`dejavu-fonts-ttf/ttf/${name}`));

/** What a writer takes from a text's layout. */
const places = (run: Run): unknown => [
  run.glyphs.map((g) => [g.id, g.advanceWidth, [...g.codePoints]]),
  run.positions.map((p) => [p.xAdvance, p.yAdvance, p.xOffset, p.yOffset]),
  run.advanceWidth,
];

test.each(["DejaVuSans.ttf", "DejaVuSans-Bold.ttf"])(
  "%s: texts put together from what was laid out before come out as those laid out whole",
  async (name) => {
    const font = await openFont(read(name));
    const ours = remembering(font);
    const texts = runSheetPages(sampleInput(), "A4").flatMap((p) =>
      plainItems(p.items.filter((i) => i.kind !== "hatch")).flatMap((i) => (i.kind === "text" ? [i.text] : [])),
    );
    const words = new Set(texts.flatMap((t) => t.split(/(?<= )/)));
    // of the other characters each beside some that are kerned
    for (const [from, to] of WIDTH_RANGES)
      for (let c = from; c <= to; c++) for (const beside of ["T", "y"]) words.add(`${beside}${String.fromCharCode(c)}${beside}`);
    for (const special of ["AVATAR", "offset", "ffifflfffi", "Yo.", "11.7°", "Ø", "−0.5", "1/2", "“T7”"]) words.add(special);
    expect(words.size).toBeGreaterThan(1500);
    let kerned = 0;
    for (const word of words) {
      const run = font.layout(word);
      if (run.positions.some((p, k) => p.xAdvance !== run.glyphs[k].advanceWidth)) kerned++;
      expect(places(ours.layout(word)), word).toEqual(places(run));
    }
    expect(kerned).toBeGreaterThan(100);
  },
);
