// Every example that is cut, in sections on the small router: planned and proved as a whole, and its seams on a simulated machine:
// `node scripts/run.mjs bench/sections.ts --trials 2000 --cell 0.25`
import { readFileSync } from "node:fs";
import { planHolding } from "../src/holding/index.ts";
import { cuspsOf, engagementOf } from "../src/job/job-file.ts";
import { groupCuts } from "../src/job/programs.ts";
import { readOrder, readShop } from "../src/job/source.ts";
import { writePrograms } from "../src/job/write-programs.ts";
import { makeNeck } from "../src/neck/index.ts";
import { planCuts } from "../src/paths/index.ts";
import { prove } from "../src/proof/index.ts";
import { seamTrials } from "../test/seam-trials.ts";

const ORDERS = ["loan-guitar", "loan-guitar-left", "loan-bass", "loan-bass-fretless", "loan-bass-five", "loan-cittern", "loan-ukulele"];

const option = (name: string, fallback: number): number => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? fallback : Number(process.argv[at + 1]);
};
const source = (path: string): { path: string; bytes: Uint8Array } => ({ path, bytes: readFileSync(path) });
const trials = option("trials", 2000);
const cell = option("cell", 0.25);
const shop = readShop(source("examples/small-router.shop.json")).value;
if (shop === null) throw new Error("examples/small-router.shop.json cannot be read");
const { machine, cutters } = shop;
let failed = 0;
for (const name of ORDERS) {
  const order = readOrder(source(`examples/${name}.order.json`));
  if (order.value === null) throw new Error(`${name} cannot be read`);
  const neck = makeNeck(order.value);
  const holding = planHolding(neck, machine);
  const plan = planCuts(neck, holding, shop);
  const { groups, steps } = groupCuts(plan);
  const written = writePrograms(groups, order.value, order.sha256, shop, holding);
  const proof = prove({
    neck,
    machine,
    cutters,
    sides: [holding.sides.board, holding.sides.carve],
    programs: written.programs,
    steps,
    cusps: cuspsOf(plan),
    engagement: engagementOf(plan),
    cell,
  });
  const all = [...neck.findings, ...holding.findings, ...plan.findings, ...written.findings, ...proof.findings];
  const stops = all.filter((f) => f.severity === "stop");
  const r = holding.sections === undefined ? null : seamTrials(neck, holding, machine, trials, 20260101);
  const off = r === null ? 1 : Math.max(...Object.values(r.sigma).map((s) => Math.abs(s.found / s.said - 1)));
  if (stops.length > 0 || r === null || r.within < 0.99 || off > 0.06) failed++;
  const seams =
    r === null
      ? "no seam"
      : `${(100 * r.within).toFixed(2)} % of ${r.trials} trials within the limits, deviations within ${(100 * off).toFixed(1)} % of the budget's`;
  console.log(
    `${name}: ${holding.sections?.count ?? 1} sections, ${written.programs.length} programs, ${stops.length} stops, ${all.length - stops.length} other findings; ${seams}`,
  );
  for (const f of stops) console.log(`  ${f.rule} ${f.where}: ${f.says}`);
}
process.exitCode = failed > 0 ? 1 : 0;
