// Kills a writer a thousand times at random moments and looks at what it left; then how long an order of 20,000 versions takes to open:
// `node scripts/run.mjs bench/killed.ts --kills 1000 --seed 1`; `--from 400` goes on with a campaign that was ended there.
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { buildSync } from "esbuild";
import fc from "fast-check";
import { FolderMemory } from "../src/store/folder.ts";
import { campaign } from "../test/killing.ts";

const option = (name: string, fallback: number): number => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? fallback : Number(process.argv[at + 1]);
};
const kills = option("kills", 1000);
const seed = option("seed", 1);
const first = option("from", 0);
const versions = option("versions", 20_000);
/** Then a new folder is begun, so that looking at it stays quick. */
const PER_FOLDER = 50;

const script = join("dist", "scripts", "killed-writer.mjs");
buildSync({
  entryPoints: ["test/killed-writer.ts"],
  outfile: script,
  bundle: true,
  platform: "node",
  target: "node20",
  format: "esm",
  packages: "external",
});
const dir = mkdtempSync(join(tmpdir(), "neckwright-killed-"));
const waits = fc.sample(fc.integer({ min: 0, max: 120 }), { numRuns: kills, seed });
let said = 0;
let failed = 0;
for (let at = first; at < kills; at += PER_FOLDER) {
  const n = Math.min(PER_FOLDER, kills - at);
  const folder = join(dir, "shop");
  const one = await campaign(script, folder, n, (k) => waits[at + k]);
  said += one.said;
  failed += one.wrong.length;
  for (const w of one.wrong) console.error(`kills from ${at}: ${w}`);
  rmSync(folder, { recursive: true, force: true });
  console.error(`${at + n} of ${kills}: ${said} changes said to be written, ${failed} failures`);
}
console.log(`${kills - first} kills: ${said} changes said to be written, ${failed} failures (seed ${seed})`);

// one order with very many versions
const folder = join(dir, "many");
const order = JSON.stringify({ title: "Loan guitar", notes: "n".repeat(3000) });
const { startFolder } = await import("../test/killing.ts");
startFolder(folder);
const memory = new FolderMemory(folder);
memory.takeInAll();
let mark = (await memory.open("loan", "order")).mark;
memory.store.together(() => {
  for (let k = 0; k < versions; k++) {
    const put = memory.store.put("order", "loan", order.replace("{", `{"k": ${k}, `), mark, memory.said("bench"));
    if (!("head" in put)) throw new Error("a conflict");
    mark = put.head.mark;
  }
});
// the file follows the memory by one more save
const last = memory.store.get("order", "loan");
memory.close();
if (last === null) throw new Error("nothing was written");
const { replaceFile } = await import("../src/store/folder.ts");
replaceFile(join(folder, "loan.order.json"), last.text);
const from = performance.now();
const again = new FolderMemory(folder);
const opened = await again.open("loan", "order");
const heads = again.store.versions("order", "loan", 100);
const ms = performance.now() - from;
again.close();
const right = opened.mark === last.mark && heads[0].version === last.version && heads.length === 100;
console.log(`an order of ${last.version} versions: folder opened, order and its last 100 versions read in ${ms.toFixed(1)} ms`);
rmSync(dir, { recursive: true, force: true });
process.exitCode = failed > 0 || !right || ms > 200 ? 1 : 0;
