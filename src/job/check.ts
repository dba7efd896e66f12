import { planHolding } from "../holding/index.ts";
import { type Figure, figuresOf } from "../neck/figures/index.ts";
import { makeNeck } from "../neck/index.ts";
import { checkHardware } from "../spec/index.ts";
import type { OrderSpec } from "../spec/types.ts";
import { type Finding, isStop } from "../units/index.ts";
import { readOrder, readShop, type Source } from "./source.ts";
import { judge } from "./verdict.ts";

export type { Figure };

export interface Checked {
  /** False when the order or the shop has no value at all: bad input. */
  readonly readable: boolean;
  readonly findings: readonly Finding[];
  readonly blocking: readonly Finding[];
  readonly overridden: OrderSpec["overrides"];
  /** What the neck means for the player and the wood; empty unless asked for. */
  readonly figures: readonly Figure[];
}

/** Everything that can be said of an order (and a shop) before a path is planned. */
export function checkSources(orderSource: Source, shopSource: Source | null, withFigures = false): Checked {
  const order = readOrder(orderSource);
  const shop = shopSource === null ? null : readShop(shopSource);
  const findings: Finding[] = [...order.findings, ...(shop?.findings ?? [])];
  if (order.value === null || (shop !== null && shop.value === null)) {
    return { readable: false, findings, blocking: findings, overridden: [], figures: [] };
  }
  const neck = makeNeck(order.value);
  findings.push(...neck.findings);
  if (shop?.value?.hardware) findings.push(...checkHardware(order.value, shop.value.hardware));
  if (shop !== null && shop.value !== null) findings.push(...planHolding(neck, shop.value.machine).findings);
  // figures of a neck that cannot be would mean nothing
  const meant = withFigures && !findings.some(isStop) ? figuresOf(neck) : null;
  if (meant) findings.push(...meant.findings);
  const { blocking, overridden } = judge(findings, order.value.overrides);
  return { readable: true, findings, blocking, overridden, figures: meant?.figures ?? [] };
}
