import { planHolding } from "../holding/index.ts";
import { DEFAULT_FORCE, forceSays } from "../materials/cutting-force.ts";
import { type Figure, type Figures, figuresOf } from "../neck/figures/index.ts";
import { makeNeck } from "../neck/index.ts";
import { checkHardware } from "../spec/index.ts";
import type { OrderSpec } from "../spec/types.ts";
import { type Finding, isStop } from "../units/index.ts";
import { readOrder, readShop, type Source } from "./source.ts";
import { judge } from "./verdict.ts";

export type { Figure, Figures };

export interface Checked {
  /** False when the order or the shop has no value at all: bad input. */
  readonly readable: boolean;
  readonly findings: readonly Finding[];
  readonly blocking: readonly Finding[];
  readonly overridden: OrderSpec["overrides"];
  /** What the neck means for the player and the wood; null for an order that is stopped: a neck that cannot be means nothing. */
  readonly meaning: Figures | null;
  /** Figures of the neck it is held beside; null without one, or when that one is stopped. */
  readonly beside: { readonly name: string; readonly figures: readonly Figure[] } | null;
  /** Where the shop's law of cutting forces comes from, in words; null without a shop. */
  readonly forces: string | null;
}

/** Everything that can be said of an order (and a shop) before a path is planned; `besideSource`: another order to hold its figures beside. */
export function checkSources(orderSource: Source, shopSource: Source | null, besideSource: Source | null = null): Checked {
  const order = readOrder(orderSource);
  const shop = shopSource === null ? null : readShop(shopSource);
  const other = besideSource === null ? null : readOrder(besideSource);
  const findings: Finding[] = [...order.findings, ...(shop?.findings ?? [])];
  if (other !== null && other.value === null) findings.push(...other.findings);
  if (order.value === null || (shop !== null && shop.value === null) || (other !== null && other.value === null)) {
    return { readable: false, findings, blocking: findings, overridden: [], meaning: null, beside: null, forces: null };
  }
  const neck = makeNeck(order.value);
  findings.push(...neck.findings);
  if (shop?.value?.hardware) findings.push(...checkHardware(order.value, shop.value.hardware));
  if (shop !== null && shop.value !== null) findings.push(...planHolding(neck, shop.value.machine, shop.value.cutters).findings);
  const meaning = findings.some(isStop) ? null : figuresOf(neck);
  if (meaning) findings.push(...meaning.findings);
  const { blocking, overridden } = judge(findings, order.value.overrides);
  const beside = other?.value ? besideOf(other.value) : null;
  const forces = shop?.value ? forceSays(shop.value.coefficients ?? DEFAULT_FORCE) : null;
  return { readable: true, forces, findings, blocking, overridden, meaning, beside };
}

function besideOf(order: OrderSpec): Checked["beside"] {
  const neck = makeNeck(order);
  return neck.findings.some(isStop) ? null : { name: order.name, figures: figuresOf(neck).figures };
}
