import { planHolding } from "../holding/index.ts";
import { makeNeck } from "../neck/index.ts";
import { checkHardware } from "../spec/index.ts";
import type { OrderSpec } from "../spec/types.ts";
import type { Finding } from "../units/index.ts";
import { readOrder, readShop, type Source } from "./source.ts";
import { judge } from "./verdict.ts";

export interface Checked {
  /** False when the order or the shop has no value at all: bad input. */
  readonly readable: boolean;
  readonly findings: readonly Finding[];
  readonly blocking: readonly Finding[];
  readonly overridden: OrderSpec["overrides"];
}

/** Everything that can be said of an order (and a shop) before a path is planned. */
export function checkSources(orderSource: Source, shopSource: Source | null): Checked {
  const order = readOrder(orderSource);
  const shop = shopSource === null ? null : readShop(shopSource);
  const findings: Finding[] = [...order.findings, ...(shop?.findings ?? [])];
  if (order.value === null || (shop !== null && shop.value === null)) {
    return { readable: false, findings, blocking: findings, overridden: [] };
  }
  const neck = makeNeck(order.value);
  findings.push(...neck.findings);
  if (shop?.value?.hardware) findings.push(...checkHardware(order.value, shop.value.hardware));
  if (shop !== null && shop.value !== null) findings.push(...planHolding(neck, shop.value.machine).findings);
  const { blocking, overridden } = judge(findings, order.value.overrides);
  return { readable: true, findings, blocking, overridden };
}
