import type { Curve, Point } from "../../kernel/curve.ts";
import type { Neck, RodChannel } from "../../neck/types.ts";
import type { Drawing, XY } from "../draw/types.ts";
import { at, pathOf, uprightView, type View } from "../draw/view.ts";
import { dim, SIZE } from "../drawings/common.ts";
import { Pen } from "../drawings/pen.ts";
import { backAt } from "../drawings/profile.ts";
import { scaleBar } from "./bar.ts";
import { gaugePlaces } from "./gauges.ts";
import { sampled } from "./sampled.ts";

const MARGIN = 12;

/** Parameters along x at which the back or the board may change its formula. */
export function breaksAlong(neck: Neck): number[] {
  const p = neck.places;
  const o = neck.order;
  const stations = o.carve.stations.map((s) => (s.at.kind === "x" ? s.at.x : o.scale * (1 - 2 ** (-s.at.fret / 12))));
  const v = o.carve.volute;
  const fall = o.board.fallAway ? [o.scale * (1 - 2 ** (-o.board.fallAway.from / 12))] : [];
  const relief = o.board.relief ? [o.scale * (1 - 2 ** (-o.board.relief.to / 12))] : [];
  const swell = v ? [v.at - v.length, v.at, v.at + v.length] : [];
  return [p.rampFoot, p.rampTop, 0, p.headBack, p.carveStart, p.carveEnd, p.heelFront, ...stations, ...fall, ...relief, ...swell];
}

/** The centreline, or where the headstock lies to one side of it the nearest place inside. */
export function nearestMiddle(neck: Neck, x: number): number {
  const [lo, hi] = neck.edges(Math.max(neck.places.tip + 1e-7, Math.min(neck.places.end - 1e-7, x)));
  const hair = 1e-9 * (hi - lo);
  return Math.max(lo + hair, Math.min(hi - hair, 0));
}

const lines = (points: readonly XY[]): Curve[] => points.slice(1).map((b, k) => ({ kind: "line", a: pt(points[k]), b: pt(b) }) as const);
const pt = ([x, y]: XY): Point => ({ x, y });

/**
 * The finished top along the middle as curves in x and z, tip to the board's end: the headstock's face, its ramp (a true arc on a single
 * scale), the step up to the board where there is one, and the board's crown.
 */
export function topAlong(neck: Neck): Curve[] {
  const p = neck.places;
  const o = neck.order;
  const breaks = breaksAlong(neck);
  const hair = 1e-9;
  const z = (x: number): XY => [x, neck.top(x, nearestMiddle(neck, x))];
  const tilted = (o.headstock.kind ?? "flat") !== "flat";
  const out: Curve[] = [];
  const foot = tilted ? p.rampTop - hair : p.rampFoot;
  out.push(...lines(sampled((x) => (x >= foot ? [foot, tilted ? 0 : -o.headstock.drop] : z(x)), p.tip, foot, breaks)));
  let last: XY = [foot, tilted ? 0 : -o.headstock.drop];
  if (!tilted) {
    const r = o.headstock.rampRadius;
    const square = 1 / Math.hypot(1, p.nutSlope);
    const run = (p.rampTop - p.rampFoot) * square;
    const turn = Math.asin(Math.min(1, run / r));
    if (p.nutSlope === 0) {
      const centre = { x: p.rampFoot, y: r - o.headstock.drop };
      out.push({ kind: "arc", centre, radius: r, start: -Math.PI / 2, sweep: turn });
    } else {
      const on = (a: number): XY => [p.rampFoot + (r * Math.sin(a)) / square, r - o.headstock.drop - r * Math.cos(a)];
      out.push(...lines(sampled(on, 0, turn)));
    }
    last = [p.rampTop, r - o.headstock.drop - r * Math.cos(turn)];
  }
  const board = sampled((x) => [x, neck.boardTop(x, 0)], p.rampTop, p.boardEnd, breaks);
  if (o.nut.kind === "seat" || tilted) {
    if (Math.abs(board[0][1] - last[1]) > 1e-9 || board[0][0] !== last[0]) out.push({ kind: "line", a: pt(last), b: pt(board[0]) });
    out.push(...lines(board));
    return out;
  }
  // a shelf: flat at the nut's floor from the ramp to the board's end face at x = 0
  const face: XY = [0, o.nut.floor];
  const rise = sampled((x) => [x, neck.boardTop(x, 0)], 0, p.boardEnd, breaks);
  out.push(...lines([last, face, rise[0]]), ...lines(rise));
  return out;
}

/** The finished back along the middle, tip to the shaft's end. */
export const backAlong = (neck: Neck): XY[] =>
  sampled((x) => [x, backAt(neck, x, nearestMiddle(neck, x))], neck.places.tip, neck.places.shaftEnd, breaksAlong(neck));

/**
 * The neck from the side at true size, cut along its middle: for the side of a blank, and for a saw or a spokeshave. x = 0 is the
 * nut's line, y = 0 (z of the neck) the glue plane between board and shaft. Layers: TOP, BACK, END, GLUE-LINE, NUT, FRET-SLOTS, ROD, ROD-ACCESS,
 * BARS, SCREWS, TENON, STATIONS, CHECK-BAR, NOTES.
 */
export function profileDrawing(neck: Neck): Drawing {
  const p = neck.places;
  const top = topAlong(neck);
  const back = backAlong(neck);
  const zMax = Math.max(
    ...[0, 0.25, 0.5, 0.75, 1].map((t) => neck.boardTop(t * p.boardEnd, 0)),
    neck.top(p.tip, nearestMiddle(neck, p.tip)),
    0,
  );
  const zMin = Math.min(...back.map((q) => q[1]));
  const view = uprightView([MARGIN - p.tip, MARGIN + zMax], 1);
  const pen = new Pen();
  pen.path("wide", pathOf(view, top, false), { layer: "TOP" });
  pen.polyline(
    "wide",
    back.map(([x, z]) => at(view, x, z)),
    { layer: "BACK" },
  );
  const tipTop = neck.top(p.tip, nearestMiddle(neck, p.tip));
  pen.line("wide", at(view, p.tip, back[0][1]), at(view, p.tip, tipTop), { layer: "END" });
  pen.line("wide", at(view, p.shaftEnd, back[back.length - 1][1]), at(view, p.shaftEnd, 0), { layer: "END" });
  pen.line("wide", at(view, p.boardEnd, 0), at(view, p.boardEnd, neck.boardTop(p.boardEnd, 0)), { layer: "END" });
  pen.line("wide", at(view, p.boardFront, 0), at(view, p.boardEnd, 0), { layer: "GLUE-LINE" });
  const n = neck.features.nut;
  const seat = n.kind === "seat" ? [n.xMin, n.xMax] : [n.xMin, 0];
  pen.polyline(
    "narrow",
    [
      at(view, seat[0], neck.top(seat[0], 0)),
      at(view, seat[0], n.zFloor),
      at(view, seat[1], n.zFloor),
      at(view, seat[1], neck.boardTop(0, 0)),
    ],
    { layer: "NUT" },
  );
  for (const f of neck.features.frets) {
    const x = neck.fretAt(f.number);
    pen.line("narrow", at(view, x, neck.boardTop(x, 0)), at(view, x, neck.boardTop(x, 0) - f.depth), { layer: "FRET-SLOTS" });
  }
  for (const r of neck.features.rod) drawChannel(pen, neck, view, r);
  for (const s of neck.features.screws) {
    const h = s.diameter / 2;
    pen.rect("hidden", at(view, s.x - h, s.zTo), at(view, s.x + h, s.zFrom), { layer: "SCREWS" });
  }
  const { tenon } = neck.features;
  if (tenon) {
    const under = (x: number): number => (x - tenon.xMin) * Math.tan(tenon.angle) - tenon.depth;
    const [a, b] = [tenon.xMin, tenon.xMax];
    pen.polyline("hidden", [at(view, a, 0), at(view, a, under(a)), at(view, b, under(b))], { layer: "TENON" });
  }
  for (const g of gaugePlaces(neck)) {
    const z = backAt(neck, g.x);
    pen.line("narrow", at(view, g.x, z - 1), at(view, g.x, z - 5), { layer: "STATIONS" });
    const [x, y] = at(view, g.x, z - 7.4);
    pen.text([x, y], g.short, SIZE.small, { anchor: "middle", layer: "NOTES" });
  }
  const height = MARGIN + zMax - zMin + 24;
  scaleBar(pen, [view.origin[0] + 10, height - 4], "x");
  return {
    id: "profile",
    title: "Profile along the middle",
    says: `The neck from the side at true size, cut along its middle, ${dim(p.boardEnd - p.tip)} mm long and ${dim(zMax - zMin)} mm high.`,
    width: MARGIN * 2 + p.boardEnd - p.tip,
    height,
    group: 0.35,
    items: pen.items,
    scale: 1,
    origin: view.origin,
  };
}

/** A channel from the side: its floor (curved for a single-action rod) and its ends, up or down to where it opens. */
function drawChannel(pen: Pen, neck: Neck, view: View, r: RodChannel): void {
  const layer = r.id === "rod-channel" ? "ROD" : r.id === "rod-access" ? "ROD-ACCESS" : "BARS";
  const floor = sampled(
    (x) => {
      const t = (x - r.xMin) / (r.xMax - r.xMin);
      return [x, r.zFloor - 4 * (r.sag ?? 0) * t * (1 - t)];
    },
    r.xMin,
    r.xMax,
  );
  const opens = (x: number): number => (r.from === "board" ? 0 : backAt(neck, x, r.y ?? 0));
  const points: XY[] = [[r.xMin, opens(r.xMin)], ...floor, [r.xMax, opens(r.xMax)]];
  pen.polyline(
    "hidden",
    points.map(([x, z]) => at(view, x, z)),
    { layer },
  );
}
