import type { Neck } from "../../neck/types.ts";
import type { Mm } from "../../units/index.ts";
import { contactsOf } from "../bow.ts";
import type { Holding, Side, Solid } from "../types.ts";
import { inBlankOf } from "../where.ts";
import { blankFrame } from "./reach.ts";

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
  const at = inBlankOf(neck, plan.placement);
  const t = side.neckToProgram;
  const frame = blankFrame(side);
  const [first, last] = [12, neck.places.shaftEnd - 14];
  const contacts = contactsOf({ holding: there, neckToProgram: t });
  const lean = at.across(0, 1) - at.across(0, 0);
  const across = Math.sign(lean);
  const ox = at.along(0, 0);
  const out: Solid[] = [];
  bed.forEach((end, n) => {
    const u = end + (n === 0 ? LONG / 2 + 0.5 : -LONG / 2 - 0.5);
    const x = (u - ox) / Math.abs(lean);
    if (x < first || x > last) return;
    if (contacts.some((c) => Math.min(Math.abs(c.from - x), Math.abs(c.to - x)) < FAR)) return;
    for (const edgeSide of [0, 1] as const) {
      const sign = edgeSide === 0 ? -1 : 1;
      const edge = neck.boardEdges(x - LONG / 2)[edgeSide];
      // square to the blank, about the place whose distance along it is u
      const y = edge - sign * 6;
      const v = at.across(x - (at.along(x, y) - u) / Math.abs(lean), y);
      const half = (3 * sign) as Mm;
      const [a, b] = [u - LONG / 2, u + LONG / 2];
      const corners = [v + across * half, v - across * half].flatMap((w) => [a, b].map((q) => [q, w] as const));
      const gap = t[11] - Math.max(...corners.map(([q, w]) => neck.top(at.x(q, w), at.y(q, w)))) - 0.02;
      if (gap < 0.1) continue;
      const [p, q] = [frame.xy(...corners[0]), frame.xy(...corners[3])];
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
