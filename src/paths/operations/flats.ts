import type { Mm } from "../../units/index.ts";
import type { Path } from "../strategies/common.ts";
import type { Context } from "./context.ts";

/**
 * One path of rows across the neck at height z (side frame) over x = from..to of the neck frame: the cutter's centre goes
 * from one side to the other, `beyond` past the outline, and steps on along x outside the wood that stays. The row at each
 * end lies exactly at `from` and `to` (on the centreline). `slope` dx/dy slants the rows.
 */
export function flatRows(ctx: Context, from: Mm, to: Mm, radius: Mm, step: Mm, beyond: Mm, z: Mm, slope = 0): Path {
  const { neck, frame } = ctx;
  const { tip, end } = neck.places;
  const n = Math.max(1, Math.ceil(Math.abs(to - from) / step - 1e-9));
  const spacing = Math.abs(to - from) / n;
  const out: number[] = [];
  for (let k = 0; k <= n; k++) {
    const x = to + ((from - to) * k) / n;
    let lo = Number.POSITIVE_INFINITY;
    let hi = Number.NEGATIVE_INFINITY;
    // the widest place within this row's share and the cutter's reach
    const reach = Math.min(radius, spacing);
    const lean = Math.abs(slope) * 60;
    for (let q = -2; q <= 2; q++) {
      const at = Math.min(end, Math.max(tip, x + ((reach + lean) * q) / 2));
      // a curved board end draws in; its rows run on along the edge lines
      const [a, b] = at > 0 ? neck.boardEdges(at) : neck.edges(at);
      lo = Math.min(lo, a);
      hi = Math.max(hi, b);
    }
    const ys = [frame.y(lo), frame.y(hi)].sort((p, q) => p - q);
    const ends = [ys[0] - beyond, ys[1] + beyond];
    if (k % 2 === 1) ends.reverse();
    for (const y of ends) out.push(frame.x(x + slope * frame.ny(y)), y, z);
  }
  return Float64Array.from(out);
}
