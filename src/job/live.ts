import { planHolding } from "../holding/index.ts";
import type { Holding, Side, Solid } from "../holding/types.ts";
import { type Figure, figuresOf } from "../neck/figures/index.ts";
import { makeNeck } from "../neck/index.ts";
import type { Neck } from "../neck/types.ts";
import { rampTable } from "../sheet/ramp.ts";
import { checkHardware, parseOrderObject, parseShop, readOutline } from "../spec/index.ts";
import { orderSchema } from "../spec/json-schema.ts";
import type { OrderSpec, ShopSpec } from "../spec/types.ts";
import type { Finding } from "../units/index.ts";
import { judge } from "./verdict.ts";

/*
 * What a screen needs while a number is dragged: geometry and every check that needs no path. Uses nothing of Node, so that it runs in
 * the browser as it does here.
 */

export { baseName, freeOf, middleOf } from "../holding/placed.ts";
export type { Figure, Holding, Neck, OrderSpec, ShopSpec, Side, Solid };
export { figuresOf, orderSchema, parseShop, rampTable };

export interface Live {
  /** Null when the order cannot be understood; `findings` say why. */
  readonly order: OrderSpec | null;
  readonly neck: Neck | null;
  /** Null without a shop. */
  readonly holding: Holding | null;
  readonly findings: readonly Finding[];
  /** True: no finding stops the neck, overrides of the order counted. */
  readonly sound: boolean;
}

/**
 * An order as plain data, and a shop if there is one -> the neck and what is found of it. `drawing`: bytes of the headstock drawing that the
 * order asks for. Pure; never throws on data.
 */
export function liveOf(order: unknown, shop: ShopSpec | null, drawing: Uint8Array | null = null): Live {
  const { parsed, findings, neck } = read(order, drawing);
  if (parsed === null || neck === null) return { order: null, neck: null, holding: null, findings, sound: false };
  findings.push(...neck.findings);
  if (shop?.hardware) findings.push(...checkHardware(parsed, shop.hardware));
  const holding = shop === null ? null : planHolding(neck, shop.machine, shop.cutters);
  if (holding !== null) findings.push(...holding.findings);
  return { order: parsed, neck, holding, findings, sound: judge(findings, parsed.overrides).blocking.length === 0 };
}

/** The neck alone, for a screen that draws before anything is checked; null when the order cannot be understood. */
export const neckOf = (order: unknown, drawing: Uint8Array | null = null): Neck | null => read(order, drawing).neck;

function read(
  order: unknown,
  drawing: Uint8Array | null,
): { readonly parsed: OrderSpec | null; readonly neck: Neck | null; readonly findings: Finding[] } {
  const found = parseOrderObject(order);
  const findings: Finding[] = [...found.findings];
  if (found.value === undefined) return { parsed: null, neck: null, findings };
  let parsed = found.value;
  const request = parsed.headstock.outline;
  if (request && drawing !== null) {
    const drawn = readOutline(drawing, request);
    findings.push(...drawn.findings);
    if (drawn.outline !== null) parsed = { ...parsed, headstock: { ...parsed.headstock, drawing: drawn.outline } };
  }
  return { parsed, neck: makeNeck(parsed), findings };
}
