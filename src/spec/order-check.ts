import type { Finding } from "../units/index.ts";
import { checkBoard, checkFrets, checkMarkers, checkNut, checkStrings } from "./order-check-board.ts";
import { checkMeaning } from "./order-check-meaning.ts";
import { checkBars, checkCarve, checkHeadstock, checkHeel, checkRod } from "./order-check-shaft.ts";
import { checkBlank, checkHoldingAndCutting, checkOverrides, checkWoods } from "./order-check-work.ts";
import { placeToX } from "./places.ts";
import { collectInto } from "./tell.ts";
import type { OrderSpec } from "./types.ts";

/**
 * What an order contradicts in itself, by its numbers alone. What needs the neck's shape (margins along the board, wood
 * around bores, wood under the rod) is checked on the neck. Never throws; values and limits are finite.
 */
export function checkOrder(order: OrderSpec): Finding[] {
  const found: Finding[] = [];
  const tell = collectInto(found);
  const boardEnd = placeToX(order.scale, { kind: "fret", fret: order.frets.count }) + order.board.pastLastFret;
  checkStrings(order, tell);
  checkFrets(order, tell);
  checkNut(order, tell);
  checkBoard(order, boardEnd, tell);
  checkHeadstock(order, tell);
  checkCarve(order, boardEnd, tell);
  checkHeel(order, boardEnd, tell);
  if (order.rod.kind === "channel") checkRod(order, order.rod, tell);
  checkBars(order, tell);
  checkMarkers(order, tell);
  checkBlank(order, boardEnd, tell);
  checkHoldingAndCutting(order, tell);
  checkMeaning(order, tell);
  checkWoods(order, tell);
  checkOverrides(order, tell);
  return found;
}
