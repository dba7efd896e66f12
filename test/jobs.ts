import { readFileSync } from "node:fs";
import { join } from "node:path";
import { planHolding } from "../src/holding/index.ts";
import { cuspsOf, engagementOf } from "../src/job/job-file.ts";
import { groupCuts } from "../src/job/programs.ts";
import { readOrder } from "../src/job/source.ts";
import { writePrograms } from "../src/job/write-programs.ts";
import { makeNeck } from "../src/neck/index.ts";
import type { Neck } from "../src/neck/types.ts";
import type { CutPlan } from "../src/paths/types.ts";
import type { ProofInput } from "../src/proof/types.ts";
import { parseShop } from "../src/spec/index.ts";
import type { OrderSpec, ShopSpec } from "../src/spec/types.ts";
import type { Finding } from "../src/units/index.ts";
import { orderSource } from "./examples.ts";
import { planKept } from "./kept.ts";
import { root } from "./sources.ts";

/** The orders that the default plan cuts whole, and the shops. */
export const CUT_ORDERS = ["loan-guitar", "loan-bass", "loan-ukulele", "loan-guitar-left", "loan-bass-fretless", "loan-cittern"] as const;
export const SHOPS = ["stiff-router", "light-router"] as const;

export interface Planned {
  readonly input: ProofInput;
  readonly findings: readonly Finding[];
}

/**
 * An example order on an example shop, from its file to its programs, in this process and without any disk of its own.
 * `arcs` says whether the controller takes arcs, whatever the shop's file says; `work` is laid over the order's own.
 */
export function planned(order: string, shop: string, cell: number, arcs?: boolean, work?: OrderSpec["cutting"]["work"]): Planned {
  const { input, findings } = plannedFor(order, shop, cell, arcs, work);
  return { input, findings };
}

/** The same, with what it was made from. */
export function plannedFor(
  order: string,
  shop: string,
  cell: number,
  arcs?: boolean,
  work?: OrderSpec["cutting"]["work"],
): Planned & { readonly neck: Neck; readonly shop: ShopSpec; readonly plan: CutPlan } {
  const o = readOrder(orderSource(join(root, `examples/${order}.order.json`)));
  const s = parseShop(readFileSync(join(root, `examples/${shop}.shop.json`)));
  if (!o.value || !s.value) throw new Error(`${order}, ${shop}: the examples must be readable`);
  // as the order would say it; roughing of a plan with a rest leaves more
  const cutting = { ...o.value.cutting, ...(work ? { work } : {}), ...(work?.plan === "rest" ? { roughLeave: 1 } : {}) };
  const { machine } = s.value;
  const controller = { ...machine.controller, arcs: arcs ?? machine.controller.arcs };
  const theShop = { ...s.value, machine: { ...machine, controller } };
  const made = plannedOf({ ...o.value, cutting }, theShop, cell);
  return { ...made, shop: theShop, findings: [...o.findings, ...s.findings, ...made.findings] };
}

/** Any order on any shop. */
export function plannedOf(order: OrderSpec, theShop: ShopSpec, cell: number): Planned & { readonly neck: Neck; readonly plan: CutPlan } {
  const neck = makeNeck(order);
  const holding = planHolding(neck, theShop.machine, theShop.cutters);
  const plan = planKept(neck, holding, theShop);
  const { groups, steps } = groupCuts(plan);
  const written = writePrograms(groups, order, "0".repeat(64), theShop, holding);
  return {
    neck,
    plan,
    input: {
      neck,
      machine: theShop.machine,
      cutters: theShop.cutters,
      sides: [holding.sides.board, holding.sides.carve],
      programs: written.programs,
      steps,
      cusps: cuspsOf(plan),
      engagement: engagementOf(plan),
      cell,
    },
    findings: [...neck.findings, ...holding.findings, ...plan.findings, ...written.findings],
  };
}
