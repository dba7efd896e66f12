import { CAP_HEIGHT } from "./metrics.ts";
import { hex4, type PdfFile, ref } from "./pdf-file.ts";
import { readTrueType, type TrueType } from "./truetype.ts";
import { subset } from "./truetype-subset.ts";

/** Letters that the typeface joins, each a character of its own (Unicode block of presentation forms). */
const JOINED: Readonly<Record<string, string>> = { ff: "\ufb00", fi: "\ufb01", fl: "\ufb02", ffi: "\ufb03", ffl: "\ufb04" };

/** Text as glyphs of the page's font. */
export interface Run {
  /** Of the glyphs in the page's font. */
  readonly glyphs: readonly number[];
  /** What follows each glyph is set wider by this, in thousandths of the em. */
  readonly kerns: readonly number[];
  /** In ems. */
  readonly width: number;
}

/** A typeface as a PDF holds it: the glyphs that its pages use, numbered as they come. */
export class PdfFont {
  private readonly font: TrueType;
  /** Glyphs of the font in the order of use, and what each stands for. */
  private readonly used: number[] = [0];
  private readonly texts: string[] = ["\0"];
  private readonly byCharacter = new Map<string, number>();
  private readonly runs = new Map<string, Run>();

  constructor(bytes: Uint8Array) {
    this.font = readTrueType(bytes);
  }

  /** Laid out with joined letters and kerning. */
  run(text: string): Run {
    let run = this.runs.get(text);
    if (run === undefined) {
      run = this.layOut(text);
      this.runs.set(text, run);
    }
    return run;
  }

  private layOut(text: string): Run {
    const { font, used } = this;
    const thousandth = 1000 / font.unitsPerEm;
    const glyphs: number[] = [];
    const kerns: number[] = [];
    let width = 0;
    // a soft hyphen is not printed
    for (const ch of text.replace(/ffi|ffl|ff|fi|fl/g, (s) => JOINED[s]).replaceAll("\u00ad", "")) {
      const glyph = this.numberOf(ch);
      if (glyphs.length > 0) {
        const kern = font.kern(used[glyphs[glyphs.length - 1]], used[glyph]);
        kerns.push(kern * thousandth);
        width += kern;
      }
      glyphs.push(glyph);
      width += font.advance(used[glyph]);
    }
    kerns.push(0);
    return { glyphs, kerns, width: width / font.unitsPerEm };
  }

  private numberOf(ch: string): number {
    let number = this.byCharacter.get(ch);
    if (number === undefined) {
      const glyph = this.font.glyphOf(ch.codePointAt(0)!);
      number = glyph === 0 ? 0 : this.used.push(glyph) - 1;
      if (number > 0) this.texts.push(Object.keys(JOINED).find((s) => JOINED[s] === ch) ?? ch);
      this.byCharacter.set(ch, number);
    }
    return number;
  }

  /** Writes the font, `tag` being the six letters before the name of a font that is not whole (ISO 32000-1, 9.6.4 and 9.7). */
  write(file: PdfFile, tag: string, number: number): void {
    const { font, used } = this;
    const k = 1000 / font.unitsPerEm;
    const round = (v: number): number => Math.round(v * 1000) / 1000;
    const name = `/${tag}+${font.name}`;
    const bytes = subset(font, used);
    const data = file.stream(`/Length1 ${bytes.length} `, bytes);
    const box = font.box.map((v) => round(v * k)).join(" ");
    const descriptor = file.object(
      `<< /Type /FontDescriptor /FontName ${name} /Flags 4 /FontBBox [${box}] /ItalicAngle 0 /Ascent ${round(font.ascent * k)} /Descent ${round(font.descent * k)} /CapHeight ${round(1000 * CAP_HEIGHT)} /StemV 0 /FontFile2 ${ref(data)} >>`,
    );
    const widths = used.map((g) => round(font.advance(g) * k)).join(" ");
    const glyphs = file.object(
      `<< /Type /Font /Subtype /CIDFontType2 /BaseFont ${name} /CIDSystemInfo << /Registry (Adobe) /Ordering (Identity) /Supplement 0 >> /FontDescriptor ${ref(descriptor)} /W [0 [${widths}]] /CIDToGIDMap /Identity >>`,
    );
    const texts = file.stream("", new TextEncoder().encode(toUnicode(this.texts)));
    file.object(
      `<< /Type /Font /Subtype /Type0 /BaseFont ${name} /Encoding /Identity-H /DescendantFonts [${ref(glyphs)}] /ToUnicode ${ref(texts)} >>`,
      number,
    );
  }
}

/** Which text each glyph stands for, so that it can be searched and copied (9.10.3); at most 100 lines in a block. */
function toUnicode(texts: readonly string[]): string {
  const lines = texts.map((t, k) => `<${hex4(k)}> <${Array.from({ length: t.length }, (_, i) => hex4(t.charCodeAt(i))).join("")}>`);
  const blocks: string[] = [];
  for (let k = 0; k < lines.length; k += 100) {
    const some = lines.slice(k, k + 100);
    blocks.push(`${some.length} beginbfchar\n${some.join("\n")}\nendbfchar`);
  }
  return `/CIDInit /ProcSet findresource begin
12 dict begin
begincmap
/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def
/CMapName /Adobe-Identity-UCS def
/CMapType 2 def
1 begincodespacerange
<0000> <FFFF>
endcodespacerange
${blocks.join("\n")}
endcmap
CMapName currentdict /CMap defineresource pop
end
end
`;
}
