import type { Mm } from "../units/index.ts";
import type { OrderSpec } from "./types.ts";

/* The outer sizes of a neck, from the order's numbers: enough to choose a blank; the exact outline is the neck's. */

/** How deep the neck reaches below the glue plane. */
export function depthBelowGlue(order: Omit<OrderSpec, "blank">): Mm {
  const carve = order.carve.stations.map((s) => s.thickness - order.board.thickness);
  return Math.max(headDepth(order), order.heel.thickness - order.board.thickness, ...carve);
}

const tilt = (order: Omit<OrderSpec, "blank">): number => ((order.headstock.kind ?? "flat") === "flat" ? 0 : (order.headstock.angle ?? 0));

/** Of the headstock: a step, or for a tilted one what its length costs; a scarfed one is joined from the shaft's own board. */
function headDepth(order: Omit<OrderSpec, "blank">): Mm {
  const { headstock } = order;
  const a = tilt(order);
  if (a === 0) return headstock.drop + headstock.thickness;
  return headLength(order) * Math.tan(a) + headstock.thickness / Math.cos(a);
}

/** From the nut to the headstock's tip, seen from above. */
export function headLength(order: Omit<OrderSpec, "blank">): Mm {
  const t = order.headstock.tuners;
  const inRow = t.layout === "in-line" ? order.strings.count : Math.max(t.bass, t.treble, 1);
  return (t.first + (inRow - 1) * t.pitch + order.headstock.tip) * Math.cos(tilt(order));
}

/** Bass and treble reach of the headstock from the centreline: a bound on the outline from the rows of tuners. */
export function headReach(order: Omit<OrderSpec, "blank">): Mm {
  const t = order.headstock.tuners;
  if (t.layout === "split") return Math.max(t.rowAtFirst, t.rowAtLast) + order.headstock.edge;
  return order.strings.spreadAtNut / 2 + t.winding / 2 + order.headstock.edge * 1.05;
}

/** Widest distance of the board's edge from the centreline. */
export function boardReach(order: Omit<OrderSpec, "blank">, boardEnd: Mm): Mm {
  const w = order.board.width;
  if (w.kind === "widths") return Math.max(w.nut, w.end) / 2;
  const spread = order.strings.spreadAtNut + ((order.strings.spreadAtBridge - order.strings.spreadAtNut) * boardEnd) / order.scale;
  return Math.max(order.strings.spreadAtNut, spread) / 2 + Math.max(w.bass, w.treble);
}
