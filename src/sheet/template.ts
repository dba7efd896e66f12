import type { Neck } from "../neck/types.ts";
import type { Drawing } from "./draw/types.ts";
import { uprightView } from "./draw/view.ts";
import { dim, extentOf } from "./drawings/common.ts";
import { Pen } from "./drawings/pen.ts";
import { channelPath, drawFace } from "./drawings/plan.ts";

/**
 * The neck's plan alone at true size, no dimensions: for a template, and for DXF, where x = 0 is the nut's bridge-side edge and y = 0 the
 * centreline. Layers: outline, board, frets, nut, tuners, markers, side-markers, head-slots, rollers, tenon, rod-channel, rod-access, bar-channel-1 and -2, screws, check-bar.
 */
export function templateDrawing(neck: Neck): Drawing {
  const e = extentOf(neck);
  const margin = 12;
  const view = uprightView([margin - e.xMin, margin + e.yMax], 1);
  const pen = new Pen();
  drawFace(pen, neck, view);
  for (const r of neck.features.rod) pen.path("hidden", channelPath(view, r), { layer: r.id });
  for (const s of neck.features.screws)
    pen.circle("hidden", [view.origin[0] + s.x, view.origin[1] - s.y], s.diameter / 2, { layer: "screws" });
  const height = margin * 2 + e.yMax - e.yMin;
  // a bar to measure the copy by, under the neck
  pen.line("wide", [view.origin[0], height - 5], [view.origin[0] + 100, height - 5], { layer: "check-bar" });
  return {
    id: "template",
    title: "Template",
    says: `The plan of the neck at true size, ${dim(e.xMax - e.xMin)} mm long.`,
    width: margin * 2 + e.xMax - e.xMin,
    height,
    group: 0.35,
    items: pen.items,
    scale: 1,
    origin: view.origin,
  };
}
