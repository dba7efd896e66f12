import type { Neck } from "../../neck/types.ts";
import type { Mm } from "../../units/index.ts";
import { contactsOf } from "../bow.ts";
import { apply } from "../transform.ts";
import type { Holding, Side, Solid } from "../types.ts";

/** Strips are so long along the neck, and a bed's end wants one when the next stands further from it than this. */
const LONG: Mm = 16;
const FAR: Mm = 40;

/**
 * Strips for a section of the turned piece at the bed's ends that lie under the shaft, where the bed has cut off the next ones: as the
 * side's own strips stand, under both edges of a radiused board. `bed`: from and to along the blank.
 */
export function endStrips(neck: Neck, side: Side, plan: Holding, there: readonly Solid[], bed: readonly [Mm, Mm]): Solid[] {
  const { holding, blank } = neck.order;
  if (side.name !== "carve" || !holding.supports || blank.kind === "shaft-alone") return [];
  const shift = plan.placement.tipFromEnd - neck.places.tip;
  const t = side.neckToProgram;
  const [first, last] = [12, neck.places.shaftEnd - 14];
  const contacts = contactsOf({ holding: there, neckToProgram: t });
  const out: Solid[] = [];
  bed.forEach((end, n) => {
    const x = end - shift + (n === 0 ? LONG / 2 + 0.5 : -LONG / 2 - 0.5);
    if (x < first || x > last) return;
    if (contacts.some((c) => Math.min(Math.abs(c.from - x), Math.abs(c.to - x)) < FAR)) return;
    const [a, b] = [x - LONG / 2, x + LONG / 2];
    for (const edgeSide of [0, 1] as const) {
      const edge = neck.boardEdges(a)[edgeSide];
      const sign = edgeSide === 0 ? -1 : 1;
      const [y0, y1] = [edge - sign * 3, edge - sign * 9];
      const gap = t[11] - Math.max(...[a, b].flatMap((u) => [neck.top(u, y0), neck.top(u, y1)])) - 0.02;
      if (gap < 0.1) continue;
      const [p, q] = [apply(t, a, y0, 0), apply(t, b, y1, 0)];
      out.push({
        kind: "box",
        name: `strip at the bed's ${n === 0 ? "first" : "second"} end, ${edgeSide === 0 ? "a" : "b"}`,
        role: "support",
        min: [Math.min(p[0], q[0]), Math.min(p[1], q[1]), 0],
        max: [Math.max(p[0], q[0]), Math.max(p[1], q[1]), gap],
      });
    }
  });
  return out;
}
