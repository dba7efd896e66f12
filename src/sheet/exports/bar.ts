import type { XY } from "../draw/types.ts";
import { CHECK_BAR, SIZE } from "../drawings/common.ts";
import type { Pen } from "../drawings/pen.ts";

/** A bar of 100 mm on the template itself, along x (or up along y) from `at`, so that a copy made by any program can be measured. */
export function scaleBar(pen: Pen, at: XY, along: "x" | "y"): void {
  const [x, y] = at;
  const end: XY = along === "x" ? [x + CHECK_BAR, y] : [x, y - CHECK_BAR];
  pen.line("wide", at, end, { layer: "CHECK-BAR" });
  for (const k of [0, 50, CHECK_BAR]) {
    const p: XY = along === "x" ? [x + k, y] : [x, y - k];
    pen.line("narrow", p, along === "x" ? [p[0], p[1] - 2] : [p[0] + 2, p[1]], { layer: "CHECK-BAR" });
  }
  if (along === "x") pen.text([x + 2, y - 1], "100 mm", SIZE.small, { layer: "NOTES" });
  else pen.text([x + 2.4, y - 2], "100 mm", SIZE.small, { turn: -90, layer: "NOTES" });
}
