import { bendLimit } from "../../cutting/conditions.ts";
import { profileOf, radiusAtHeight } from "../../cutting/shape.ts";
import type { Cutter } from "../../cutting/types.ts";
import { offsetPolygon } from "../../kernel/offset.ts";
import { isCounterClockwise, type Polygon, polygonArea, reversedPolygon } from "../../kernel/polygon.ts";
import { isTilted, tiltOf } from "../../neck/places.ts";
import { type Finding, finding, type Mm, type Rad } from "../../units/index.ts";
import { PA } from "../rules.ts";
import { contour, type Tab } from "../strategies/contour.ts";
import { wallPass } from "../strategies/wall.ts";
import { type Context, type CutHead, conditions, draft, type Result, withCutter } from "./context.ts";
import { fibresInFrame, grainZones } from "./grain.ts";
import { headFacePlane } from "./planes.ts";
import { bounded, FULL_WIDTH, fullWidth, limitOf } from "./rough.ts";

/** The way of a cutter's centre around the outline, `off` outside it: the largest ring. */
export function ringAround(outline: Polygon, off: Mm): Polygon {
  const rings = offsetPolygon([outline], off);
  return rings.reduce((a, b) => (Math.abs(polygonArea(b)) > Math.abs(polygonArea(a)) ? b : a), rings[0]);
}

/** In its inward corners roughing turns at this radius at least: a cutter that turned on the spot would rub along a wall as round as itself. */
const TURN: Mm = 0.6;

/** The way of roughing around the outline, `off` outside it, its inward corners rounded where the outline's are hardly wider. */
function roughRing(ctx: Context, off: Mm): Polygon {
  if (ctx.inward >= off + TURN) return ringAround(ctx.outline, off);
  return ringAround(ringAround(ctx.outline, off + TURN), -TURN);
}

/** A shallow line around the neck, so that the maker sees where it will fall before anything deep is cut. */
export function scribe(ctx: Context): Result {
  const { frame, neck } = ctx;
  const head = {
    id: "scribe",
    title: "Scribe",
    why: "First, and shallow: look where the outline falls on the wood, and correct the placement while it costs nothing.",
  };
  const depth = neck.order.cutting.scribeDepth;
  return withCutter(ctx, head, { shapes: ["vee", "flat"], most: 6, flute: depth, reach: 5, small: true, least: 2 }, (cutter) => {
    const half = cutter.shape === "vee" ? radiusAtHeight(profileOf(cutter), depth) : cutter.diameter / 2;
    const cond = conditions(ctx, cutter, { step: 2 * half, kind: "slot", depth });
    return draft(ctx, head, cutter, cond, null, (b, m) =>
      contour(b, ringAround(ctx.outline, half), {
        ...m,
        cutterDiameter: 2 * half,
        zTop: frame.topZ,
        zBottom: frame.topZ - depth,
        depth: Math.min(depth, cond.depth),
        keep: "inside",
      }),
    );
  });
}

/** What both cuts of a side's outline work from. */
interface Walls {
  readonly zBottom: Mm;
  /** Under a tilted headstock the cut ends past its face. */
  readonly least?: (x: Mm, y: Mm) => Mm;
  /** Slope of the rise to a tab: over a tilted face so much steeper that it ends beside the tab there too. */
  readonly tabAngle: Rad;
  /** Depth of the cut under the blank's face: what the flutes must reach, for the waste beside stands as high. */
  readonly high: Mm;
  /** Roughing stays so far above that. */
  readonly above: Mm;
  readonly tabs: readonly Tab[];
}

function wallsOf(ctx: Context): Walls {
  const { frame, neck } = ctx;
  const channelFloor = frame.z(ctx.zSet);
  if (ctx.side === "board") return { zBottom: channelFloor, above: 0.2, tabs: [], tabAngle: TAB_ANGLE, high: frame.topZ - channelFloor };
  const { release } = neck.order.cutting;
  // tabs: half a millimetre past the channel's floor; skin: so much short of it
  const past = release.kind === "tabs" ? -0.5 : release.thickness;
  const zBottom = channelFloor + past;
  const face = isTilted(neck.order) ? faceBelow(ctx) : null;
  const tabs = release.kind === "tabs" ? tabsOf(ctx, channelFloor, release.thickness, release.width, face) : [];
  const least = face === null ? {} : { least: (x: Mm, y: Mm): Mm => face(x, y) + past };
  const tabAngle = TAB_ANGLE + tiltOf(neck.order);
  return { zBottom, above: 0.1, tabs, tabAngle, high: frame.topZ - zBottom, ...least };
}

/** Height of a tilted headstock's face, program frame with the back up, where a cutter as wide as the widest touches it last. */
function faceBelow(ctx: Context): (x: Mm, y: Mm) => Mm {
  const { frame } = ctx;
  const face = headFacePlane(ctx.neck);
  const along = Math.hypot(1, face.slope);
  // the face lies lowest, seen from its back, nearest to the nut
  return (x, y) => frame.z(Math.min(0, face.z(frame.nx(x) + (WIDEST / 2) * along, frame.ny(y))));
}

const TAB_ANGLE: Rad = (15 * Math.PI) / 180;
/** Widest cutter of an outline. */
const WIDEST: Mm = 8;

/** Width that roughing leaves on the walls. */
const leaveOf = (ctx: Context): Mm => Math.min(0.3, ctx.neck.order.cutting.roughLeave);

/** Both cuts of an outline take the same cutter. */
const withOutlineCutter = (ctx: Context, head: CutHead, { zBottom, high }: Walls, make: (cutter: Cutter) => Result): Result =>
  withCutter(ctx, head, { shapes: ["flat"], most: WIDEST, least: 3, flute: high, reach: ctx.frame.topZ - zBottom + 3 }, make);

/** The channel around the neck, at full width, a little off the walls: on the board side to the set depth, then through, over tabs or a skin. */
export function outlineRough(ctx: Context): Result {
  const { frame } = ctx;
  const head = {
    id: "outline-rough",
    title: "Outline, roughing",
    why: "Close before the clean passes, while the waste still holds the piece. Wood stands on both sides of the cutter: every lap is as deep as a slot may be, no deeper.",
  };
  const walls = wallsOf(ctx);
  const { zBottom, above, tabs, tabAngle, least } = walls;
  return withOutlineCutter(ctx, head, walls, (cutter) => {
    const cond = fullWidth(ctx, cutter, walls.high);
    const made = draft(ctx, head, cutter, cond, null, (b, m) =>
      contour(b, roughRing(ctx, cutter.diameter / 2 + leaveOf(ctx)), {
        ...m,
        cutterDiameter: cutter.diameter,
        zTop: frame.topZ,
        zBottom: zBottom + above,
        keep: "inside",
        depth: cond.depth,
        tabs,
        tabAngle,
        ...(least === undefined ? {} : { least: (x: Mm, y: Mm) => least(x, y) + above }),
      }),
    );
    return bounded(made, FULL_WIDTH, cond.depth);
  });
}

/** The upright sides, from the board's face down to the set depth: what roughing left comes off in clean laps. */
export function outlineBoard(ctx: Context): Result {
  return outlineClean(ctx, {
    id: "outline",
    title: "Outline to the set depth",
    why: "Last on this side, while the waste still holds the piece.",
    wood: "right",
  });
}

/** Headstock, heel and all the sides that are still joined: from the back into the board side's channel, over tabs or a skin. */
export function outlineCarve(ctx: Context): Result {
  return outlineClean(ctx, {
    id: "outline-through",
    title: "Outline through",
    why: "Last of all: from here on only tabs (or a skin) hold the neck.",
    wood: "right",
  });
}

/** Clean laps of both sides are judged by twice the strip they are planned for: where the outline curves inward it is wider. */
const STRIP_MOST = 2;

/**
 * The clean passes that bring a wall to its line: light climbing laps, no deeper than the cutter bends little under the thin strip
 * left to it (climbing lifts no fibres, however they lie), then one pass over the whole depth that takes away what the bend has
 * left, stretch by stretch in the direction that lays the fibres down, ends first.
 */
function outlineClean(ctx: Context, head: CutHead): Result {
  const { frame, machine } = ctx;
  const walls = wallsOf(ctx);
  const { zBottom, tabs, tabAngle, least } = walls;
  const depth = walls.high;
  return withOutlineCutter(ctx, head, walls, (cutter) => {
    const r = cutter.diameter / 2;
    const leave = leaveOf(ctx);
    const cond = conditions(ctx, cutter, { step: leave, kind: "side", depth, bend: bendLimit("finish", machine) });
    const ring = ringAround(ctx.outline, r);
    const ccw = isCounterClockwise(ring) ? ring : reversedPolygon(ring);
    const made = draft(ctx, head, cutter, cond, 0, (b, m) => {
      const wall = {
        ...m,
        cutterDiameter: cutter.diameter,
        zTop: frame.topZ,
        zBottom,
        tabs,
        tabAngle,
        ...(least === undefined ? {} : { least }),
      };
      contour(b, ccw, { ...wall, depth: cond.depth, keep: "inside" });
      wallPass(b, ccw, grainZones(ccw, fibresInFrame(ctx), r), { ...wall, leave: leave / 2 });
    });
    return { ...bounded(made, limitOf(cutter, STRIP_MOST * leave), depth), findings: [...made.findings, ...tooTight(ctx, r)] };
  });
}

/** Tabs where they are easy to pare off: on the upright sides of headstock and heel, two each side, and one at the body's end. */
function tabsOf(ctx: Context, channelFloor: Mm, thickness: Mm, width: Mm, face: ((x: Mm, y: Mm) => Mm) | null): Tab[] {
  const { neck, frame } = ctx;
  const p = neck.places;
  const at = (x: Mm, side: 0 | 1): Tab => {
    const [u, v] = [frame.x(x), frame.y(neck.edges(x)[side])];
    // under a tilted face a tab lies on the wood that the board side's cut has left beside it
    const floor = face === null ? channelFloor : Math.max(channelFloor, face(frame.x(x - width), v));
    return { at: { x: u, y: v }, width, zTop: floor + thickness };
  };
  const t = neck.order.headstock;
  const far = p.tip + Math.max(12, t.tip * 0.9);
  const near = -(t.throat + t.blend) - 8;
  const { tenon } = neck.features;
  // beside a tenon nothing stays: the tabs stand before its shoulder
  const heel = tenon === null ? [p.heelFront + 10, p.shaftEnd - 14] : [p.heelFront - 8, tenon.xMin - width];
  const xs = [far, ...(near - far > 3 * width ? [near] : []), ...heel];
  return [...xs.flatMap((x) => [at(x, 0), at(x, 1)])];
}

function tooTight(ctx: Context, r: Mm): Finding[] {
  if (ctx.inward >= r) return [];
  return [
    finding(PA.outlineTight, {
      where: "headstock",
      value: Math.round(ctx.inward * 100) / 100,
      limit: r,
      unit: "mm",
      says: `The outline curves inward with a radius of ${Math.round(ctx.inward * 100) / 100} mm; the cutter leaves a rounder corner of ${r} mm.`,
      tryThis: "Lengthen headstock.blend, or put a smaller flat cutter into the shop.",
    }),
  ];
}
