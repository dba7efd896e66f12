import type { OrderSpec } from "../spec/types.ts";
import { fretDistance } from "./frets.ts";
import type { NeckPlaces } from "./types.ts";

/**
 * Where the kinds of surface meet along x.
 *
 *   tip        rampFoot  rampTop  0 (nut)                       shaftEnd  boardEnd
 *    |-- face --|-- ramp --|-------------- board ------------------|---------|
 *    |-- headstock back --|-- blend --|---- carve ----|-- blend --|- heel -|  (back)
 *                      headBack   carveStart      carveEnd    heelFront
 */
export function neckPlaces(order: OrderSpec): NeckPlaces {
  const { headstock, nut, board, heel, frets } = order;
  const boardEnd = fretDistance(order.scale, frets.count) + board.pastLastFret;
  const shaftEnd = boardEnd - board.overhang;
  const behindNut = -(nut.width + nut.land);
  const boardFront = nut.kind === "seat" ? behindNut : 0;
  const rise = rampRise(order);
  const r = headstock.rampRadius;
  const run = rise >= r ? r : Math.sqrt(Math.max(0, 2 * r * rise - rise * rise));
  const perRow =
    headstock.tuners.layout === "in-line"
      ? headstock.tuners.bass + headstock.tuners.treble
      : Math.max(headstock.tuners.bass, headstock.tuners.treble);
  const lastTuner = headstock.tuners.first + Math.max(0, perRow - 1) * headstock.tuners.pitch;
  const heelFront = shaftEnd - heel.length;
  return {
    tip: -(lastTuner + headstock.tip),
    boardFront,
    rampFoot: behindNut - run,
    rampTop: behindNut,
    headBack: headstock.backFrom - headstock.backLength,
    carveStart: headstock.backFrom,
    carveEnd: heelFront - heel.transition,
    heelFront,
    shaftEnd,
    boardEnd,
  };
}

/** How high the ramp climbs: to the board's crown (seat) or to the shelf's floor. */
export function rampRise(order: OrderSpec): number {
  return order.headstock.drop + (order.nut.kind === "seat" ? order.board.thickness : order.nut.floor);
}
