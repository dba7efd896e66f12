import type { Cutter } from "../../cutting/types.ts";
import type { Polygon } from "../../kernel/polygon.ts";
import type { Mm, Rad } from "../../units/index.ts";
import { type Asked, type Context, conditions, type Result } from "./context.ts";

/** Widths of step that roughing is planned with, as shares of the cutter's diameter: from deep and narrow to shallow and wide. */
const STEPS = [0.1, 0.15, 0.2, 0.25, 0.3, 0.4] as const;
/** How far the blank's edge may lie from where the order says, mm. */
export const BLANK_MARGIN: Mm = 2;
/** Passes of bounded engagement are so much longer than the area over the step, on the whole. */
const LONGER = 1.2;

/**
 * Conditions for clearing `depth` of wood, by computed time: every step's own depth and feed under the loads it may have, over
 * the levels it then takes. A wider step wins when it is not slower by a hundredth.
 */
export function bestRoughing(ctx: Context, cutter: Cutter, depth: Mm): Asked {
  let best: Asked | null = null;
  let least = Infinity;
  for (const share of [...STEPS].reverse()) {
    const c = conditions(ctx, cutter, { step: cutter.diameter * share, kind: "side", depth });
    const levels = Math.max(1, Math.ceil(depth / c.depth - 1e-9));
    const seconds = (LONGER * levels) / (c.step * c.feed);
    if (seconds < least * 0.99) {
      least = seconds;
      best = c;
    }
  }
  return best as Asked;
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

/** The draft with its promise: the proof audits it. */
export const bounded = (r: Result, limit: Rad, depth: Mm): Result =>
  r.draft === null ? r : { ...r, draft: { ...r.draft, engagement: { limit, depth } } };
