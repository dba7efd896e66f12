import { flattenCurve } from "../../kernel/contour.ts";
import type { Curve } from "../../kernel/curve.ts";
import type { XY } from "../draw/types.ts";

/** Points of a chain of curves, chords within 0.02 mm: for pictures, not for measures. */
export function stepPoints(curves: readonly Curve[]): XY[] {
  const out: XY[] = [];
  for (const c of curves) {
    const p = flattenCurve(c, 0.02);
    for (let i = out.length === 0 ? 0 : 2; i < p.length; i += 2) out.push([p[i], p[i + 1]]);
  }
  return out;
}
