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
  const read = parseOrderObject(order);
  const findings: Finding[] = [...read.findings];
  if (read.value === undefined) return { order: null, neck: null, holding: null, findings, sound: false };
  const parsed = { value: read.value };
  const request = read.value.headstock.outline;
  if (request && drawing !== null) {
    const drawn = readOutline(drawing, request);
    findings.push(...drawn.findings);
    if (drawn.outline !== null) parsed.value = { ...read.value, headstock: { ...read.value.headstock, drawing: drawn.outline } };
  }
  const neck = makeNeck(parsed.value);
  findings.push(...neck.findings);
  if (shop?.hardware) findings.push(...checkHardware(parsed.value, shop.hardware));
  const holding = shop === null ? null : planHolding(neck, shop.machine);
  if (holding !== null) findings.push(...holding.findings);
  return { order: parsed.value, neck, holding, findings, sound: judge(findings, parsed.value.overrides).blocking.length === 0 };
}
