import { arcCubics } from "./arc-cubics.ts";
import { Bytes } from "./bytes.ts";
import type { Deflate } from "./deflate.ts";
import { hatchRuns } from "./hatch.ts";
import { PdfFile, pdfText, ref } from "./pdf-file.ts";
import { PdfFont } from "./pdf-font.ts";
import { plainItems } from "./plain.ts";
import { readIndexed } from "./png.ts";
import { colourOf, dashes, lineWidth } from "./style.ts";
import type { Drawing, Ink, LineKind, PathStep, PlainItem, TextItem } from "./types.ts";

/** PDF points per millimetre: 72 to the international inch. */
export const POINTS_PER_MM: number = 72 / 25.4;

/** TrueType files to embed (subsets of them), and what packs bytes; brought by the caller. */
export interface Fonts {
  readonly regular: Uint8Array;
  readonly bold: Uint8Array;
  readonly deflate: Deflate;
}

export interface PdfInfo {
  readonly title: string;
  readonly subject: string;
}

/** The date every file carries: a fixed one, because the same order must give the same bytes. */
const FIXED_DATE = "(D:20000101000000Z)";

/**
 * Drawings as a PDF (ISO 32000-1), one page each, in their own size: vector, subset fonts embedded, printed without scaling (PrintScaling
 * None, 12.2), the same bytes for the same drawings.
 */
export function pdf(pages: readonly Drawing[], fonts: Fonts, info: PdfInfo): Uint8Array {
  const file = new PdfFile(fonts.deflate);
  const [root, tree, outlines, about] = [file.reserve(), file.reserve(), file.reserve(), file.reserve()];
  const faces = [new PdfFont(fonts.regular), new PdfFont(fonts.bold)] as const;
  const names = faces.map(() => file.reserve());
  const pictures = new Map<Uint8Array, number>();
  const resources = file.reserve();
  const kids = pages.map((d) => {
    const content = file.stream("", new PageWriter(d, faces, (png) => pictureOf(file, pictures, png)).bytes());
    const box = `${points(d.width)} ${points(d.height)}`;
    return file.object(
      `<< /Type /Page /Parent ${ref(tree)} /MediaBox [0 0 ${box}] /Contents ${ref(content)} /Resources ${ref(resources)} >>`,
    );
  });
  const items = pages.map(() => file.reserve());
  pages.forEach((d, k) => {
    const [before, after] = [k === 0 ? "" : ` /Prev ${ref(items[k - 1])}`, k + 1 === items.length ? "" : ` /Next ${ref(items[k + 1])}`];
    file.object(`<< /Title ${pdfText(d.title)} /Parent ${ref(outlines)} /Dest [${ref(kids[k])} /Fit]${before}${after} >>`, items[k]);
  });
  const ends = items.length === 0 ? "" : ` /First ${ref(items[0])} /Last ${ref(items[items.length - 1])}`;
  file.object(`<< /Type /Outlines${ends} /Count ${items.length} >>`, outlines);
  for (const [k, face] of faces.entries()) face.write(file, `AAAAA${"AB"[k]}`, names[k]);
  const images = [...pictures.values()].map((n) => `/I${n} ${ref(n)} `).join("");
  file.object(`<< /Font << /F0 ${ref(names[0])} /F1 ${ref(names[1])} >> /XObject << ${images}>> >>`, resources);
  file.object(`<< /Type /Pages /Count ${kids.length} /Kids [${kids.map(ref).join(" ")}] >>`, tree);
  const by = pdfText("Neckwright");
  file.object(
    `<< /Title ${pdfText(info.title)} /Subject ${pdfText(info.subject)} /Author ${by} /Creator ${by} /Producer ${by} /CreationDate ${FIXED_DATE} /ModDate ${FIXED_DATE} >>`,
    about,
  );
  file.object(
    `<< /Type /Catalog /Pages ${ref(tree)} /Outlines ${ref(outlines)} /PageMode /UseOutlines /Lang (en) /ViewerPreferences << /DisplayDocTitle true /PrintScaling /None >> >>`,
    root,
  );
  return file.finish(root, about);
}

const points = (mm: number): string => `${Math.round(mm * POINTS_PER_MM * 1e6) / 1e6}`;

/** A picture, written once however often it is shown; the packed rows go in as they are. */
function pictureOf(file: PdfFile, known: Map<Uint8Array, number>, png: Uint8Array): number {
  let number = known.get(png);
  if (number === undefined) {
    const { width, height, palette, rows } = readIndexed(png);
    let table = "";
    for (const v of palette) table += v.toString(16).padStart(2, "0");
    number = file.stream(
      `/Type /XObject /Subtype /Image /Width ${width} /Height ${height} /BitsPerComponent 8 /ColorSpace [/Indexed /DeviceRGB ${palette.length / 3 - 1} <${table}>] /DecodeParms << /Predictor 15 /Colors 1 /BitsPerComponent 8 /Columns ${width} >> `,
      rows,
      true,
    );
    known.set(png, number);
  }
  return number;
}

/** Handles of a quarter turn, as a share of the radius: 4/3 (sqrt 2 - 1); off by 2.7e-4 of it at most. */
const QUARTER = (4 / 3) * (Math.SQRT2 - 1);

/** The content of one page (ISO 32000-1, annex A), in millimetres from the top left corner, y down. What is set already is not set again. */
class PageWriter {
  private readonly out = new Bytes(1 << 15);
  private readonly faces: readonly [PdfFont, PdfFont];
  private readonly picture: (png: Uint8Array) => number;
  private readonly group: number;
  private lineSet = "";
  private strokeSet = "";
  private fillSet = "";
  private fontSet = "";

  constructor(d: Drawing, faces: readonly [PdfFont, PdfFont], picture: (png: Uint8Array) => number) {
    this.faces = faces;
    this.picture = picture;
    this.group = d.group;
    const k = POINTS_PER_MM.toFixed(9);
    this.out.text(`${k} 0 0 -${k} 0 ${points(d.height)} cm 1 j\n`);
    for (const item of d.items) {
      if (item.kind === "hatch") this.hatch(hatchRuns(item), item.ink ?? "soft");
      else if (item.kind === "dimension" || item.kind === "text") for (const i of plainItems([item])) this.item(i);
      else this.item(item);
    }
  }

  bytes(): Uint8Array {
    return this.out.view();
  }

  private item(item: PlainItem): void {
    switch (item.kind) {
      case "image":
        this.out
          .text("q ")
          .num(item.width)
          .text("0 0 ")
          .num(-item.height)
          .num(item.at[0])
          .num(item.at[1] + item.height);
        this.out.text(`cm /I${this.picture(item.png)} Do Q\n`);
        return;
      case "text":
        this.text(item);
        return;
    }
    const fill = "fill" in item ? item.fill : undefined;
    if (item.line === "none" && fill === undefined) return;
    if (item.line !== "none") this.line(item.line, item.ink ?? "ink");
    if (fill !== undefined) this.fill(fill);
    this.path(item);
    this.out.text(fill === undefined ? "S\n" : item.line === "none" ? "f*\n" : "B*\n");
  }

  private path(item: Exclude<PlainItem, { kind: "text" } | { kind: "image" }>): void {
    switch (item.kind) {
      case "line":
        this.move(item.a[0], item.a[1]);
        this.to(item.b[0], item.b[1]);
        break;
      case "polyline":
        item.points.forEach(([x, y], k) => {
          if (k === 0) this.move(x, y);
          else this.to(x, y);
        });
        if (item.closed) this.out.text("h ");
        break;
      case "circle": {
        const { centre, radius: r } = item;
        const [x, y, h] = [centre[0], centre[1], QUARTER * r];
        this.move(x - r, y);
        this.curve(x - r, y - h, x - h, y - r, x, y - r);
        this.curve(x + h, y - r, x + r, y - h, x + r, y);
        this.curve(x + r, y + h, x + h, y + r, x, y + r);
        this.curve(x - h, y + r, x - r, y + h, x - r, y);
        this.out.text("h ");
        break;
      }
      case "path":
        for (const s of item.steps) this.step(s);
    }
  }

  private step(s: PathStep): void {
    if (s.to === "move") this.move(s.x, s.y);
    else if (s.to === "line") this.to(s.x, s.y);
    else if (s.to === "cubic") this.curve(s.x1, s.y1, s.x2, s.y2, s.x, s.y);
    else if (s.to === "close") this.out.text("h ");
    else for (const c of arcCubics(s)) this.curve(c[0], c[1], c[2], c[3], c[4], c[5]);
  }

  /** All lines of a hatch are one path. */
  private hatch(runs: readonly (readonly number[])[], ink: Ink): void {
    if (runs.length === 0) return;
    this.line("hair", ink);
    for (const run of runs) {
      this.move(run[0], run[1]);
      for (let k = 2; k < run.length; k += 2) this.to(run[k], run[k + 1]);
    }
    this.out.text("S\n");
  }

  private move(x: number, y: number): void {
    this.out.num(x).num(y).text("m ");
  }
  private to(x: number, y: number): void {
    this.out.num(x).num(y).text("l ");
  }
  private curve(x1: number, y1: number, x2: number, y2: number, x: number, y: number): void {
    this.out.num(x1).num(y1).num(x2).num(y2).num(x).num(y).text("c ");
  }

  private line(kind: LineKind, ink: Ink): void {
    if (kind !== this.lineSet) {
      this.lineSet = kind;
      this.out.num(lineWidth(kind, this.group)).text("w [");
      for (const d of dashes(kind, this.group)) this.out.num(d);
      this.out.text("] 0 d\n");
    }
    if (ink !== this.strokeSet) {
      this.strokeSet = ink;
      this.colour(ink, "RG\n");
    }
  }

  private fill(ink: Ink): void {
    if (ink === this.fillSet) return;
    this.fillSet = ink;
    this.colour(ink, "rg\n");
  }

  /** On paper the ground is the paper itself. */
  private colour(ink: Ink, operator: string): void {
    const hex = ink === "paper" ? "#ffffff" : colourOf(ink);
    for (let k = 1; k < 7; k += 2) this.out.num(Number.parseInt(hex.slice(k, k + 2), 16) / 255);
    this.out.text(operator);
  }

  private text(t: TextItem): void {
    const { out } = this;
    const { glyphs, kerns, width } = this.faces[t.bold ? 1 : 0].run(t.text);
    if (glyphs.length === 0) return;
    this.fill(t.ink ?? "ink");
    out.text("BT ");
    const font = `/F${t.bold ? 1 : 0} ${t.size}`;
    if (font !== this.fontSet) {
      this.fontSet = font;
      out
        .text(`/F${t.bold ? 1 : 0} `)
        .num(t.size)
        .text("Tf ");
    }
    const along = t.anchor === "start" ? 0 : t.anchor === "middle" ? -(width * t.size) / 2 : -width * t.size;
    const a = ((t.turn ?? 0) * Math.PI) / 180;
    const [c, s] = [Math.cos(a), Math.sin(a)];
    // glyphs stand upright: their y is up, that of the page down
    out
      .num(c)
      .num(s)
      .num(s)
      .num(-c)
      .num(t.at[0] + along * c)
      .num(t.at[1] + along * s)
      .text("Tm [<");
    for (let k = 0; k < glyphs.length; k++) {
      hexTo(out, glyphs[k]);
      if (kerns[k] !== 0 && k + 1 < glyphs.length) out.text("> ").num(-kerns[k]).text("<");
    }
    out.text(">] TJ ET\n");
  }
}

const HEX = "0123456789ABCDEF";
function hexTo(out: Bytes, v: number): void {
  for (let shift = 12; shift >= 0; shift -= 4) out.byte(HEX.charCodeAt((v >> shift) & 15));
}
