import type { Neck } from "../../neck/types.ts";
import { dxf } from "../draw/dxf.ts";
import { svg } from "../draw/svg.ts";
import type { Drawing } from "../draw/types.ts";
import { framed } from "../drawings/common.ts";
import type { Paper } from "../page/flow.ts";
import { fretSheet } from "./fret-sheet.ts";
import { fretCsv, slotsAre } from "./fret-wire.ts";
import { type ExportInput, provenance, type Sheet, stoppedSays } from "./input.ts";
import { markingSheet } from "./marking-sheet.ts";
import { nutSheet } from "./nut-sheet.ts";
import { rollersSheet } from "./rollers-sheet.ts";
import { templatePages, templatesOf } from "./templates.ts";

export type { ExportInput, Sheet } from "./input.ts";
export { blankOf } from "./marking-sheet.ts";
export { templatesOf } from "./templates.ts";

/** The flat kinds of export, in the order of the list that help shows. */
export const FLAT_KINDS = ["dxf", "svg", "pdf", "frets-csv", "frets-pdf", "nut", "marking", "rollers"] as const;
export type FlatKind = (typeof FLAT_KINDS)[number];

/** What one kind comes to: texts ready to write, sheets still to be set as PDF, or the reason why this neck has none. */
export interface FlatExport {
  readonly texts: readonly { readonly path: string; readonly text: string }[];
  readonly sheets: readonly { readonly path: string; readonly sheet: Sheet }[];
  readonly none: string | null;
}

const nothing = (none: string): FlatExport => ({ texts: [], sheets: [], none });
const oneSheet = (input: ExportInput, sheet: Sheet): FlatExport => ({
  texts: [],
  sheets: [{ path: `${input.orderName}-${sheet.name}.pdf`, sheet }],
  none: null,
});

/** The files of one kind for a neck. Pure: the same input gives the same texts and pages. */
export function flatExport(kind: FlatKind, input: ExportInput, paper: Paper): FlatExport {
  const { neck, orderName } = input;
  switch (kind) {
    case "dxf":
      return texts(templatesOf(neck).map((d) => [`${orderName}-${d.id}.dxf`, dxf(d, provenance(input))]));
    case "svg":
      return texts(templatesOf(neck).map((d) => [`${orderName}-${d.id}.svg`, svg(stamped(d, input))]));
    case "pdf":
      return oneSheet(input, templatePages(input, paper));
    case "frets-csv":
      if (!hasSlots(neck)) return nothing(NO_SLOTS);
      return texts([[`${orderName}-${slotsAre(input)}.csv`, fretCsv(neck)]]);
    case "frets-pdf": {
      const sheet = fretSheet(input, paper);
      return sheet === null ? nothing(NO_SLOTS) : oneSheet(input, sheet);
    }
    case "nut":
      return oneSheet(input, nutSheet(input, paper));
    case "marking":
      return oneSheet(input, markingSheet(input, paper));
    case "rollers": {
      const sheet = rollersSheet(input, paper);
      return sheet === null ? nothing("the headstock is not slotted: no rollers are bored from its sides") : oneSheet(input, sheet);
    }
  }
}

const NO_SLOTS = "the neck has neither frets nor inlaid lines";
const hasSlots = (neck: Neck): boolean => neck.features.frets.length > 0;
const texts = (list: readonly (readonly [string, string])[]): FlatExport => ({
  texts: list.map(([path, text]) => ({ path, text })),
  sheets: [],
  none: null,
});

/** A template with its frame, its bars, whose it is, and that it is stopped. */
function stamped(d: Drawing, input: ExportInput): Drawing {
  const stop = stoppedSays(input);
  const says = stop === null ? d.says : `${stop} ${d.says}`;
  const title = stop === null ? d.title : `${d.title} (stopped)`;
  return framed({ ...d, says, title }, { order: input.orderName, hash: input.orderHash });
}
