import { type IndexHole, SKIN_LEFT } from "../../holding/sections/types.ts";
import type { InBlank } from "../../holding/solids.ts";
import type { Mm } from "../../units/index.ts";
import { type Context, conditions, draft, NOTHING_TO_CUT, type Result, withCutter } from "../operations/context.ts";
import { bore } from "../strategies/bore.ts";
import { channel } from "../strategies/pocket.ts";

/** Left under an index hole. */
export const SKIN: Mm = SKIN_LEFT;

/** The index holes that a section bores for the next one, through the blank down to a skin. `at`: from places in the blank to the neck's plan. */
export function indexHoles(ctx: Context, holes: readonly IndexHole[], at: Pick<InBlank, "x" | "y">): Result {
  if (holes.length === 0) return NOTHING_TO_CUT;
  const { frame } = ctx;
  const { section, diameter } = holes[0];
  const head = {
    id: `index-${section}`,
    title: `Index holes for section ${section}`,
    why: "Before anything else of this section: section after section is found again by them.",
  };
  const depth = frame.topZ - SKIN;
  const ask = { shapes: ["flat" as const], most: diameter * 0.85, least: diameter / 2, flute: depth, reach: depth + 2 };
  return withCutter(ctx, head, ask, (cutter) => {
    const cond = conditions(ctx, cutter, { step: cutter.diameter, kind: "slot" });
    return draft(ctx, head, cutter, cond, null, (b, m) => {
      for (const h of holes) {
        const place = (across: Mm): readonly [Mm, Mm] => [frame.x(at.x(h.along, across)), frame.y(at.y(h.along, across))];
        const [x, y] = place(h.across);
        const o = { ...m, cutterDiameter: cutter.diameter, depth: Math.min(cond.depth, cutter.diameter / 2), step: cutter.diameter / 2 };
        const step = { zTop: frame.topZ, zBottom: SKIN };
        if (h.slot === 0) bore(b, x, y, { ...step, diameter }, o);
        else channel(b, { ...step, width: diameter, from: place(h.across - h.slot / 2), to: place(h.across + h.slot / 2) }, o);
      }
    });
  });
}
