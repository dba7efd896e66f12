import { svg } from "../draw/svg.ts";
import type { Drawing } from "../draw/types.ts";
import type { ReportInput } from "../input.ts";
import { blankDrawing, markingDrawing } from "./blank.ts";
import { framed } from "./common.ts";
import { cuttersDrawing } from "./cutters.ts";
import { headstockDrawing } from "./headstock.ts";
import { planDrawing } from "./plan.ts";
import { sectionsDrawing } from "./sections.ts";
import { sideDrawing } from "./side.ts";

/** Cutters that the programs use, in the order of their numbers. */
export function usedCutters(input: Pick<ReportInput, "programs" | "shop">): ReportInput["shop"]["cutters"] {
  const used = new Set(input.programs.map((p) => p.cutter));
  return input.shop.cutters.filter((c) => used.has(c.number)).sort((a, b) => a.number - b.number);
}

/** All drawings at true size (sections twice that), each framed, by the name of its file. */
export function framedDrawings(
  input: Omit<ReportInput, "proof" | "findings" | "steps" | "plan" | "version" | "orderTitle">,
): Record<string, Drawing> {
  const { neck, holding } = input;
  const stamp = { order: input.orderName, hash: input.orderHash };
  const cutters = usedCutters(input);
  const all: Record<string, Drawing> = {
    plan: planDrawing(neck, 1),
    side: sideDrawing(neck, 1),
    sections: sectionsDrawing(neck, 2),
    headstock: headstockDrawing(neck, 1),
    "marking-out": markingDrawing(neck, holding, 1),
    "blank-board": blankDrawing(neck, holding, "board", 1),
    "blank-carve": blankDrawing(neck, holding, "carve", 1),
  };
  if (cutters.length > 0) all.cutters = cuttersDrawing(cutters, 1, Math.max(180, cutters.length * 48));
  return Object.fromEntries(Object.entries(all).map(([name, d]) => [name, framed(d, stamp)]));
}

/** The same as SVG text. */
export const drawingsOf = (input: Parameters<typeof framedDrawings>[0]): Record<string, string> =>
  Object.fromEntries(Object.entries(framedDrawings(input)).map(([name, d]) => [name, svg(d)]));
