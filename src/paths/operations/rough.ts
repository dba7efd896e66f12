import { clearingModes } from "../../cutting/conditions.ts";
import type { Cutter } from "../../cutting/types.ts";
import type { Polygon } from "../../kernel/polygon.ts";
import type { Mm, Rad } from "../../units/index.ts";
import { clear } from "../strategies/clear.ts";
import { type Asked, type Context, type CutHead, conditions, draft, type Result } from "./context.ts";

/** How far the blank's edge may lie from where the order says, mm. */
export const BLANK_MARGIN: Mm = 2;

/** Conditions for clearing `depth` of wood: deep and narrow or shallow and wide, whichever takes off more in a second; the cut says which. */
export function bestRoughing(ctx: Context, cutter: Cutter, depth: Mm): Asked {
  const [chosen, other] = clearingModes(cutter.diameter, depth, (step, d) => conditions(ctx, cutter, { step, kind: "side", depth: d }));
  const less = Math.round(100 * (1 - other.removal / chosen.removal));
  const why = `${chosen.name} (${other.name}: ${less > 0 ? `${less} % less` : "no more"} wood in a minute)`;
  return { ...chosen.conditions, limitedBy: `${chosen.conditions.limitedBy}; ${why}` };
}

/** Full width: most of the rim that a cut can meet at all. */
export const FULL_WIDTH: Rad = Math.PI;

/** Conditions for cutting `depth` of wood with wood on both sides of the cutter, in layers as deep as a slot may be. */
export const fullWidth = (ctx: Context, cutter: Cutter, depth: Mm): Asked =>
  conditions(ctx, cutter, { step: cutter.diameter, kind: "slot", depth });

/** Angle of the rim that a straight pass of this step meets. */
export const limitOf = (cutter: Cutter, step: Mm): Rad => Math.acos(Math.max(-1, 1 - step / (cutter.diameter / 2)));

/** Where there may be wood: the blank, a margin wider. */
export function woodOf(ctx: Context): Polygon[] {
  const { blank } = ctx.frame;
  const m = BLANK_MARGIN;
  // a rectangle's corners, each a margin further along both of its sides
  const corner = (k: number): readonly [Mm, Mm] => [blank[2 * (k % 4)], blank[2 * (k % 4) + 1]];
  const along = (k: number): readonly [number, number] => {
    const [[ax, ay], [bx, by]] = [corner(k), corner(k + 1)];
    const d = Math.hypot(bx - ax, by - ay);
    return [(bx - ax) / d, (by - ay) / d];
  };
  return [
    Float64Array.from(
      [0, 1, 2, 3].flatMap((k) => {
        const [[x, y], [ux, uy], [vx, vy]] = [corner(k), along(k + 3), along(k)];
        return [x + m * (ux - vx), y + m * (uy - vy)];
      }),
    ),
  ];
}

/** Clears a region down to `cl` in slabs within the limit, as a draft with that promise. */
export function clearedDraft(
  ctx: Context,
  head: CutHead,
  cutter: Cutter,
  cond: Asked,
  limit: Rad,
  region: readonly Polygon[],
  cl: (x: Mm, y: Mm) => Mm,
  floor: Mm,
): Result {
  const made = draft(ctx, head, cutter, cond, null, (b, m) => {
    clear(b, region, cl, {
      ...m,
      cutterDiameter: cutter.diameter,
      top: ctx.frame.topZ,
      floor,
      depth: cond.depth,
      limit,
      wood: woodOf(ctx),
      linkFeed: Math.min(ctx.machine.feed.x, ctx.machine.feed.y),
      ...(ctx.slabs && { slabs: ctx.slabs }),
    });
  });
  return bounded(made, limit, cond.depth);
}

/** The draft with its promise: the proof audits it. */
export const bounded = (r: Result, limit: Rad, depth: Mm): Result =>
  r.draft === null ? r : { ...r, draft: { ...r.draft, engagement: { limit, depth } } };
