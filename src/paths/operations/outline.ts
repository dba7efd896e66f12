import { bendLimit } from "../../cutting/conditions.ts";
import { profileOf, radiusAtHeight } from "../../cutting/shape.ts";
import type { Cutter } from "../../cutting/types.ts";
import type { MoveBuilder } from "../../kernel/moves.ts";
import { offsetPolygon } from "../../kernel/offset.ts";
import { isCounterClockwise, type Polygon, polygonArea, reversedPolygon } from "../../kernel/polygon.ts";
import { type Finding, finding, type Mm } from "../../units/index.ts";
import { PA } from "../rules.ts";
import { contour, type Tab } from "../strategies/contour.ts";
import { type WallOptions, wallPass } from "../strategies/wall.ts";
import { type Context, conditions, draft, type Result, withCutter } from "./context.ts";
import { fibresInFrame, grainZones } from "./grain.ts";

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

/** The upright sides, from the board's face down to the set depth: roughed a little off, then one clean lap at full depth. */
export function outlineBoard(ctx: Context): Result {
  const { frame, neck } = ctx;
  const head = {
    id: "outline",
    title: "Outline to the set depth",
    why: "Last on this side, while the waste still holds the piece.",
    wood: "right" as const,
  };
  const zBottom = frame.z(ctx.zSet);
  const depth = frame.topZ - zBottom;
  return withCutter(ctx, head, { shapes: ["flat"], most: 8, least: 3, flute: depth, reach: depth + 3 }, (cutter) => {
    const r = cutter.diameter / 2;
    const cond = conditions(ctx, cutter, { step: cutter.diameter, kind: "slot", depth });
    const leave = Math.min(0.3, neck.order.cutting.roughLeave);
    const result = draft(ctx, head, cutter, cond, 0, (b, m) => {
      const common = { ...m, cutterDiameter: cutter.diameter, zTop: frame.topZ, keep: "inside" as const };
      contour(b, ringAround(ctx.outline, r + leave), { ...common, zBottom: zBottom + 0.2, depth: cond.depth });
      cleanWall(ctx, b, cutter, leave, { ...m, cutterDiameter: cutter.diameter, zTop: frame.topZ, zBottom });
    });
    return { ...result, findings: tooTight(ctx, r) };
  });
}

/** Headstock, heel and all the sides that are still joined: from the back into the board side's channel, over tabs or a skin. */
export function outlineCarve(ctx: Context): Result {
  const { frame, neck } = ctx;
  const head = {
    id: "outline-through",
    title: "Outline through",
    why: "Last of all: from here on only tabs (or a skin) hold the neck.",
    wood: "right" as const,
  };
  const { release } = neck.order.cutting;
  const channelFloor = frame.z(ctx.zSet);
  // tabs: half a millimetre past the channel's floor; skin: so much short of it
  const zBottom = release.kind === "tabs" ? channelFloor - 0.5 : channelFloor + release.thickness;
  const depth = frame.topZ - zBottom;
  return withCutter(ctx, head, { shapes: ["flat"], most: 8, least: 3, flute: depth, reach: depth + 3 }, (cutter) => {
    const r = cutter.diameter / 2;
    const cond = conditions(ctx, cutter, { step: cutter.diameter, kind: "slot", depth });
    const leave = Math.min(0.3, neck.order.cutting.roughLeave);
    const tabs = release.kind === "tabs" ? tabsOf(ctx, channelFloor + release.thickness, release.width) : [];
    const result = draft(ctx, head, cutter, cond, 0, (b, m) => {
      const common = { ...m, cutterDiameter: cutter.diameter, zTop: frame.topZ, keep: "inside" as const };
      contour(b, ringAround(ctx.outline, r + leave), { ...common, tabs, zBottom: zBottom + 0.1, depth: cond.depth });
      cleanWall(ctx, b, cutter, leave, { ...m, cutterDiameter: cutter.diameter, zTop: frame.topZ, zBottom, tabs });
    });
    const findings: Finding[] = [...tooTight(ctx, r)];
    return { ...result, findings };
  });
}

/**
 * The clean passes that bring a wall to its line: light climbing laps, no deeper than the cutter bends little under the thin strip
 * left to it (climbing lifts no fibres, however they lie), then one pass over the whole depth that takes away what the bend has
 * left, stretch by stretch in the direction that lays the fibres down, ends first.
 */
function cleanWall(ctx: Context, b: MoveBuilder, cutter: Cutter, leave: Mm, wall: Omit<WallOptions, "leave">): void {
  const thin = conditions(ctx, cutter, { step: leave, kind: "side" });
  const share = Math.min(1, bendLimit("finish", ctx.machine) / Math.max(1e-6, thin.bend));
  const ring = ringAround(ctx.outline, cutter.diameter / 2);
  const ccw = isCounterClockwise(ring) ? ring : reversedPolygon(ring);
  contour(b, ccw, { ...wall, feed: thin.feed, depth: Math.max(0.5, thin.depth * share), keep: "inside" });
  wallPass(b, ccw, grainZones(ccw, fibresInFrame(ctx), cutter.diameter / 2), { ...wall, feed: thin.feed, leave: leave / 2 });
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
