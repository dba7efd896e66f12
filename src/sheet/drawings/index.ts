import type { Drawing } from "../draw/types.ts";
import type { ReportInput } from "../input.ts";
import { blankDrawing } from "./blank.ts";
import { framed } from "./common.ts";
import { cuttersDrawing } from "./cutters.ts";
import { headstockDrawing } from "./headstock.ts";
import { markingDrawing } from "./marking.ts";
import { planDrawing } from "./plan.ts";
import { sectionsDrawing } from "./sections.ts";
import { settingDrawing } from "./settings.ts";
import { sideDrawing } from "./side.ts";
import { tearOutDrawing } from "./tear-out.ts";

/** Cutters that the programs use, in the order of their numbers. */
export function usedCutters(input: Pick<ReportInput, "programs" | "shop">): ReportInput["shop"]["cutters"] {
  const used = new Set(input.programs.map((p) => p.cutter));
  return input.shop.cutters.filter((c) => used.has(c.number)).sort((a, b) => a.number - b.number);
}

/** All drawings at true size (sections twice that), each framed and complete in itself; `id` names its file. */
export function drawingsOf(input: Pick<ReportInput, "neck" | "holding" | "programs" | "shop" | "orderName" | "orderHash">): Drawing[] {
  const { neck, holding } = input;
  const stamp = { order: input.orderName, hash: input.orderHash };
  const cutters = usedCutters(input);
  const all: Drawing[] = [
    planDrawing(neck, 1),
    sideDrawing(neck, 1),
    sectionsDrawing(neck, 2),
    headstockDrawing(neck, 1),
    markingDrawing(neck, holding, 1),
    blankDrawing(neck, holding, "board", 1, input.shop.machine),
    blankDrawing(neck, holding, "carve", 1, input.shop.machine),
    tearOutDrawing(neck, 1),
    ...(["board", "carve"] as const).flatMap((name) =>
      (holding.sides[name].sections ?? []).map((s) => settingDrawing(neck, holding, input.shop.machine, name, s.number, 1)),
    ),
  ];
  if (cutters.length > 0) all.push(cuttersDrawing(cutters, 1, Math.max(180, cutters.length * 48)));
  return all.map((d) => framed(d, stamp));
}
