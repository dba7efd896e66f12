import type { MoveBuilder } from "../../kernel/moves.ts";
import { insideRegion, type Polygon } from "../../kernel/polygon.ts";
import type { Mm } from "../../units/index.ts";
import type { Path } from "./common.ts";
import { type Line, makeLine, runsBelow } from "./row.ts";
import { thinPath } from "./thin.ts";

/**
 * A way from where the cutter is to a sample of the next row, never downward, or null when it would leave the region, is too long or
 * would meet wood higher than a level: along one of the two rows where the tip has been (or may go), and straight across where both run,
 *
 *     next row  ......+------>        ......+--->           so that the disc stays over what levels above have freed
 *     this row  ==>---'                 <---'===>
 */
export function linkTo(
  b: MoveBuilder,
  here: Line,
  next: Line,
  sample: number,
  region: readonly Polygon[],
  cl: (x: Mm, y: Mm) => Mm,
  o: {
    readonly floor: Mm;
    readonly maxLink: Mm;
    readonly sampling: Mm;
    readonly tolerance: Mm;
    readonly along: "x" | "y";
    readonly depth: Mm;
  },
): Path | null {
  const [x0, y0, z0] = [b.px, b.py, b.pz];
  const [x1, y1] = [next.xy[2 * sample], next.xy[2 * sample + 1]];
  if (Math.hypot(x1 - x0, y1 - y0) > o.maxLink) return null;
  const at = o.along === "x" ? 0 : 1;
  const [u0, u1] = at === 0 ? [x0, x1] : [y0, y1];
  const most = z0 + o.depth;
  let corner: readonly [Mm, Mm];
  if (runsBelow(here, at, u0, u1, o.sampling, most) && runsBelow(next, at, u1, u1, o.sampling, most))
    corner = at === 0 ? [x1, y0] : [x0, y1];
  else if (runsBelow(next, at, u0, u1, o.sampling, most)) corner = at === 0 ? [x0, y1] : [x1, y0];
  else return null;
  const legs = [[x0, y0, ...corner] as const, [...corner, x1, y1] as const].filter(([ax, ay, bx, by]) => ax !== bx || ay !== by);
  const line = makeLine(legs, cl, o.floor, 0, o.sampling, 0);
  const n = line.low.length;
  const out = new Float64Array(3 * n);
  let z = z0;
  for (let k = 0; k < n; k++) {
    const x = line.xy[2 * k];
    const y = line.xy[2 * k + 1];
    // ends stand on the region's edge, where in or out is a matter of rounding
    if (k > 0 && k < n - 1 && !insideRegion(region, x, y)) return null;
    out[3 * k] = x;
    out[3 * k + 1] = y;
    if (line.low[k] > z) z = line.low[k];
    out[3 * k + 2] = z;
  }
  return thinPath(out, { vertical: o.tolerance, lateral: 0.001 });
}
