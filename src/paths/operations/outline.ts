import { bendLimit } from "../../cutting/conditions.ts";
import { profileOf, radiusAtHeight } from "../../cutting/shape.ts";
import type { Cutter } from "../../cutting/types.ts";
import { offsetPolygon } from "../../kernel/offset.ts";
import { isCounterClockwise, type Polygon, polygonArea, reversedPolygon } from "../../kernel/polygon.ts";
import { type Finding, finding, type Mm } from "../../units/index.ts";
import { PA } from "../rules.ts";
import { contour, type Tab } from "../strategies/contour.ts";
import { wallPass } from "../strategies/wall.ts";
import { type Context, type CutHead, conditions, draft, type Result, withCutter } from "./context.ts";
import { fibresInFrame, grainZones } from "./grain.ts";
import { bounded, FULL_WIDTH, fullWidth, limitOf } from "./rough.ts";

/** The way of a cutter's centre around the outline, `off` outside it: the largest ring. */
export function ringAround(outline: Polygon, off: Mm): Polygon {
  const rings = offsetPolygon([outline], off);
  return rings.reduce((a, b) => (Math.abs(polygonArea(b)) > Math.abs(polygonArea(a)) ? b : a), rings[0]);
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
  /** Roughing stays so far above that. */
  readonly above: Mm;
  readonly tabs: readonly Tab[];
}

function wallsOf(ctx: Context): Walls {
  const { frame, neck } = ctx;
  const channelFloor = frame.z(ctx.zSet);
  if (ctx.side === "board") return { zBottom: channelFloor, above: 0.2, tabs: [] };
  const { release } = neck.order.cutting;
  // tabs: half a millimetre past the channel's floor; skin: so much short of it
  const zBottom = release.kind === "tabs" ? channelFloor - 0.5 : channelFloor + release.thickness;
  return { zBottom, above: 0.1, tabs: release.kind === "tabs" ? tabsOf(ctx, channelFloor + release.thickness, release.width) : [] };
}

/** Width that roughing leaves on the walls. */
const leaveOf = (ctx: Context): Mm => Math.min(0.3, ctx.neck.order.cutting.roughLeave);

/** Both cuts of an outline take the same cutter. */
const withOutlineCutter = (ctx: Context, head: CutHead, depth: Mm, make: (cutter: Cutter) => Result): Result =>
  withCutter(ctx, head, { shapes: ["flat"], most: 8, least: 3, flute: depth, reach: depth + 3 }, make);

/** The channel around the neck, at full width, a little off the walls: on the board side to the set depth, then through, over tabs or a skin. */
export function outlineRough(ctx: Context): Result {
  const { frame } = ctx;
  const head = {
    id: "outline-rough",
    title: "Outline, roughing",
    why: "Close before the clean passes, while the waste still holds the piece. Wood stands on both sides of the cutter: every lap is as deep as a slot may be, no deeper.",
  };
  const { zBottom, above, tabs } = wallsOf(ctx);
  const depth = frame.topZ - zBottom;
  return withOutlineCutter(ctx, head, depth, (cutter) => {
    const cond = fullWidth(ctx, cutter, depth);
    const made = draft(ctx, head, cutter, cond, null, (b, m) =>
      contour(b, ringAround(ctx.outline, cutter.diameter / 2 + leaveOf(ctx)), {
        ...m,
        cutterDiameter: cutter.diameter,
        zTop: frame.topZ,
        zBottom: zBottom + above,
        keep: "inside",
        depth: cond.depth,
        tabs,
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
  const { zBottom, tabs } = wallsOf(ctx);
  const depth = frame.topZ - zBottom;
  return withOutlineCutter(ctx, head, depth, (cutter) => {
    const r = cutter.diameter / 2;
    const leave = leaveOf(ctx);
    const cond = conditions(ctx, cutter, { step: leave, kind: "side", depth, bend: bendLimit("finish", machine) });
    const ring = ringAround(ctx.outline, r);
    const ccw = isCounterClockwise(ring) ? ring : reversedPolygon(ring);
    const made = draft(ctx, head, cutter, cond, 0, (b, m) => {
      const wall = { ...m, cutterDiameter: cutter.diameter, zTop: frame.topZ, zBottom, tabs };
      contour(b, ccw, { ...wall, depth: cond.depth, keep: "inside" });
      wallPass(b, ccw, grainZones(ccw, fibresInFrame(ctx), r), { ...wall, leave: leave / 2 });
    });
    return { ...bounded(made, limitOf(cutter, STRIP_MOST * leave), depth), findings: [...made.findings, ...tooTight(ctx, r)] };
  });
}

/** Tabs where they are easy to pare off: on the upright sides of headstock and heel, two each side, and one at the body's end. */
function tabsOf(ctx: Context, zTop: Mm, width: Mm): Tab[] {
  const { neck, frame } = ctx;
  const p = neck.places;
  const at = (x: Mm, side: 0 | 1): Tab => ({ at: { x: frame.x(x), y: frame.y(neck.edges(x)[side]) }, width, zTop });
  const t = neck.order.headstock;
  const far = p.tip + Math.max(12, t.tip * 0.9);
  const near = -(t.throat + t.blend) - 8;
  const xs = [far, ...(near - far > 3 * width ? [near] : []), p.heelFront + 10, p.shaftEnd - 14];
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
