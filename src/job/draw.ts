import { planHolding } from "../holding/index.ts";
import { makeNeck } from "../neck/index.ts";
import { framed } from "../sheet/drawings/common.ts";
import { headstockDrawing } from "../sheet/drawings/headstock.ts";
import { planDrawing } from "../sheet/drawings/plan.ts";
import { sectionsDrawing } from "../sheet/drawings/sections.ts";
import { sideDrawing } from "../sheet/drawings/side.ts";
import { type Drawing, drawingsOf, svg } from "../sheet/index.ts";
import type { Finding } from "../units/index.ts";
import { readOrder, readShop, type Source } from "./source.ts";
import type { OutFile } from "./write.ts";

/** Drawings of an order, true to scale; with a shop also the blank as it lies on both sides. Files null when something cannot be read. */
export function drawOrder(
  orderSource: Source,
  shopSource: Source | null,
): { readonly files: readonly OutFile[] | null; readonly findings: readonly Finding[] } {
  const order = readOrder(orderSource);
  const shop = shopSource === null ? null : readShop(shopSource);
  const findings = [...order.findings, ...(shop?.findings ?? [])];
  if (order.value === null || (shop !== null && shop.value === null)) return { files: null, findings };
  const neck = makeNeck(order.value);
  const stamp = { order: order.value.name, hash: order.sha256 };
  let drawings: readonly Drawing[];
  if (shop?.value) {
    const holding = planHolding(neck, shop.value.machine, shop.value.cutters);
    drawings = drawingsOf({ orderName: stamp.order, orderHash: stamp.hash, neck, holding, shop: shop.value, programs: [] });
    findings.push(...holding.findings);
  } else {
    const all = [planDrawing(neck, 1), sideDrawing(neck, 1), sectionsDrawing(neck, 2), headstockDrawing(neck, 1)];
    drawings = all.map((d) => framed(d, stamp));
  }
  findings.push(...neck.findings);
  return { files: svgFiles(drawings, ""), findings };
}

export const svgFiles = (drawings: readonly Drawing[], folder: string): OutFile[] =>
  drawings.map((d) => ({ path: `${folder}${d.id}.svg`, bytes: new TextEncoder().encode(svg(d)) }));
