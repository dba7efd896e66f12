import type { Cutter } from "../../cutting/types.ts";
import { crossEdge } from "../../neck/fan.ts";
import { fillerTop } from "../../neck/filler.ts";
import { isTilted } from "../../neck/places.ts";
import type { Neck, RodChannel } from "../../neck/types.ts";
import type { Mm } from "../../units/index.ts";
import { boreSteps, peck } from "../strategies/bore.ts";
import { channel, groove, roundPocket } from "../strategies/pocket.ts";
import { shapedChannel } from "../strategies/shaped.ts";
import { slot } from "../strategies/slot.ts";
import { ACROSS, ALONG, type Context, conditions, draft, NOTHING_TO_CUT, type Result, withCutter } from "./context.ts";
import type { CutterAsk } from "./cutters.ts";
import { pickCutter } from "./cutters.ts";
import type { Frame } from "./frame.ts";

/** Recesses for the face markers, through the blank's face to their floors under the finished board. */
export function markers(ctx: Context): Result {
  const { frame, neck } = ctx;
  const { markers: all } = neck.features;
  if (all.length === 0) return NOTHING_TO_CUT;
  const head = { id: "markers", title: "Marker recesses", why: "Before the board's radius, which then levels the glued markers." };
  const deep = Math.max(...all.map((m) => frame.topZ - frame.z(m.zFloor)));
  return withCutter(ctx, head, recessAsk(neck, frame), (cutter) => {
    const cond = conditions(ctx, cutter, { step: cutter.diameter * 0.4, kind: "slot", depth: deep });
    return draft(ctx, head, cutter, cond, null, (b, m) => {
      for (const r of all)
        roundPocket(
          b,
          frame.x(r.x),
          frame.y(r.y),
          { diameter: r.diameter, zTop: frame.topZ, zBottom: frame.z(r.zFloor) },
          { ...m, cutterDiameter: cutter.diameter, depth: cond.depth, step: cutter.diameter * 0.4 },
        );
    });
  });
}

/** What the marker recesses ask of their cutter. */
export function recessAsk(neck: Neck, frame: Frame): CutterAsk {
  const all = neck.features.markers;
  const narrow = Math.min(...all.map((m) => m.diameter));
  const deep = Math.max(...all.map((m) => frame.topZ - frame.z(m.zFloor)));
  return { shapes: ["flat"], most: narrow * 0.8, flute: deep, reach: deep + 2 };
}

/** Stepped bores from the headstock's face into the waste under its back. */
export function tunerBores(ctx: Context): Result {
  const { frame, neck } = ctx;
  const tuners = neck.features.tuners.filter((t) => !t.tilt);
  if (tuners.length === 0) return NOTHING_TO_CUT;
  const head = {
    id: "tuner-bores",
    title: "Tuner bores",
    why: "From the face, while the whole blank lies under them as backing; the back is carved open later.",
  };
  const { breakThrough } = neck.order.cutting;
  const narrow = Math.min(...tuners.flatMap((t) => t.steps.map((s) => s.diameter)));
  const top = tuners[0].steps[0].zTop;
  const bottom = Math.min(...tuners.flatMap((t) => t.steps.map((s) => s.zBottom))) - breakThrough;
  const ask = {
    shapes: ["flat" as const],
    most: Math.min(narrow * 0.85, narrow - 0.8),
    flute: top - bottom,
    reach: frame.topZ - frame.z(bottom) + 2,
  };
  return withCutter(ctx, head, ask, (cutter) => {
    const cond = conditions(ctx, cutter, { step: cutter.diameter, kind: "slot" });
    return draft(ctx, head, cutter, cond, null, (b, m) => {
      for (const t of tuners) {
        const last = t.steps.length - 1;
        const steps = t.steps.map((s, i) => ({
          diameter: s.diameter,
          zTop: frame.z(s.zTop),
          zBottom: frame.z(i === last ? s.zBottom - breakThrough : s.zBottom),
        }));
        boreSteps(b, frame.x(t.x), frame.y(t.y), steps, {
          ...m,
          cutterDiameter: cutter.diameter,
          depth: Math.min(cond.depth, cutter.diameter / 2),
        });
      }
    });
  });
}

/** The nut's seat across the board, or the whole shelf in front of the ramp. */
export function nutSeat(ctx: Context): Result {
  const { frame, neck } = ctx;
  const { nut } = neck.features;
  const head = {
    id: "nut-seat",
    title: nut.kind === "seat" ? "Nut seat" : "Nut shelf",
    why: "The nut's end before the board's long edges.",
  };
  const width = (nut.xMax - nut.xMin) / Math.hypot(1, nut.slope);
  const depth = frame.topZ - frame.z(nut.zFloor);
  return withCutter(ctx, head, { shapes: ["flat"], most: Math.min(width, 6), flute: Math.min(depth, 10), reach: depth + 2 }, (cutter) => {
    const cond = conditions(ctx, cutter, { step: cutter.diameter, kind: "slot", depth, wood: ACROSS });
    const middle = { x0: (nut.xMin + nut.xMax) / 2, slope: nut.slope };
    const [from, to] = ([0, 1] as const).map((i) => {
      const p = crossEdge(middle, (x) => neck.boardEdges(x)[i]);
      return [frame.x(p.x), frame.y(p.y)] as const;
    });
    return draft(ctx, head, cutter, cond, 0, (b, m) =>
      groove(
        b,
        { from, to, width, zTop: frame.topZ, zBottom: frame.z(nut.zFloor) },
        { ...m, cutterDiameter: cutter.diameter, depth: cond.depth, step: cutter.diameter * 0.4, entry: "ramp" },
      ),
    );
  });
}

/** A slot's second line takes a thin strip only: its passes may be so many times as deep. */
const SECOND_DEEPER = 2;
/** Along a finished floor nothing is cut, so that chips can be carried out at so many times the feed. */
const CLEARING = 2;

/**
 * Fret slots: floors parallel to the finished board, passes no deeper than one kerf, through slots run out past both edges. One
 * line with a cutter as wide as the kerf; with a thinner one two, one along each wall. A last way along the floor carries out the chips.
 */
export function fretSlots(ctx: Context): Result {
  const { frame, neck } = ctx;
  const { frets } = neck.features;
  if (frets.length === 0) return NOTHING_TO_CUT;
  const head = {
    id: "fret-slots",
    title: "Fret slots",
    why: "After the board's radius, so that their edges stay crisp and their floors follow it.",
  };
  const { kerf, depth } = frets[0];
  const exact = { shapes: ["flat" as const], most: kerf + 0.002, least: kerf - 0.02, flute: depth, reach: depth + 8 };
  // two lines must meet in the middle
  const thinner = { ...exact, most: kerf - 0.02, least: kerf * 0.55 };
  const ask = pickCutter(ctx.cutters, exact) === null && pickCutter(ctx.cutters, thinner) !== null ? thinner : exact;
  return withCutter(ctx, head, ask, (cutter) => {
    const side = ask === thinner ? (kerf - cutter.diameter) / 2 : 0;
    // the wall on the bridge's side first, then the other
    const lines = side > 0 ? [-side, side] : [0];
    const cond = conditions(ctx, cutter, { step: cutter.diameter, kind: "slot-narrow", depth: Math.min(depth, kerf), wood: ACROSS });
    return draft(ctx, head, cutter, cond, null, (b, m) => {
      for (const f of frets) {
        const line = Float64Array.from([frame.x(f.bass.x), frame.y(f.bass.y), frame.x(f.treble.x), frame.y(f.treble.y)]);
        const length = Math.hypot(line[2] - line[0], line[3] - line[1]);
        const ux = (f.treble.x - f.bass.x) / length;
        const uy = (f.treble.y - f.bass.y) / length;
        const surface = (u: Mm): Mm => frame.z(neck.top(f.bass.x + ux * u, f.bass.y + uy * u));
        // a flat cutter on a sloping floor digs in with its lower rim and misses with its middle: half of each
        const rim = (u: Mm): Mm => (Math.abs(surface(u + 0.05) - surface(u - 0.05)) / 0.1) * (cutter.diameter / 4);
        const [across, along] = [-(line[3] - line[1]) / length, (line[2] - line[0]) / length];
        lines.forEach((off, n) => {
          const shifted = Float64Array.from(line, (v, k) => v + off * (k % 2 === 0 ? across : along));
          slot(b, shifted, (u) => surface(u) - f.depth + rim(u), {
            ...m,
            cutterDiameter: cutter.diameter,
            passDepth: Math.min(cond.depth, kerf) * (n === 0 ? 1 : SECOND_DEEPER),
            depth: f.depth,
            ends: f.ends,
            clearance: 1,
            // waste stands past the edges too
            entry: "ramp",
            ...(n === lines.length - 1 ? { clear: CLEARING * m.feed } : {}),
          });
        });
      }
    });
  });
}

/**
 * On a sloping floor a flat cutter's lower rim digs in on the middle line, and near the walls, where its rim is short, it leaves wood: raised
 * by this share of its radius times the slope, it misses by as much both ways, 0.43 of that product.
 */
const SAG_RIM = 0.57;
/** Most that a floor may be missed by so, mm: within the 0.02 that the proof allows. */
const SAG_MISS: Mm = 0.017;

/**
 * Height of the tip on a channel's floor, at length u from the middle of its first round end: a parabola over the whole channel, midway
 * `sag` further from the glue plane, and what the rim asks for.
 */
function floorAlong(ctx: Context, c: RodChannel, cutter: Cutter): (u: Mm) => Mm {
  const { sag = 0, width, xMin, xMax, zFloor } = c;
  const r = width / 2;
  const length = xMax - xMin;
  const curve = (u: Mm): Mm => ctx.frame.z(zFloor - (4 * sag * (u + r) * (length - r - u)) / (length * length));
  return (u) => curve(u) + SAG_RIM * (cutter.diameter / 2) * Math.abs(curve(u + 0.5) - curve(u - 0.5));
}

/** The widest flat cutter whose rim stays within that on a channel's curved floor. */
const widestOnSag = (c: { readonly sag?: Mm; readonly xMin: Mm; readonly xMax: Mm }): Mm =>
  c.sag ? (2 * SAG_MISS * (c.xMax - c.xMin)) / ((1 - SAG_RIM) * 4 * c.sag) : Number.POSITIVE_INFINITY;

/** The rod's channel (and its access), from whichever side it opens to. */
export function rodChannel(ctx: Context): Result {
  const { frame, neck, side } = ctx;
  const channels = neck.features.rod.filter((c) => c.from === side);
  if (channels.length === 0 || (side === "carve" && fillerTop(neck) !== null)) return NOTHING_TO_CUT;
  const head = {
    id: "rod-channel",
    title: "Rod channel",
    why:
      side === "carve"
        ? "First on this side: rod and filler strip are glued in, and the carve levels the strip."
        : "Into the bare shaft, before the board goes on.",
  };
  const narrow = Math.min(...channels.map((c) => Math.min(c.width, widestOnSag(c))));
  const deep = Math.max(...channels.map((c) => frame.topZ - Math.min(frame.z(c.zFloor), frame.z(c.zFloor - (c.sag ?? 0)))));
  return withCutter(ctx, head, { shapes: ["flat"], most: narrow, flute: deep, reach: deep + 2 }, (cutter) => {
    const cond = conditions(ctx, cutter, { step: cutter.diameter, kind: "slot", wood: ALONG });
    return draft(ctx, head, cutter, cond, null, (b, m) => {
      for (const c of channels) {
        const r = c.width / 2;
        const ends = {
          from: [frame.x(c.xMin + r), frame.y(c.y ?? 0)],
          to: [frame.x(c.xMax - r), frame.y(c.y ?? 0)],
          width: c.width,
        } as const;
        const how = { ...m, cutterDiameter: cutter.diameter, depth: cond.depth, step: cutter.diameter * 0.4 };
        if (!c.sag) {
          channel(b, { ...ends, zTop: frame.topZ, zBottom: frame.z(c.zFloor) }, how);
          continue;
        }
        shapedChannel(b, { ...ends, top: () => frame.topZ, floor: floorAlong(ctx, c, cutter) }, how);
      }
    });
  });
}

/** What roughing may leave on the back over its allowance between its rows. */
const BETWEEN_ROWS: Mm = 1.5;

/** Channels that open at the back under a blank too thick to cut them through it: from the roughed back. */
export function channelRoughed(ctx: Context): Result {
  const { frame, neck } = ctx;
  const channels = neck.features.rod.filter((c) => c.from === "carve");
  if (channels.length === 0 || fillerTop(neck) === null) return NOTHING_TO_CUT;
  const head = {
    id: "channel-roughed",
    title: channels.length > 1 ? "Channels of rod and bars" : "Rod channel",
    why: "From the roughed back: the blank is too thick to cut them through it. Their filler strips are levelled before the finishing rows.",
  };
  const { roughLeave } = neck.order.cutting;
  const over = (c: (typeof channels)[number], x: Mm): Mm => frame.z(neck.back(x, c.y ?? 0)) + roughLeave + BETWEEN_ROWS;
  let deep = 0;
  for (const c of channels) for (let x = c.xMin; x <= c.xMax; x += 1) deep = Math.max(deep, over(c, x) - frame.z(c.zFloor));
  const narrow = Math.min(...channels.map((c) => Math.min(c.width, widestOnSag(c))));
  return withCutter(ctx, head, { shapes: ["flat"], most: narrow, flute: deep, reach: deep + 12 }, (cutter) => {
    const cond = conditions(ctx, cutter, { step: cutter.diameter, kind: "slot", wood: ALONG });
    return draft(ctx, head, cutter, cond, null, (b, m) => {
      for (const c of channels) {
        const r = c.width / 2;
        shapedChannel(
          b,
          {
            from: [frame.x(c.xMin + r), frame.y(c.y ?? 0)],
            to: [frame.x(c.xMax - r), frame.y(c.y ?? 0)],
            width: c.width,
            top: (u) => over(c, Math.min(c.xMax, Math.max(c.xMin, c.xMin + r + u))),
            floor: floorAlong(ctx, c, cutter),
          },
          { ...m, cutterDiameter: cutter.diameter, depth: cond.depth, step: cutter.diameter * 0.4 },
        );
      }
    });
  });
}

/** Heel screws, drilled from the back; a flat cutter spirals where the shop has no drill of the size. */
export function screwBores(ctx: Context): Result {
  return isTilted(ctx.neck.order)
    ? NOTHING_TO_CUT
    : screwsFrom(ctx, ctx.frame.topZ, "While the glue on the filler strip cures; they do not disturb it.");
}

/** The same from the finished heel, under a blank that a tilted headstock makes so thick that no drill reaches through it. */
export function screwBoresLow(ctx: Context): Result {
  const { neck, frame } = ctx;
  if (!isTilted(neck.order) || neck.features.screws.length === 0) return NOTHING_TO_CUT;
  const top = Math.max(...neck.features.screws.map((s) => frame.z(neck.back(s.x, s.y))));
  return screwsFrom(ctx, top, "From the finished heel: the blank is too thick to drill through it to them.");
}

/** Beside a heel under a thick blank roughing has cleared so much at least. */
const CLEARED: Mm = 7;

function screwsFrom(ctx: Context, zTop: Mm, why: string): Result {
  const { frame, neck } = ctx;
  const { screws } = neck.features;
  if (screws.length === 0) return NOTHING_TO_CUT;
  const head = { id: "heel-screws", title: "Heel screw bores", why };
  const { diameter, zTo } = screws[0];
  const deep = zTop - frame.z(zTo);
  // the holder stays over the blank, or within what roughing has cleared around the heel
  const reach = frame.topZ - frame.z(zTo);
  const room = Math.min(...screws.flatMap((s) => neck.edges(s.x).map((y) => Math.abs(y - s.y)))) + CLEARED;
  const clearsWaste = (c: Cutter, deepest: Mm): boolean => {
    let from = c.reach;
    return (
      zTop < frame.topZ &&
      c.reach >= deep + 1 &&
      c.holder.every((h) => {
        const free = h.diameter / 2 + 1 < room || from >= deepest;
        from += h.length;
        return free;
      })
    );
  };
  const drill = ctx.cutters.find(
    (c) =>
      c.shape === "drill" &&
      Math.abs(c.diameter - diameter) <= 0.05 &&
      c.fluteLength >= deep &&
      (c.reach >= reach || clearsWaste(c, reach)),
  );
  if (drill) return drilled(ctx, drill);
  return withCutter(ctx, head, { shapes: ["flat"], most: diameter * 0.85, flute: deep, reach: reach + 2 }, (cutter) => {
    const cond = conditions(ctx, cutter, { step: cutter.diameter, kind: "slot" });
    return draft(ctx, head, cutter, cond, null, (b, m) => {
      for (const s of screws)
        boreSteps(b, frame.x(s.x), frame.y(s.y), [{ diameter: s.diameter, zTop, zBottom: frame.z(s.zTo) }], {
          ...m,
          cutterDiameter: cutter.diameter,
          depth: Math.min(cond.depth, cutter.diameter / 2),
        });
    });
  });

  function drilled(c: Context, cutter: Cutter): Result {
    const cond = conditions(c, cutter, { step: cutter.diameter, kind: "plunge" });
    return draft(c, head, cutter, cond, null, (b, m) => {
      for (const s of screws) peck(b, frame.x(s.x), frame.y(s.y), zTop, frame.z(s.zTo), { ...m, peck: cond.depth });
    });
  }
}
