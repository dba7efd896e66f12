import { readdirSync, readFileSync } from "node:fs";
import { planHolding } from "../../src/holding/index.ts";
import { engagementOf } from "../../src/job/job-file.ts";
import { groupCuts } from "../../src/job/programs.ts";
import { readOrder } from "../../src/job/source.ts";
import { writePrograms } from "../../src/job/write-programs.ts";
import { makeNeck } from "../../src/neck/index.ts";
import { planCuts } from "../../src/paths/plan.ts";
import { auditEngagement } from "../../src/proof/engagement.ts";
import { interpretProgram } from "../../src/proof/reader/index.ts";
import type { EngagementFigure } from "../../src/proof/types.ts";
import { parseShop } from "../../src/spec/index.ts";
import { orderSource } from "../../test/examples.ts";

/* The roughing cuts of the example orders, planned, written, read back and audited, each side on its own blank. */

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

export function exampleFigures(): ExampleFigure[] {
  const out: ExampleFigure[] = [];
  for (const order of ORDERS)
    for (const shop of SHOPS) {
      const o = readOrder(orderSource(`examples/${order}.order.json`)).value;
      const s = parseShop(readFileSync(`examples/${shop}.shop.json`)).value;
      if (!o || !s) throw new Error(`${order}, ${shop}: the examples must be readable`);
      const neck = makeNeck(o);
      const holding = planHolding(neck, s.machine);
      const plan = planCuts(neck, holding, s);
      const { groups, steps } = groupCuts(plan);
      const { programs } = writePrograms(groups, o, "0".repeat(64), s, holding);
      const asked = engagementOf(plan);
      for (const side of [holding.sides.board, holding.sides.carve]) {
        const { min, max } = side.stock;
        const runs = steps.flatMap((step) => {
          const p = "program" in step ? programs.find((q) => q.file === step.program && q.side === side.name) : undefined;
          const cutter = s.cutters.find((c) => c.number === p?.cutter);
          if (p === undefined || cutter === undefined) return [];
          const read = interpretProgram(p.text, { start: [min[0], min[1], side.safeZ] });
          return [{ file: p.file, ...read, cutter, cuts: p.cuts.map((id) => ({ id, asked: asked[id] ?? null })) }];
        });
        const audit = auditEngagement({ xMin: min[0], yMin: min[1], xMax: max[0], yMax: max[1] }, max[2], runs);
        for (const figure of [...audit.figures.values()].flat()) out.push({ order, shop, figure });
      }
    }
  return out;
}
