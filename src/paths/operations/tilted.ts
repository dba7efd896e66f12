import { intersectionOf, offsetPolygon } from "../../kernel/offset.ts";
import type { Polygon } from "../../kernel/polygon.ts";
import { isTilted, tiltOf } from "../../neck/places.ts";
import type { Mm } from "../../units/index.ts";
import { peck } from "../strategies/bore.ts";
import { narrowing } from "../strategies/clear.ts";
import type { Path } from "../strategies/common.ts";
import { rows } from "../strategies/rows.ts";
import { shapedChannel } from "../strategies/shaped.ts";
import { ACROSS, ALONG, type Context, conditions, draft, NOTHING_TO_CUT, type Result, withCutter, withSoundCutter } from "./context.ts";
import { pickCutter } from "./cutters.ts";
import { farthestHead, fromRow, headBackPlane, headFacePlane, heelPlane, type Leaning, planeRows } from "./planes.ts";
import { bestRoughing, clearedDraft, limitOf } from "./rough.ts";

/*
 * A headstock whose face tilts back from the nut, cut upright:
 *
 *      nut              face: in slabs that follow it, then rows of a ball along its level lines
 *   ---.
 *       `--.__          openings: through, in passes that follow the face, their walls upright
 *     \       `--.__    bores: square to the face, which three axes cannot do; their middles are spotted, and they are drilled by hand
 *      `--.__       |
 *            `--.__ |   back: rows of a ball across it, from the other side
 */

/** What clearing in slabs leaves on a slope besides its allowance: its steps. */
const RISE: Mm = 0.8;
/** Each slab is narrower than the one above, so that the shank meets no wall: flutes for a slab will do. */
const FLUTE: Mm = 20;
/** Rows end this far past the outline; those of the back less, where roughing has cleared no more. */
const BEYOND: Mm = 1.5;
const BEYOND_BACK: Mm = 0.5;
/** Spots of the bores, below the face. */
const SPOT: Mm = 1;

/** Takes the wood over a tilted face away, down to `roughLeave` above it. */
export function tiltedRough(ctx: Context): Result {
  const { neck, frame } = ctx;
  const { order } = neck;
  const head = {
    id: "headstock-rough",
    title: "Headstock face, roughing",
    why: "The most wood goes first, while the blank is stiff and whole. In slabs, and up the slope in low steps.",
  };
  const face = headFacePlane(neck);
  const distance = fromRow(face);
  const rise = Math.tan(tiltOf(order));
  const far = farthestHead(ctx, face);
  const wall = order.blank.kind !== "shaft-alone";
  const depth = frame.topZ - frame.z(far * rise);
  return withCutter(ctx, head, { shapes: ["flat"], most: 10, flute: Math.min(depth, FLUTE), reach: depth + 3 }, (cutter) => {
    const r = cutter.diameter / 2;
    const leave = order.cutting.roughLeave;
    const cond = bestRoughing(ctx, cutter, depth - leave);
    const limit = limitOf(cutter, cond.step);
    const margin = r + 1 + narrowing(cutter.diameter, depth - leave, cond.depth);
    const region = intersectionOf(offsetPolygon([ctx.outline], margin), [headSide(ctx, face, margin + 5)]);
    const bottom = frame.z(far * rise) + leave;
    // the rim that is farthest up the slope touches first; a glued board's end is a wall there
    const cl = (x: Mm, y: Mm): Mm => {
      const d = distance(frame.nx(x), frame.ny(y)) + r;
      if (wall && d + leave >= 0) return frame.topZ;
      return Math.min(frame.topZ, Math.max(bottom, frame.z(Math.min(0, d) * rise) + leave));
    };
    return clearedDraft(ctx, head, cutter, cond, limit, region, cl, bottom);
  });
}

/** The side of the hinge line on which the headstock lies, side frame. */
function headSide(ctx: Context, face: Leaning, reach: Mm): Polygon {
  const { frame, neck } = ctx;
  const far = neck.places.tip - reach;
  const ys = [frame.ny(frame.stock.min[1] - reach), frame.ny(frame.stock.max[1] + reach)];
  const ring = [
    [far, ys[0]],
    [face.x0 + face.slope * ys[0], ys[0]],
    [face.x0 + face.slope * ys[1], ys[1]],
    [far, ys[1]],
  ].map(([x, y]) => [frame.x(x), frame.y(y)] as const);
  const area = ring.reduce((s, [x, y], k) => s + x * ring[(k + 1) % 4][1] - y * ring[(k + 1) % 4][0], 0);
  if (area < 0) ring.reverse();
  return Float64Array.from(ring.flat());
}

/** The finished tilted face: rows along its level lines, as far up as a glued board's end lets the ball. */
export function tiltedFace(ctx: Context): Result {
  const { neck, frame } = ctx;
  const { cusp, roughLeave } = neck.order.cutting;
  const head = {
    id: "headstock-face",
    title: "Headstock face",
    why: "Before the openings and the bores' spots, so that they start on a true face.",
  };
  const face = headFacePlane(neck);
  const rise = tiltOf(neck.order);
  const far = farthestHead(ctx, face);
  const depth = frame.topZ - frame.z(far * Math.tan(rise));
  return withSoundCutter(ctx, head, { shapes: ["ball"], most: 14, flute: 1, reach: depth + 3 }, (cutter) => {
    const r = cutter.diameter / 2;
    return plane(ctx, head, cutter, roughLeave + RISE, rise, [planeRows(ctx, face, r, cusp, far - 0.2, nearest(ctx, r), BEYOND)]);
  });
}

/** The touch nearest to the hinge: on it, or where a ball of radius r meets the wall of a glued board. */
function nearest(ctx: Context, r: Mm): Mm {
  const rise = tiltOf(ctx.neck.order);
  return ctx.neck.order.blank.kind === "shaft-alone" ? 0 : -r * (1 - Math.sin(rise));
}

/** The corner between a tilted face and the end of a glued board, where the ball does not fit: low steps of a flat cutter. */
export function tiltedCorner(ctx: Context): Result {
  const { neck, frame } = ctx;
  const { order } = neck;
  if (!isTilted(order) || order.blank.kind === "shaft-alone") return NOTHING_TO_CUT;
  const head = {
    id: "headstock-corner",
    title: "Headstock face, corner at the nut",
    why: "Where the ball does not fit, in steps as low as its ridges.",
  };
  const face = headFacePlane(neck);
  const rise = tiltOf(order);
  const depth = frame.topZ - frame.z(0) + 3;
  const { cusp } = order.cutting;
  // the widest strip that any ball of the shop leaves
  const wide =
    Math.max(...ctx.cutters.filter((c) => c.shape === "ball" && c.diameter <= 14).map((c) => -nearest(ctx, c.diameter / 2)), 1) + 0.5;
  return withCutter(ctx, head, { shapes: ["flat"], most: 6, least: 2, flute: 3, reach: depth + 2 }, (cutter) => {
    const r = cutter.diameter / 2;
    const step = cusp / (Math.sin(rise) * Math.cos(rise));
    const cond = conditions(ctx, cutter, {
      step: cutter.diameter,
      kind: "slot",
      depth: Math.min(r, 2 * order.cutting.roughLeave + wide * Math.tan(rise)),
      wood: ACROSS,
    });
    const along = Math.hypot(1, face.slope);
    const n = Math.ceil(wide / step);
    const out: number[] = [];
    for (let k = n; k >= 0; k--) {
      // its rim up the slope touches the face at -k step
      const d = -k * step;
      const ys = ([0, 1] as const).map((i) => neck.edges(Math.max(neck.places.tip, face.x0 + d - r))[i] + (i === 0 ? -BEYOND : BEYOND));
      const ends = ys.map((y) => [frame.x(face.x0 + face.slope * y + (d - r) * along), frame.y(y), frame.z(d * Math.tan(rise))] as const);
      if (k % 2 === 1) ends.reverse();
      for (const e of ends) out.push(...e);
    }
    const path = Float64Array.from(out);
    const layers = Math.max(1, Math.ceil((order.cutting.roughLeave + RISE + r * Math.tan(rise)) / cond.depth - 1e-9));
    return draft(ctx, head, cutter, cond, cusp, (b, m) => {
      for (let k = layers - 1; k >= 0; k--) rows(b, [path.map((v, i) => (i % 3 === 2 ? v + k * cond.depth : v))], { ...m, entry: "ramp" });
    });
  });
}

/** The planes of the back that lean: a tilted headstock's, and a heel's at the neck's angle. */
export function backLeaning(ctx: Context): Result {
  const { neck, frame } = ctx;
  const { order, places: p } = neck;
  const { cusp, roughLeave } = order.cutting;
  const tilt = tiltOf(order);
  const head = {
    id: "back-leaning",
    title: tilt > 0 && neck.neckAngle !== 0 ? "Headstock back and heel, which lean" : tilt > 0 ? "Headstock back" : "Heel",
    why: "True planes first: the carve's rows run out onto them.",
  };
  if (tilt === 0 && neck.neckAngle === 0) return NOTHING_TO_CUT;
  // a headstock's back stands high, a heel's too: the lowest place that a row comes to
  const back = headBackPlane(neck);
  const heel = heelPlane(neck);
  const low = Math.min(
    ...(tilt > 0 ? [frame.z(back.z(p.headBack, 0))] : []),
    ...(neck.neckAngle !== 0 ? [frame.z(heel.z(p.shaftEnd, 0))] : []),
  );
  const depth = frame.topZ - low;
  // the waste beside stands as high as the blank: a shank without flutes would rub along it
  return withSoundCutter(ctx, head, { shapes: ["ball"], most: 14, flute: depth, reach: depth + 3 }, (cutter) => {
    const r = cutter.diameter / 2;
    const lines: Path[] = [];
    if (tilt > 0) lines.push(planeRows(ctx, back, r, cusp, farthestHead(ctx, back) - 0.2, 0.5, BEYOND_BACK));
    if (neck.neckAngle !== 0) lines.push(planeRows(ctx, heel, r, cusp, -0.5, p.shaftEnd - p.heelFront + 0.5, BEYOND_BACK));
    return plane(ctx, head, cutter, roughLeave, Math.max(tilt, neck.neckAngle), lines);
  });
}

/** Rows of a ball, in as many layers as the machine needs to stand still enough over `deep` of wood. */
function plane(
  ctx: Context,
  head: { readonly id: string; readonly title: string; readonly why: string },
  cutter: Parameters<typeof conditions>[1],
  deep: Mm,
  slope: number,
  lines: readonly Path[],
): Result {
  const { cusp } = ctx.neck.order.cutting;
  const step = 2 * Math.sqrt(cutter.diameter * cusp);
  const cond = conditions(ctx, cutter, { step, kind: "finish", depth: deep, wood: ACROSS, slope, layers: true });
  const layers = Math.ceil(deep / cond.depth - 1e-9);
  return draft(ctx, head, cutter, cond, cusp, (b, m) => {
    for (let k = layers - 1; k >= 0; k--) {
      const up = (k * deep) / layers;
      rows(b, k === 0 ? lines : lines.map((l) => l.map((v, i) => (i % 3 === 2 ? v + up : v))), {
        ...m,
        entry: "plunge",
        direction: "one-way",
      });
    }
  });
}

/** Marks the middles of bores that are to be drilled square to the tilted face by hand; without a small pointed cutter they are marked by hand too. */
export function tunerSpots(ctx: Context): Result {
  const { neck, frame } = ctx;
  const all = neck.features.tuners.filter((t) => t.tilt);
  if (all.length === 0) return NOTHING_TO_CUT;
  const face = headFacePlane(neck);
  const depth = Math.max(...all.map((t) => frame.topZ - frame.z(face.z(t.x, t.y)))) + SPOT;
  const head = {
    id: "tuner-spots",
    title: "Spots of the tuner bores",
    why: "The bores stand square to the tilted face, which three axes cannot drill: only their middles are marked, for the drill press.",
  };
  const cutter = pickCutter(ctx.cutters, { shapes: ["drill", "vee"], most: 6.5, flute: SPOT, reach: depth + 3, small: true });
  if (cutter === null) return NOTHING_TO_CUT;
  const cond = conditions(ctx, cutter, { step: cutter.diameter, kind: "plunge" });
  return draft(ctx, head, cutter, cond, null, (b, m) => {
    for (const t of all) {
      const z = frame.z(face.z(t.x, t.y));
      peck(b, frame.x(t.x), frame.y(t.y), z, z - SPOT, { ...m, peck: Math.min(cond.depth, SPOT) });
    }
  });
}

/** The openings of a slotted headstock, through into the waste under its back. */
export function headSlots(ctx: Context): Result {
  const { neck, frame } = ctx;
  const { headSlots: all } = neck.features;
  if (all.length === 0) return NOTHING_TO_CUT;
  const { order } = neck;
  const head = {
    id: "head-slots",
    title: "Openings of the headstock",
    why: "From the face, while the whole blank lies under them; the back is carved open later. Their walls stand upright, also at their ends.",
  };
  const tilt = tiltOf(order);
  const face = headFacePlane(neck);
  const top = (x: Mm, y: Mm): Mm => frame.z(tilt > 0 ? face.z(x, y) : -order.headstock.drop);
  const thick = order.headstock.thickness / Math.cos(tilt) + order.cutting.breakThrough;
  const narrow = Math.min(...all.map((h) => h.width));
  const low = Math.min(...all.flatMap((h) => [h.xMin, h.xMax].map((x) => top(x, h.y)))) - thick;
  const reach = frame.topZ - low + 2;
  return withCutter(ctx, head, { shapes: ["flat"], most: Math.min(narrow * 0.8, narrow - 0.8), flute: thick, reach }, (cutter) => {
    const cond = conditions(ctx, cutter, { step: cutter.diameter, kind: "slot", depth: thick, wood: ALONG });
    return draft(ctx, head, cutter, cond, null, (b, m) => {
      for (const h of all) {
        const r = h.width / 2;
        const [a, e] = [h.xMin + r, h.xMax - r];
        // up the slope a flat cutter's rim is the radius ahead: it goes so much deeper that the whole width is through
        const deeper = (cutter.diameter / 2) * Math.tan(tilt);
        const surface = (u: Mm): Mm => top(a + u, h.y) + deeper;
        shapedChannel(
          b,
          {
            from: [frame.x(a), frame.y(h.y)],
            to: [frame.x(e), frame.y(h.y)],
            width: h.width,
            top: surface,
            floor: (u) => surface(u) - thick - 2 * deeper,
          },
          { ...m, cutterDiameter: cutter.diameter, depth: cond.depth, step: cutter.diameter * 0.4 },
        );
      }
    });
  });
}
