import { flattenCurve } from "../../kernel/contour.ts";
import type { Neck } from "../../neck/types.ts";
import { plainItems } from "../draw/plain.ts";
import type { Drawing, Item, XY } from "../draw/types.ts";
import { CHECK_BAR, SIZE } from "../drawings/common.ts";
import { Pen, shifted } from "../drawings/pen.ts";
import { PAPERS, type Paper } from "../page/flow.ts";
import { templateDrawing } from "../template.ts";
import { faceDrawing } from "./face.ts";
import { gaugesDrawing } from "./gauges.ts";
import { type ExportInput, handCautions, type Sheet, sheetFlow, stoppedNote, stoppedSays } from "./input.ts";
import { profileDrawing } from "./profile.ts";
import { chainsOf, OVERLAP, type Tile, tileDrawing, tilesOf } from "./tiles.ts";

/** All true-size drawings of a neck that are lines alone: what DXF, SVG and the paper templates hold. */
export const templatesOf = (neck: Neck): Drawing[] => [templateDrawing(neck), profileDrawing(neck), faceDrawing(neck), gaugesDrawing(neck)];

/** Room for a template on a page, mm: the paper less margins, head, foot and caption. */
function roomOf(paper: Paper, lies: "portrait" | "landscape"): readonly [number, number] {
  const [w, h] = PAPERS[paper];
  const [width, height] = lies === "portrait" ? [w, h] : [h, w];
  return [width - 30, height - 52 - 6];
}

export interface TiledTemplate {
  readonly drawing: Drawing;
  readonly lies: "portrait" | "landscape";
  readonly tiles: readonly Tile[];
}

/** Templates cut into sheets of a paper, lying the way that needs fewer. */
export const tiledTemplates = (neck: Neck, paper: Paper): TiledTemplate[] =>
  templatesOf(neck).map((drawing) => {
    const lay = (lies: "portrait" | "landscape"): TiledTemplate => ({
      drawing,
      lies,
      tiles: tilesOf(drawing.width, drawing.height, ...roomOf(paper, lies)),
    });
    const [along, upright] = [lay("landscape"), lay("portrait")];
    return upright.tiles.length < along.tiles.length ? upright : along;
  });

/** The templates as printed pages: what they are and how to print and join them, then every sheet at true size. */
export function templatePages(input: ExportInput, paper: Paper): Sheet {
  const all = tiledTemplates(input.neck, paper);
  const flow = sheetFlow(input, "Templates 1:1", paper);
  flow.newPage("How to print and join");
  flow.heading("Templates at true size", 1);
  stoppedNote(flow, input);
  flow.paragraph(
    `Print at 100 % ("actual size"), no fitting to the page, on ${paper}. On every printed sheet measure the bar along the lower edge and the bar along the left edge with a steel rule: each is ${CHECK_BAR} mm. A sheet whose bars are off by more than you can bear is waste, in both directions.`,
    { bold: true },
  );
  flow.list([
    `Sheets of one template are named by row and column (A1, A2, ...). They overlap by ${OVERLAP} mm or more. Cut a sheet along its dash-dotted line, lay it on the next so that the crosses in circles lie on one another, and tape it.`,
    "After joining check a long distance with a rule: nut to fret 12 on the plan is half the scale. Paper grows and shrinks with the weather; prick places through or scribe them from figures when it must be within 0.1 mm.",
    "Plan: seen from above. Profile: cut along the middle, seen from the side. Headstock face: laid flat in its own plane. Gauges: cards whose ears lie level with the glue line.",
  ]);
  handCautions(flow);
  for (const t of all) {
    flow.figure(mapDrawing(t, flow.width), { caption: `Sheets of "${t.drawing.title}"` });
  }
  for (const t of all) {
    for (const tile of t.tiles) {
      flow.newPage(`${t.drawing.title}, ${tile.name}`, t.lies);
      flow.figure(tileDrawing(t.drawing, tile), {
        caption: `${t.drawing.title}, sheet ${tile.name} of ${t.tiles.length}. ${stoppedSays(input) ?? "Print at 100 %"}`,
      });
    }
  }
  return { name: "templates", title: `Templates 1:1: ${input.orderTitle}`, pages: flow.done() };
}

/** A template small, with its sheets' windows and their names. */
function mapDrawing(t: TiledTemplate, room: number): Drawing {
  const usual = [1 / 2, 1 / 2.5, 1 / 3, 1 / 4, 1 / 5, 1 / 6, 1 / 8, 1 / 10];
  const k = usual.find((s) => t.drawing.width * s <= room - 4 && t.drawing.height * s <= 33) ?? 1 / 12;
  const pen = new Pen();
  pen.items.push(...small(t.drawing, k));
  for (const tile of t.tiles) {
    const [x, y] = [tile.x * k, tile.y * k];
    pen.rect("narrow", [x, y], [x + tile.width * k, y + tile.height * k], { ink: "accent" });
    pen.text([x + 1.4, y + 3], tile.name, SIZE.figure, { ink: "accent", bold: true });
  }
  return {
    ...t.drawing,
    id: `map-${t.drawing.id}`,
    width: t.drawing.width * k,
    height: t.drawing.height * k,
    items: shifted(pen.items, 0, 0),
    scale: k,
  };
}

/** The lines of a drawing, scaled; text is left out. */
function small(d: Drawing, k: number): Item[] {
  const out: Item[] = [];
  for (const item of plainItems(d.items)) {
    if (item.kind === "text" || item.kind === "image" || item.line === "none") continue;
    for (const chain of chainsOf(item)) {
      const points: XY[] = [];
      for (const c of chain) {
        const p = flattenCurve(c, 0.05 / k);
        for (let i = points.length === 0 ? 0 : 2; i < p.length; i += 2) points.push([p[i] * k, p[i + 1] * k]);
      }
      out.push({ kind: "polyline", line: "hair", points, closed: false });
    }
  }
  return out;
}
