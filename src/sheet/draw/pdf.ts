import { arcCubics } from "./arc-cubics.ts";
import { hatchRuns } from "./hatch.ts";
import { plainItems } from "./plain.ts";
import { colourOf, dashes, lineWidth } from "./style.ts";
import type { Drawing, HatchItem, Ink, LineKind, PathStep, PlainItem, TextItem } from "./types.ts";

/** PDF points per millimetre: 72 to the international inch. */
export const POINTS_PER_MM: number = 72 / 25.4;

/** TrueType files to embed (subsets of them), read by the caller. */
export interface Fonts {
  readonly regular: Uint8Array;
  readonly bold: Uint8Array;
}

export interface PdfInfo {
  readonly title: string;
  readonly subject: string;
}

/** The date every file carries: a fixed one, because the same order must give the same bytes. */
const FIXED_DATE_MS = Date.UTC(2000, 0, 1);

/**
 * Drawings as a PDF, one page each, in their own size: vector, subset fonts embedded, printed without scaling (PrintScaling
 * None), the same bytes for the same drawings.
 */
export async function pdf(pages: readonly Drawing[], fonts: Fonts, info: PdfInfo): Promise<Uint8Array> {
  // loaded with the first page: it takes longer than all else that a sheet needs
  const { default: PDFDocument } = await import("pdfkit");
  const doc = new PDFDocument({
    autoFirstPage: false,
    compress: true,
    pdfVersion: "1.7",
    lang: "en",
    displayTitle: true,
    // no default font: the built-in ones are neither embedded nor wanted
    font: null as unknown as string,
    info: {
      Title: info.title,
      Subject: info.subject,
      Author: "Neckwright",
      Creator: "Neckwright",
      Producer: "Neckwright",
      CreationDate: new Date(FIXED_DATE_MS),
      ModDate: new Date(FIXED_DATE_MS),
    },
  });
  const chunks: Uint8Array[] = [];
  const done = new Promise<void>((resolve, reject) => {
    doc.on("data", (c: Uint8Array) => chunks.push(c));
    doc.on("end", () => resolve());
    doc.on("error", reject);
  });
  setPrintScaling(doc);
  doc.registerFont("regular", fonts.regular as unknown as ArrayBuffer);
  doc.registerFont("bold", fonts.bold as unknown as ArrayBuffer);
  for (const page of pages) drawPage(doc, page);
  doc.end();
  await done;
  let length = 0;
  for (const c of chunks) length += c.length;
  const out = new Uint8Array(length);
  let at = 0;
  for (const c of chunks) {
    out.set(c, at);
    at += c.length;
  }
  return out;
}

/** ViewerPreferences /PrintScaling /None (ISO 32000-1, 12.2): the library has no call for it. */
function setPrintScaling(doc: PDFKit.PDFDocument): void {
  const root = (doc as unknown as { _root: { data: Record<string, unknown> } })._root.data;
  const before = root.ViewerPreferences as Record<string, unknown> | undefined;
  const data = (before as { data?: Record<string, unknown> } | undefined)?.data;
  if (data) data.PrintScaling = "None";
  else root.ViewerPreferences = { ...before, PrintScaling: "None" };
}

function drawPage(doc: PDFKit.PDFDocument, d: Drawing): void {
  doc.addPage({ size: [d.width * POINTS_PER_MM, d.height * POINTS_PER_MM], margin: 0 });
  doc.outline.addItem(d.title);
  doc.save();
  doc.scale(POINTS_PER_MM);
  doc.lineJoin("round");
  const set: State = { line: "none", stroke: "", fill: "" };
  for (const item of d.items) {
    if (item.kind === "hatch") drawHatch(doc, item, d.group, set);
    else for (const i of plainItems([item])) drawItem(doc, i, d.group, set);
  }
  doc.restore();
}

/** What is set on the page already, and is not set again: half of what the library writes otherwise. */
interface State {
  line: LineKind | "none";
  stroke: string;
  fill: string;
}

/** All lines of a hatch are one path. */
function drawHatch(doc: PDFKit.PDFDocument, hatch: HatchItem, group: number, set: State): void {
  const runs = hatchRuns(hatch);
  if (runs.length === 0) return;
  setLine(doc, "hair", hatch.ink ?? "soft", group, set);
  for (const run of runs) {
    doc.moveTo(run[0], run[1]);
    for (let k = 2; k < run.length; k += 2) doc.lineTo(run[k], run[k + 1]);
  }
  doc.stroke();
}

/** Lines and colours are set before a path is begun: within one only its own operators may stand (ISO 32000-1, 8.2). */
function drawItem(doc: PDFKit.PDFDocument, item: PlainItem, group: number, set: State): void {
  if (item.kind === "image") {
    doc.image(item.png as unknown as ArrayBuffer, item.at[0], item.at[1], { width: item.width, height: item.height });
    return;
  }
  if (item.kind === "text") {
    drawText(doc, item, set);
    return;
  }
  const fill = "fill" in item ? item.fill : undefined;
  if (item.line === "none" && fill === undefined) return;
  if (item.line !== "none") setLine(doc, item.line, item.ink ?? "ink", group, set);
  if (fill !== undefined) setFill(doc, fill, set);
  switch (item.kind) {
    case "line":
      doc.moveTo(item.a[0], item.a[1]).lineTo(item.b[0], item.b[1]);
      break;
    case "polyline":
      item.points.forEach(([x, y], i) => {
        if (i === 0) doc.moveTo(x, y);
        else doc.lineTo(x, y);
      });
      if (item.closed) doc.closePath();
      break;
    case "circle":
      doc.circle(item.centre[0], item.centre[1], item.radius);
      break;
    case "path":
      drawSteps(doc, item.steps);
      break;
  }
  if (fill === undefined) doc.stroke();
  else if (item.line === "none") doc.fill("even-odd");
  else doc.fillAndStroke("even-odd" as PDFKit.Mixins.ColorValue);
}

/** On paper the ground is the paper itself. */
const paperColour = (ink: Ink): string => (ink === "paper" ? "#ffffff" : colourOf(ink));

function setLine(doc: PDFKit.PDFDocument, line: LineKind, ink: Ink, group: number, set: State): void {
  if (line !== set.line) {
    set.line = line;
    doc.lineWidth(lineWidth(line, group));
    const dash = dashes(line, group);
    if (dash.length > 0) doc.dash(dash as unknown as number, {});
    else doc.undash();
  }
  const colour = paperColour(ink);
  if (colour !== set.stroke) doc.strokeColor(colour);
  set.stroke = colour;
}

function setFill(doc: PDFKit.PDFDocument, ink: Ink, set: State): void {
  const colour = paperColour(ink);
  if (colour !== set.fill) doc.fillColor(colour);
  set.fill = colour;
}

function drawSteps(doc: PDFKit.PDFDocument, steps: readonly PathStep[]): void {
  for (const s of steps) {
    if (s.to === "move") doc.moveTo(s.x, s.y);
    else if (s.to === "line") doc.lineTo(s.x, s.y);
    else if (s.to === "cubic") doc.bezierCurveTo(s.x1, s.y1, s.x2, s.y2, s.x, s.y);
    else if (s.to === "close") doc.closePath();
    else for (const c of arcCubics(s)) doc.bezierCurveTo(c[0], c[1], c[2], c[3], c[4], c[5]);
  }
}

function drawText(doc: PDFKit.PDFDocument, t: TextItem, set: State): void {
  doc.font(t.bold ? "bold" : "regular").fontSize(t.size);
  setFill(doc, t.ink ?? "ink", set);
  const width = t.anchor === "start" ? 0 : doc.widthOfString(t.text);
  const dx = t.anchor === "start" ? 0 : t.anchor === "middle" ? -width / 2 : -width;
  if (t.turn) doc.save().rotate(t.turn, { origin: [t.at[0], t.at[1]] });
  doc.text(t.text, t.at[0] + dx, t.at[1], { lineBreak: false, baseline: "alphabetic" });
  if (t.turn) doc.restore();
}
