import { rowSpacing } from "../../cutting/cusp.ts";
import { intersectionOf, offsetPolygon } from "../../kernel/offset.ts";
import type { Polygon } from "../../kernel/polygon.ts";
import { finding, type Mm } from "../../units/index.ts";
import { PA } from "../rules.ts";
import { levels } from "../strategies/levels.ts";
import { rows } from "../strategies/rows.ts";
import { type Context, conditions, draft, NOTHING_TO_CUT, type Result, withCutter } from "./context.ts";
import { flatRows } from "./flats.ts";

/** Half-plane in the side's frame on which the neck's x is at most `x`. */
function upTo(ctx: Context, x: Mm, reach: Mm): Polygon {
  const { frame } = ctx;
  const a = frame.x(x);
  const b = frame.x(ctx.neck.places.tip - reach);
  const [x0, x1] = a < b ? [a, b] : [b, a];
  const [y0, y1] = [frame.stock.min[1] - reach, frame.stock.max[1] + reach];
  return Float64Array.from([x0, y0, x1, y0, x1, y1, x0, y1]);
}

/** Takes the headstock's face down to `roughLeave` above the finished face, the ramp's wood included. */
export function headstockRough(ctx: Context): Result {
  const { neck, frame } = ctx;
  const { places, order } = neck;
  const head = {
    id: "headstock-rough",
    title: "Headstock face, roughing",
    why: "The most wood goes first, while the blank is stiff and whole.",
  };
  const face = -order.headstock.drop;
  const depth = frame.topZ - frame.z(face);
  return withCutter(ctx, head, { shapes: ["flat"], most: 10, flute: depth, reach: depth + 3 }, (cutter) => {
    const r = cutter.diameter / 2;
    const leave = order.cutting.roughLeave;
    const cond = conditions(ctx, cutter, { step: cutter.diameter * 0.4, kind: "side", depth: depth - leave });
    const margin = r + 1;
    const region = intersectionOf(offsetPolygon([ctx.outline], margin), [upTo(ctx, places.rampTop, margin + 5)]);
    const rampTop = ctx.frame.topZ;
    const { rampFoot } = places;
    const R = order.headstock.rampRadius;
    const bottom = frame.z(face) + leave;
    // the cutter's rim nearest the nut meets the ramp first
    const cl = (x: Mm): Mm => {
      const d = frame.nx(x) + r + leave - rampFoot;
      if (d <= 0) return bottom;
      if (d >= R) return rampTop;
      return Math.min(rampTop, bottom + R - Math.sqrt(R * R - d * d));
    };
    return draft(ctx, head, cutter, cond, null, (b, m) =>
      levels(b, region, cl, { ...m, top: frame.topZ, floor: bottom, depth: cond.depth, step: cond.step }),
    );
  });
}

/** The finished face, flat to the ramp's foot. */
export function headstockFace(ctx: Context): Result {
  const { neck, frame } = ctx;
  const { places, order } = neck;
  const head = { id: "headstock-face", title: "Headstock face", why: "Before the bores, so that they start on a true face." };
  const depth = frame.topZ - frame.z(-order.headstock.drop);
  return withCutter(ctx, head, { shapes: ["flat"], most: 10, flute: order.cutting.roughLeave, reach: depth + 3 }, (cutter) => {
    const r = cutter.diameter / 2;
    const cond = conditions(ctx, cutter, { step: cutter.diameter * 0.45, kind: "finish", depth: order.cutting.roughLeave });
    const path = flatRows(ctx, places.tip, places.rampFoot - r, r, cutter.diameter * 0.45, 1.5, frame.z(-order.headstock.drop));
    return draft(ctx, head, cutter, cond, 0, (b, m) => rows(b, [path], { ...m, entry: "ramp" }));
  });
}

/** The ramp: rows across the neck, evenly spaced along its arc, the ball's centre on the concentric arc. */
export function ramp(ctx: Context): Result {
  const { neck, frame } = ctx;
  const { places, order } = neck;
  const { rampRadius: R, drop } = order.headstock;
  const head = { id: "ramp", title: "Ramp to the nut", why: "With the face, before the nut's seat is cut beside it." };
  const rise = frame.topZ - frame.z(-drop);
  if (rise <= 0) return NOTHING_TO_CUT;
  return withCutter(ctx, head, { shapes: ["ball"], most: R * 1.9, flute: 1, reach: rise + 3 }, (cutter) => {
    const r = cutter.diameter / 2;
    const { cusp } = order.cutting;
    const spacing = rowSpacing(r, cusp, -R);
    const cond = conditions(ctx, cutter, { step: spacing, kind: "finish", depth: order.cutting.roughLeave });
    const last = rise >= R ? Math.PI / 2 : Math.acos((R - rise) / R);
    const n = Math.ceil((last * R) / spacing);
    const path: number[] = [];
    let forward = true;
    const add = (x: Mm, tip: Mm, at: Mm): void => {
      const [lo, hi] = neck
        .edges(at)
        .map(frame.y)
        .sort((p, q) => p - q);
      const ends = forward ? [lo - 1.5, hi + 1.5] : [hi + 1.5, lo - 1.5];
      for (const y of ends) path.push(frame.x(x), y, frame.z(tip));
      forward = !forward;
    };
    const overlap = 4;
    for (let k = overlap; k >= 1; k--) add(places.rampFoot - k * spacing, -drop, places.rampFoot - k * spacing);
    for (let k = 0; k <= n; k++) {
      const a = (last * k) / n;
      add(places.rampFoot + (R - r) * Math.sin(a), -drop + R - (R - r) * Math.cos(a) - r, places.rampFoot + R * Math.sin(a));
    }
    const result = draft(ctx, head, cutter, cond, cusp, (b, m) => rows(b, [Float64Array.from(path)], { ...m, entry: "plunge" }));
    if (r <= R * 0.98) return result;
    return {
      ...result,
      findings: [
        finding(PA.tightInward, {
          where: "headstock.rampRadius",
          value: R,
          limit: r / 0.98,
          unit: "mm",
          says: `The ramp's radius of ${R} mm is tighter than the cutter that finishes it.`,
          tryThis: "Order a larger ramp radius, or add a smaller round-nosed cutter to the shop.",
        }),
      ],
    };
  });
}
