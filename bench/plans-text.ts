import { planHolding } from "../src/holding/index.ts";
import { makeNeck } from "../src/neck/index.ts";
import { planCuts } from "../src/paths/index.ts";
import type { CutPlan } from "../src/paths/types.ts";
import { CUT_HEADS, CUT_UNITS, type CutRow, cutCells, cutRows, cutterUse, forcesSay } from "../src/sheet/cut-rows.ts";
import { parseOrder, parseShop } from "../src/spec/index.ts";
import type { ShopSpec } from "../src/spec/types.ts";

export const PLANS_FILE = "plans.md";
export const PLANS_ORDER = "loan-guitar";
export const PLANS_SHOPS: readonly string[] = ["light-router", "stiff-router"];

interface Planned {
  readonly shop: ShopSpec;
  readonly plan: CutPlan;
  readonly rows: readonly CutRow[];
}

function planned(order: string, shop: string, read: (path: string) => Uint8Array): Planned {
  const o = parseOrder(read(`examples/${order}.order.json`)).value;
  const s = parseShop(read(`examples/${shop}.shop.json`)).value;
  if (!o || !s) throw new Error(`${order}, ${shop}: the examples must be readable`);
  const neck = makeNeck(o);
  const holding = planHolding(neck, s.machine, s.cutters);
  const plan = planCuts(neck, holding, s);
  return { shop: s, plan, rows: cutRows({ plan, shop: s, holding }) };
}

const table = (head: readonly string[], rows: readonly (readonly string[])[]): string[] => [
  `| ${head.join(" | ")} |`,
  `|${head.map(() => "---").join("|")}|`,
  ...rows.map((r) => `| ${r.join(" | ")} |`),
];
const minutes = (s: number): string => (s / 60).toFixed(1);
const total = (rows: readonly CutRow[]): number => rows.reduce((s, r) => s + r.seconds, 0);

/** The text of docs/plans.md. */
export function plansText(order: string, shops: readonly string[], read: (path: string) => Uint8Array): string {
  const all = shops.map((shop) => planned(order, shop, read));
  const lines = [
    "# Plans",
    "",
    `Written by \`npm run plans\`: the cuts of the order ${order} in each example shop, in the order of work, each with what it asks of cutter and`,
    "machine, its time by the clock (each cut alone, from rest to rest) and what limited it.",
    "",
    `${CUT_UNITS} Time in minutes. ${forcesSay(all[0]!.shop)}`,
    "",
  ];
  lines.push(
    ...table(
      ["shop", "give x, y, z (N/mm)", "spindle (W)", "cuts", "minutes", "warnings of the plan"],
      all.map((p) => [
        p.shop.name,
        `${p.shop.machine.stiffness.x}, ${p.shop.machine.stiffness.y}, ${p.shop.machine.stiffness.z}`,
        String(p.shop.machine.spindle.power),
        String(p.rows.length),
        minutes(total(p.rows)),
        p.plan.findings.map((f) => `${f.rule} ${f.where}: ${f.value} ${f.unit} (limit ${f.limit})`).join("; ") || "none",
      ]),
    ),
  );
  for (const p of all) {
    lines.push("", `## ${p.shop.title}`, "");
    lines.push(
      ...table(
        CUT_HEADS,
        p.rows.map((r) => cutCells(r, minutes)),
      ),
    );
    lines.push(
      "",
      `Length in wood, at most: ${cutterUse(p.rows, p.shop)
        .map((u) => `T${u.cutter.number} ${u.cutter.name} ${(u.inWood / 1000).toFixed(1)} m`)
        .join(", ")}.`,
    );
  }
  return `${lines.join("\n")}\n`;
}
