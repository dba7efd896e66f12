import type { OrderSpec } from "../spec/types.ts";
import type { Mm } from "../units/index.ts";
import { crossEdge, type FretLines } from "./fan.ts";
import { boardEdgeLines } from "./strings.ts";
import type { NeckPlaces } from "./types.ts";

/**
 * Where the kinds of surface meet along x, on the centreline.
 *
 *   tip        rampFoot  rampTop  0 (nut)                       shaftEnd  boardEnd
 *    |-- face --|-- ramp --|-------------- board ------------------|---------|
 *    |-- headstock back --|-- blend --|---- carve ----|-- blend --|- heel -|  (back)
 *                      headBack   carveStart      carveEnd    heelFront
 */
export function neckPlaces(order: OrderSpec, lines: FretLines): Omit<NeckPlaces, "end"> {
  const { headstock, nut, board, heel, frets } = order;
  const boardEnd = lines(frets.count).x0 + board.pastLastFret;
  const endSlope = lines(frets.count).slope;
  const edges = boardEdgeLines(order, boardEnd);
  // the shaft's end is square: behind a slanted board end it stands at the nearer corner
  const corner = Math.min(boardEnd, ...([0, 1] as const).map((i) => crossEdge({ x0: boardEnd, slope: endSlope }, (x) => edges(x)[i]).x));
  const shaftEnd = corner - board.overhang;
  const { slope: nutSlope } = lines(0);
  const along = Math.hypot(1, nutSlope);
  const behindNut = -((nut.zeroFret ?? 0) + nut.width + nut.land) * along;
  const boardFront = nut.kind === "seat" ? behindNut : 0;
  const run = rampRun(order) * along;
  const heelFront = shaftEnd - heel.length;
  const last = faceX(order, behindNut, lastTuner(order));
  return {
    tip: last - headstock.tip * Math.cos(tiltOf(order)),
    boardFront,
    rampFoot: behindNut - run,
    rampTop: behindNut,
    headBack: headstock.backFrom - headstock.backLength,
    carveStart: headstock.backFrom,
    carveEnd: heelFront - heel.transition,
    heelFront,
    shaftEnd,
    boardEnd,
    nutSlope,
    endSlope,
  };
}

export const isTilted = (order: OrderSpec): boolean => (order.headstock.kind ?? "flat") !== "flat";

/** Tilt of the headstock's face; 0 for a flat one. */
export const tiltOf = (order: OrderSpec): number => (isTilted(order) ? (order.headstock.angle ?? 0) : 0);

/** How far the headstock's face lies below the glue plane where it begins: a tilted one begins on it. */
export const faceDrop = (order: OrderSpec): Mm => (isTilted(order) ? 0 : order.headstock.drop);

/** x of a place at distance s from the nut, measured along the headstock's face (which tilts back from behind the nut). */
export function faceX(order: OrderSpec, behindNut: Mm, s: Mm): Mm {
  return s <= -behindNut ? -s : behindNut - (s + behindNut) * Math.cos(tiltOf(order));
}

/** Distance from the nut to the last tuner, along the face. */
function lastTuner(order: OrderSpec): Mm {
  const t = order.headstock.tuners;
  const perRow = t.layout === "in-line" ? t.bass + t.treble : Math.max(t.bass, t.treble);
  return t.first + Math.max(0, perRow - 1) * t.pitch;
}

/** How high the ramp climbs: to the board's crown (seat) or to the shelf's floor. An angled face needs none. */
export function rampRise(order: OrderSpec): Mm {
  if (isTilted(order)) return 0;
  return order.headstock.drop + (order.nut.kind === "seat" ? order.board.thickness : order.nut.floor);
}

/** Length of the ramp, square to the nut's line. */
function rampRun(order: OrderSpec): Mm {
  const rise = rampRise(order);
  const r = order.headstock.rampRadius;
  return rise >= r ? r : Math.sqrt(Math.max(0, 2 * r * rise - rise * rise));
}
