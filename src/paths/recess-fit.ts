import { planHolding } from "../holding/index.ts";
import { makeNeck } from "../neck/index.ts";
import type { OrderSpec, ShopSpec } from "../spec/types.ts";
import { type Finding, finding } from "../units/index.ts";
import { pickCutter } from "./operations/cutters.ts";
import { recessAsk } from "./operations/features.ts";
import { frameOf } from "./operations/frame.ts";
import { PA } from "./rules.ts";

/**
 * The order with its marker recesses as wide as they are to be cut: the fit that was ordered, and the allowance that a coupon gave for the
 * cutter that will make them. Everything after it (plan, proof, sheets) sees one width. The same order when no cutter has one.
 */
export function fitRecesses(order: OrderSpec, shop: ShopSpec): { readonly order: OrderSpec; readonly findings: readonly Finding[] } {
  const same = { order, findings: [] };
  if (!shop.cutters.some((c) => c.recess !== undefined) || order.blank.kind === "shaft-alone") return same;
  const neck = makeNeck(order);
  if (neck.features.markers.length === 0) return same;
  const holding = planHolding(neck, shop.machine, shop.cutters);
  const cutter = pickCutter(shop.cutters, recessAsk(neck, frameOf(holding.sides.board)));
  const allowance = cutter?.recess?.allowance ?? 0;
  if (cutter === null || allowance === 0) return same;
  const { face } = order.markers;
  const fit = Math.round((face.fit + allowance) * 1e6) / 1e6;
  const fitted: OrderSpec = { ...order, markers: { ...order.markers, face: { ...face, fit } } };
  // the other width must not ask for another cutter, whose allowance it is not
  if (pickCutter(shop.cutters, recessAsk(makeNeck(fitted), frameOf(holding.sides.board)))?.number !== cutter.number) return same;
  const found = finding(PA.allowance, {
    where: "markers.face.fit",
    value: allowance,
    limit: null,
    unit: "mm",
    says: `Marker recesses are cut ${Math.abs(allowance)} mm ${allowance > 0 ? "wider" : "narrower"} than ordered: the allowance of cutter ${cutter.number}, chosen on a coupon on ${cutter.recess?.date}.`,
    tryThis: "Cut a new coupon when cutter, collet or wood changes.",
  });
  return { order: fitted, findings: [found] };
}
