import { SKIN } from "../sections/holes.ts";
import { bore } from "../strategies/bore.ts";
import { channel } from "../strategies/pocket.ts";
import { type Context, conditions, draft, NOTHING_TO_CUT, type Result, withCutter } from "./context.ts";

/** The holes that the turned blank is found again by, through the waste down to a skin that is broken out by hand. */
export function pinHoles(ctx: Context): Result {
  const bores = ctx.bores ?? [];
  if (bores.length === 0) return NOTHING_TO_CUT;
  const { frame } = ctx;
  const { diameter } = bores[0];
  const head = {
    id: "pin-holes",
    title: "Holes for the turn pins",
    why: "While the blank still lies as it was first set: turned, it goes onto pins through these holes.",
  };
  const depth = frame.topZ - SKIN;
  const ask = { shapes: ["flat" as const], most: diameter * 0.85, least: diameter / 2, flute: depth, reach: depth + 2 };
  return withCutter(ctx, head, ask, (cutter) => {
    const cond = conditions(ctx, cutter, { step: cutter.diameter, kind: "slot" });
    return draft(ctx, head, cutter, cond, null, (b, m) => {
      const o = { ...m, cutterDiameter: cutter.diameter, depth: Math.min(cond.depth, cutter.diameter / 2), step: cutter.diameter / 2 };
      const step = { zTop: frame.topZ, zBottom: SKIN };
      for (const h of bores) {
        const [from, to] = [h.from, h.to].map(([x, y]) => [frame.x(x), frame.y(y)] as const);
        if (Math.hypot(to[0] - from[0], to[1] - from[1]) < 1e-9) bore(b, from[0], from[1], { ...step, diameter: h.diameter }, o);
        else channel(b, { ...step, width: h.diameter, from, to }, o);
      }
    });
  });
}
