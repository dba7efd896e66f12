import { rowSpacing } from "../../cutting/cusp.ts";
import { intersectionOf, offsetPolygon } from "../../kernel/offset.ts";
import type { Polygon } from "../../kernel/polygon.ts";
import { crossEdge } from "../../neck/fan.ts";
import { isTilted } from "../../neck/places.ts";
import type { Mm } from "../../units/index.ts";
import { narrowing } from "../strategies/clear.ts";
import { rows } from "../strategies/rows.ts";
import { ACROSS, type Context, conditions, draft, NOTHING_TO_CUT, type Result, withCutter, withSoundCutter } from "./context.ts";
import { flatRows } from "./flats.ts";
import { bestRoughing, clearedDraft, limitOf } from "./rough.ts";
import { tiltedFace, tiltedRough } from "./tilted.ts";

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
  if (isTilted(ctx.neck.order)) return tiltedRough(ctx);
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
    const cond = bestRoughing(ctx, cutter, depth - leave);
    const limit = limitOf(cutter, cond.step);
    const margin = r + 1 + narrowing(cutter.diameter, depth - leave, cond.depth);
    const region = intersectionOf(offsetPolygon([ctx.outline], margin), [
      upTo(ctx, places.rampTop + Math.abs(places.nutSlope) * widest(ctx), margin + 5),
    ]);
    const rampTop = ctx.frame.topZ;
    const R = order.headstock.rampRadius;
    const bottom = frame.z(face) + leave;
    // the cutter's rim nearest the nut's line meets the ramp first
    const fromFoot = footDistance(ctx);
    const cl = (x: Mm, y: Mm): Mm => {
      const d = fromFoot(frame.nx(x), frame.ny(y)) + r + leave;
      if (d <= 0) return bottom;
      if (d >= R) return rampTop;
      return Math.min(rampTop, bottom + R - Math.sqrt(R * R - d * d));
    };
    return clearedDraft(ctx, head, cutter, cond, limit, region, cl, bottom);
  });
}

/** Distance of a place of the neck frame from the ramp's foot, square to the nut's line, toward the board. */
function footDistance(ctx: Context): (x: Mm, y: Mm) => Mm {
  const { rampFoot, nutSlope } = ctx.neck.places;
  const square = 1 / Math.hypot(1, nutSlope);
  return (x, y) => (x - nutSlope * y - rampFoot) * square;
}

/** Largest distance of the headstock's outline from the centreline. */
function widest(ctx: Context): Mm {
  const { tip } = ctx.neck.places;
  let most = 0;
  for (let i = 1; i < 40; i++) most = Math.max(most, ...ctx.neck.edges(tip + (-tip * i) / 40).map(Math.abs));
  return most;
}

/** The finished face, flat to the ramp's foot. */
export function headstockFace(ctx: Context): Result {
  if (isTilted(ctx.neck.order)) return tiltedFace(ctx);
  const { neck, frame } = ctx;
  const { places, order } = neck;
  const head = { id: "headstock-face", title: "Headstock face", why: "Before the bores, so that they start on a true face." };
  const depth = frame.topZ - frame.z(-order.headstock.drop);
  return withCutter(ctx, head, { shapes: ["flat"], most: 10, flute: order.cutting.roughLeave, reach: depth + 3 }, (cutter) => {
    const r = cutter.diameter / 2;
    const cond = conditions(ctx, cutter, {
      step: cutter.diameter * 0.45,
      kind: "finish",
      depth: order.cutting.roughLeave,
      wood: ACROSS,
      slope: 0,
    });
    const k = places.nutSlope;
    const foot = places.rampFoot - r * Math.hypot(1, k);
    const path = flatRows(
      ctx,
      places.tip - Math.abs(k) * widest(ctx),
      foot,
      r,
      cutter.diameter * 0.45,
      1.5,
      frame.z(-order.headstock.drop),
      k,
    );
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
  if (rise <= 0 || isTilted(order)) return NOTHING_TO_CUT;
  return withSoundCutter(ctx, head, { shapes: ["ball"], most: R * 1.9, flute: 1, reach: rise + 3 }, (cutter) => {
    const r = cutter.diameter / 2;
    const { cusp } = order.cutting;
    const spacing = rowSpacing(r, cusp, -R);
    const last = rise >= R ? Math.PI / 2 : Math.acos((R - rise) / R);
    const ask = { step: spacing, kind: "finish", depth: order.cutting.roughLeave, wood: ACROSS, slope: last, layers: true } as const;
    const cond = conditions(ctx, cutter, ask);
    const n = Math.ceil((last * R) / spacing);
    const path: number[] = [];
    let forward = true;
    const k = places.nutSlope;
    const along = Math.hypot(1, k);
    // d: distance from the ramp's foot square to the nut's line; the row crosses the centreline at rampFoot + d along
    const add = (d: Mm, tip: Mm, touch: Mm): void => {
      const line = { x0: places.rampFoot + d * along, slope: k };
      const at = places.rampFoot + touch * along;
      const ends = ([0, 1] as const).map((i) => crossEdge(line, (x) => neck.edges(x + at - line.x0)[i] + (i === 0 ? -1.5 : 1.5)));
      const way = ends.map((e) => [frame.x(e.x), frame.y(e.y)] as const).sort((p, q) => p[1] - q[1]);
      if (!forward) way.reverse();
      for (const [x, y] of way) path.push(x, y, frame.z(tip));
      forward = !forward;
    };
    const overlap = 4;
    for (let i = overlap; i >= 1; i--) add(-i * spacing, -drop, -i * spacing);
    for (let i = 0; i <= n; i++) {
      const a = (last * i) / n;
      add((R - r) * Math.sin(a), -drop + R - (R - r) * Math.cos(a) - r, R * Math.sin(a));
    }
    // one layer, or as many as the machine needs to stand still enough
    const layers = Math.ceil(order.cutting.roughLeave / cond.depth - 1e-9);
    const layer = (up: Mm): Float64Array => Float64Array.from(path, (v, i) => (i % 3 === 2 ? v + up : v));
    return draft(ctx, head, cutter, cond, cusp, (b, m) => {
      for (let n = layers - 1; n >= 0; n--) rows(b, [layer((n * order.cutting.roughLeave) / layers)], { ...m, entry: "plunge" });
    });
  });
}
