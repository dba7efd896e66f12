// Programs that stop at random seconds and go on, in every program of several orders in two shops:
// `node scripts/run.mjs bench/resume.ts --each 4 --cell 0.4`
import { plannedFor } from "../test/jobs.ts";
import { resumeTrials } from "../test/resuming.ts";

const option = (name: string, fallback: number): number => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? fallback : Number(process.argv[at + 1]);
};
const each = option("each", 4);
const cell = option("cell", 0.4);

let failed = 0;
let trials = 0;
const kinds = new Map<string, number>();
let [proved, real, wayIn] = [0, 0, 0];
for (const [k, [order, shop]] of (
  [
    ["loan-guitar", "stiff-router"],
    ["loan-guitar", "light-router"],
    ["loan-ukulele", "light-router"],
    ["loan-bass", "stiff-router"],
  ] as const
).entries()) {
  const { input } = plannedFor(order, shop, cell);
  const sides = input.sides as Parameters<typeof resumeTrials>[0]["input"]["sides"];
  const source = { orderName: order, orderHash: "0".repeat(64), input: { ...input, sides } };
  const tally = resumeTrials(source, each, 20260101 + k);
  for (const f of tally.failed) console.log(`  ${f}`);
  failed += tally.failed.length;
  trials += tally.trials;
  for (const [file, n] of tally.programs) {
    const kind = file.replace(/^.*\/\d+-/, "").replace(/\.ngc$/, "");
    kinds.set(kind, (kinds.get(kind) ?? 0) + n);
  }
  proved = Math.max(proved, tally.proved);
  real = Math.max(real, tally.real);
  wayIn = Math.max(wayIn, tally.wayIn);
  console.log(
    `${order} on ${shop}: ${tally.trials} stops in ${tally.programs.size} programs, ${tally.failed.length} failed; wood at the end off by ${tally.proved.toFixed(5)} mm as proved, ${tally.real.toFixed(5)} mm from the very second; way in took ${tally.wayIn.toFixed(3)} mm3 at most`,
  );
}
console.log(
  `all: ${trials} stops in ${kinds.size} kinds of program (${[...kinds].map(([kind, n]) => `${kind} ${n}`).join(", ")}), ${failed} failed; off by ${proved.toFixed(5)} and ${real.toFixed(5)} mm, way in ${wayIn.toFixed(3)} mm3`,
);
process.exitCode = failed > 0 ? 1 : 0;
