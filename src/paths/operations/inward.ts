import { curvatureOn } from "../../kernel/contour.ts";
import type { Contour } from "../../kernel/curve.ts";
import type { Mm } from "../../units/index.ts";

/** Tightest radius with which a counter-clockwise contour curves inward (its curvature is negative there); Infinity for none. */
export function inwardRadius(contour: Contour): Mm {
  let worst = 0;
  for (const c of contour.curves) {
    if (c.kind === "line") continue;
    for (let k = 0; k <= 200; k++) worst = Math.min(worst, curvatureOn(c, k / 200));
  }
  return worst < 0 ? -1 / worst : Number.POSITIVE_INFINITY;
}
