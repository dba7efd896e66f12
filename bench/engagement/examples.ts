import { readdirSync, readFileSync } from "node:fs";
import { planHolding } from "../../src/holding/index.ts";
import { cuspsOf, engagementOf } from "../../src/job/job-file.ts";
import { groupCuts } from "../../src/job/programs.ts";
import { readOrder } from "../../src/job/source.ts";
import { writePrograms } from "../../src/job/write-programs.ts";
import { makeNeck } from "../../src/neck/index.ts";
import { planCuts } from "../../src/paths/plan.ts";
import { measureSide } from "../../src/proof/prove.ts";
import type { EngagementFigure, ProofInput } from "../../src/proof/types.ts";
import { parseShop } from "../../src/spec/index.ts";
import { orderSource } from "../../test/examples.ts";

/* The roughing cuts of the example orders, planned, written, read back and audited as the proof of a job does it. */

const ORDERS = readdirSync("examples")
  .filter((f) => f.endsWith(".order.json"))
  .map((f) => f.replace(".order.json", ""))
  .sort();
const SHOPS = ["light-router", "stiff-router"] as const;

export interface ExampleFigure {
  readonly order: string;
  readonly shop: string;
  readonly figure: EngagementFigure;
}

/** Degrees below which 95 % of the length in wood lies: the upper edge of a bin of 10 degrees. */
export function most95(f: EngagementFigure): number {
  const all = f.histogram.reduce((t, v) => t + v, 0);
  let sum = 0;
  for (const [k, v] of f.histogram.entries()) {
    sum += v;
    if (sum >= 0.95 * all) return 10 * (k + 1);
  }
  return 10 * f.histogram.length;
}

/** The figures, and the orders that no programs are written for, with the rule that stops them: what they would cut is not a whole neck. */
export function exampleFigures(): { readonly figures: readonly ExampleFigure[]; readonly notCut: readonly string[] } {
  const figures: ExampleFigure[] = [];
  const notCut = new Set<string>();
  for (const order of ORDERS)
    for (const name of SHOPS) {
      const o = readOrder(orderSource(`examples/${order}.order.json`)).value;
      const shop = parseShop(readFileSync(`examples/${name}.shop.json`)).value;
      if (!o || !shop) throw new Error(`${order}, ${name}: the examples must be readable`);
      const neck = makeNeck(o);
      const holding = planHolding(neck, shop.machine, shop.cutters);
      const plan = planCuts(neck, holding, shop);
      const stop = plan.findings.find((f) => f.severity === "stop");
      if (stop !== undefined) {
        notCut.add(`${order} (${stop.rule})`);
        continue;
      }
      const { groups, steps } = groupCuts(plan);
      const { programs } = writePrograms(groups, o, "0".repeat(64), shop, holding);
      const { sides } = holding;
      const input: ProofInput = {
        neck,
        machine: shop.machine,
        cutters: shop.cutters,
        sides: [sides.board, sides.carve],
        programs,
        steps,
        cusps: cuspsOf(plan),
        engagement: engagementOf(plan),
        cell: 1,
      };
      for (const side of ["board", "carve"] as const)
        for (const { engagement } of Object.values(measureSide(input, side)?.figures ?? {}))
          for (const figure of engagement ?? []) figures.push({ order, shop: name, figure });
    }
  return { figures, notCut: [...notCut] };
}
