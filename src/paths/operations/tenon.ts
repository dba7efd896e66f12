import { bendLimit } from "../../cutting/conditions.ts";
import { TENON_CORNER, tenonUnder } from "../../neck/features.ts";
import type { Mm } from "../../units/index.ts";
import type { Path } from "../strategies/common.ts";
import { openContour } from "../strategies/contour.ts";
import { rows } from "../strategies/rows.ts";
import { type Context, conditions, draft, NOTHING_TO_CUT, type Result, withCutter } from "./context.ts";

/*
 * The tenon of a set neck, from the back: what roughing has left over it comes off its underside, beside it and at its shoulder.
 *
 *        shoulder
 *   heel ___|                     cheeks: down to the glue plane, rows along the neck
 *           |_______ underside    underside: rows across, steps as low as the finish asks where it leans
 *   --------+-------              walls: shoulder and side in one pass each way round, as deep as the cutter bends little
 */

/** Past the shaft's end and the tenon's sides, and past the outline: there roughing has cleared no more. */
const BEYOND: Mm = 1.5;
const OUTSIDE: Mm = 0.5;
/** Steps over a leaning underside are no higher than this, whatever ridges the back may keep: glue joins it. */
const LOW: Mm = 0.01;
/** Where the cutter comes down beside the shoulder it is so far off it: more than roughing leaves. */
const OFF: Mm = 1.5;

/** Underside, cheeks and walls of the tenon. */
export function tenon(ctx: Context): Result {
  const { neck, frame } = ctx;
  const t = neck.features.tenon;
  if (t === null) return NOTHING_TO_CUT;
  const { cusp, roughLeave } = neck.order.cutting;
  const head = {
    id: "tenon",
    title: "Tenon",
    why: "While the waste still holds the whole heel; its shoulder and sides in one holding, so that they stand square.",
  };
  const floor = frame.z(0);
  const depth = frame.topZ - floor;
  const high = frame.z(tenonUnder(t, t.xMin));
  const ask = { shapes: ["flat" as const], most: 2 * TENON_CORNER, least: 4, flute: depth, reach: depth + 3 };
  return withCutter(ctx, head, ask, (cutter) => {
    const r = cutter.diameter / 2;
    const step = 0.45 * cutter.diameter;
    const cond = conditions(ctx, cutter, { step: roughLeave, kind: "side", depth: high - floor, bend: bendLimit("finish", ctx.machine) });
    const end = t.xMax + r + BEYOND;
    const half = t.width / 2;
    // its underside: every row level, as low as its highest place lets it be
    const lean = Math.abs(Math.tan(t.angle));
    const close = lean > 0 ? Math.min(step, Math.min(cusp, LOW) / lean) : step;
    const n = Math.ceil((t.xMax - t.xMin) / close);
    const under: number[] = [];
    for (let k = 0; k <= n; k++) {
      const x = t.xMin + r + ((t.xMax - t.xMin) * k) / n;
      const z = frame.z(Math.min(tenonUnder(t, x - r), tenonUnder(t, x + r)));
      const ys = [-half - BEYOND, half + BEYOND];
      if (k % 2 === 1) ys.reverse();
      for (const y of ys) under.push(frame.x(x), frame.y(y), z);
    }
    const cheeks: Path[] = [];
    const walls: Float64Array[] = [];
    for (const side of [0, 1] as const) {
      const sign = side === 0 ? -1 : 1;
      let edge = half;
      for (let x = t.xMin; x <= t.xMax; x += 1) edge = Math.max(edge, sign * neck.edges(Math.min(x, neck.places.end))[side]);
      const out = edge + r + OUTSIDE;
      const wall = half + r;
      const rowsAcross = Math.max(1, Math.ceil((out - wall) / step));
      const cheek: number[] = [];
      for (let k = 0; k <= rowsAcross; k++) {
        // the walls' own passes take what these leave beside them
        const y = sign * (out + ((wall + roughLeave - out) * k) / rowsAcross);
        const xs = [end, t.xMin + r + roughLeave];
        if (k % 2 === 1) xs.reverse();
        for (const x of xs) cheek.push(frame.x(x), frame.y(y), floor);
      }
      cheeks.push(Float64Array.from(cheek));
      // in from the outside, off the shoulder, along it, then along the side to the end; the other way round where the tenon would lie on the left
      const way = [
        [t.xMin + r + OFF, sign * out],
        [t.xMin + r, sign * out],
        [t.xMin + r, sign * wall],
        [end, sign * wall],
      ].map(([x, y]) => [frame.x(x), frame.y(y)] as const);
      const turn = (way[2][0] - way[1][0]) * (way[3][1] - way[2][1]) - (way[2][1] - way[1][1]) * (way[3][0] - way[2][0]);
      // the wood stands in the corner's outside: on the right of a way that turns left
      if (turn < 0) way.reverse();
      walls.push(Float64Array.from(way.flat()));
    }
    return draft(ctx, head, cutter, cond, cusp, (b, motion) => {
      // down to over the heel, which roughing has brought down to its allowance
      const over = Math.max(high, frame.z(neck.section(t.xMin - 0.01).flat)) + roughLeave;
      const m = { ...motion, approachZ: Math.min(motion.approachZ, over + ctx.machine.approach) };
      rows(b, [Float64Array.from(under)], { ...m, entry: "ramp" });
      rows(b, cheeks, { ...m, entry: "ramp", direction: "one-way" });
      for (const w of walls)
        openContour(b, w, { ...m, zTop: high, zBottom: floor, depth: cond.depth, entry: "outside", passes: "one-way" });
    });
  });
}
