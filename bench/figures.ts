import { readdirSync, readFileSync } from "node:fs";
import type { ProofFile } from "../src/job/files.ts";
import { type Made, makeJob } from "../src/job/make.ts";
import { makePool } from "../src/job/pool.ts";
import type { Source } from "../src/job/source.ts";
import { writeFiles } from "../src/job/write.ts";
import { orderSource } from "../test/examples.ts";

/*
 * npm run figures: makes and proves every example order in every example shop and writes what the proof measured into
 * docs/proof-figures.md. The figures come from the proof of the programs' text; nothing is entered by hand.
 */

const CELL = 0.1;
const source = (path: string): Source => ({ path, bytes: readFileSync(path) });
const named = (ending: string): string[] =>
  readdirSync("examples")
    .filter((f) => f.endsWith(ending))
    .sort();
const nameOf = (file: string): string => file.replace(/\.(order|shop)\.json$/, "");

interface Case {
  readonly order: string;
  readonly shop: string;
  readonly made: Made;
}

type Measure = ProofFile["sides"][number]["measures"][number];
type Region = ProofFile["sides"][number]["regions"][number];

const mm = (v: number): string => (Object.is(Math.round(v * 1e4), -0) ? 0 : v).toFixed(4);
const table = (head: readonly string[], rows: readonly (readonly string[])[]): string[] => [
  `| ${head.join(" | ")} |`,
  `|${head.map(() => "---").join("|")}|`,
  ...rows.map((r) => `| ${r.join(" | ")} |`),
];

const cases: Case[] = [];
for (const order of named(".order.json")) {
  for (const shop of named(".shop.json")) {
    const pool = makePool(2);
    const made = await makeJob(orderSource(`examples/${order}`), source(`examples/${shop}`), { cell: CELL, paper: "A4", pool });
    await pool.close();
    cases.push({ order: nameOf(order), shop: nameOf(shop), made });
    console.log(`${nameOf(order)} in ${nameOf(shop)}: ${made.blocking.length === 0 ? "proved" : "STOPPED"}`);
    for (const f of made.blocking.slice(0, 5)) console.log(`  ${f.rule} ${f.where}: ${f.says}`);
  }
}

const sidesOf = (c: Case): ProofFile["sides"] => c.made.proof?.sides ?? [];
const count = (c: Case, severity: string): string => String(c.made.findings.filter((f) => f.severity === severity).length);
const share = (m: Measure): number => Math.abs(m.measured - m.ordered) / m.tolerance;

/** Of every kind of measure the one that uses most of its tolerance. */
function worstMeasures(c: Case): Measure[] {
  const worst = new Map<string, Measure>();
  for (const m of [...sidesOf(c).flatMap((s) => s.measures), ...(c.made.proof?.both.measures ?? [])]) {
    const was = worst.get(m.what);
    if (was === undefined || share(m) > share(was)) worst.set(m.what, m);
  }
  return [...worst.values()];
}

const lines: string[] = [
  "# Proof figures",
  "",
  "Written by `npm run figures`: every example order is made in every example shop, and the proof measures from the text of the programs.",
  `Stock maps with cells of ${CELL} mm. Lengths in mm. *below* is how far the finished surface lies under the neck (a gouge), *above* how much is`,
  "left on it; each stands beside its limit.",
  "",
  "## All together",
  "",
  ...table(
    ["order", "shop", "programs", "minutes", "stop", "warn", "note", "worst below (limit)", "worst above, share of its limit"],
    cases.map((c) => {
      const regions = sidesOf(c).flatMap((s) => s.regions);
      const below = regions.reduce<Region | null>((w, r) => (w === null || r.worstBelow > w.worstBelow ? r : w), null);
      const above = regions.reduce<Region | null>(
        (w, r) => (w === null || r.worstAbove / r.limitAbove > w.worstAbove / w.limitAbove ? r : w),
        null,
      );
      const seconds = (c.made.job?.programs ?? []).reduce((n, p) => n + p.seconds, 0);
      return [
        c.order,
        c.shop,
        String(c.made.job?.programs.length ?? 0),
        (seconds / 60).toFixed(0),
        count(c, "stop"),
        count(c, "warn"),
        count(c, "note"),
        below === null ? "" : `${mm(below.worstBelow)} (${mm(below.limitBelow)}) ${below.region}`,
        above === null ? "" : `${mm(above.worstAbove)} of ${mm(above.limitAbove)}, ${above.region}`,
      ];
    }),
  ),
];
for (const c of cases) {
  lines.push("", `## ${c.order} in ${c.shop}`, "");
  if (c.made.blocking.length > 0) {
    lines.push("Stopped:", "", ...c.made.blocking.map((f) => `- ${f.rule}, ${f.where}: ${f.says}`), "");
  }
  const regions = sidesOf(c).flatMap((s) => s.regions);
  if (regions.length === 0) continue;
  lines.push(
    ...table(
      ["surface", "side", "cells", "below", "limit", "above", "limit", "mean above", "95 % above"],
      regions.map((r) => [
        r.region,
        r.side,
        String(r.cells),
        mm(r.worstBelow),
        mm(r.limitBelow),
        mm(r.worstAbove),
        mm(r.limitAbove),
        mm(r.meanAbove),
        mm(r.p95Above),
      ]),
    ),
    "",
    ...table(
      ["measure, the worst of its kind", "at", "ordered", "measured", "off by", "tolerance", "unit"],
      worstMeasures(c).map((m) => [m.what, m.id, mm(m.ordered), mm(m.measured), mm(m.measured - m.ordered), mm(m.tolerance), m.unit]),
    ),
  );
}
await writeFiles("docs", [{ path: "proof-figures.md", bytes: new TextEncoder().encode(`${lines.join("\n")}\n`) }]);
const stopped = cases.filter((c) => c.made.blocking.length > 0).length;
console.log(`docs/proof-figures.md: ${cases.length} made, ${stopped} stopped`);
process.exitCode = stopped > 0 ? 1 : 0;
