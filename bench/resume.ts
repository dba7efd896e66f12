// Programs that stop at random seconds and go on, in every program of several orders and shops; cutters of other sizes:
// `node scripts/run.mjs bench/resume.ts --each 4 --cell 0.4`
import type { MadeJob } from "../src/job/made.ts";
import { openProgram } from "../src/job/resume.ts";
import { planAnew } from "../src/job/resume-anew.ts";
import { sourceOf } from "../src/job/resume-made.ts";
import { findStart } from "../src/program/resume/find.ts";
import { isStop } from "../src/units/index.ts";
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
    ["loan-ukulele", "small-router"],
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
// cutters of another size: a narrower slot cutter, a narrower outline, a smaller ball go; what cannot be made is refused
const { input, neck, shop } = plannedFor("loan-guitar", "stiff-router", cell);
const made = {
  folder: "memory",
  job: { ...input, order: { name: "loan-guitar", sha256: "0".repeat(64) } },
  order: neck.order,
  shop,
  cutters: shop.cutters,
  neck,
  programs: input.programs,
} as unknown as MadeJob;
for (const [cut, cutter, goes] of [
  ["board-fret-slots", 8, true],
  ["board-outline", 2, true],
  ["carve-carve-finish", 5, true],
  ["board-outline", 3, false],
  ["board-tuner-bores", 3, false],
] as const) {
  const file = input.programs.find((p) => p.cuts[0] === cut)!.file;
  const open = openProgram(sourceOf(made, cell), file);
  const found = findStart(open.written, { kind: "pass", cut, pass: 2 }, 10);
  if (!found.ok) throw new Error(`${cut}: ${found.says}`);
  let says: string;
  let ok: boolean;
  try {
    const anew = planAnew(made, open, found.start, shop.cutters.find((c) => c.number === cutter)!, "anew.ngc");
    const stops = anew.findings.filter(isStop);
    ok = goes && stops.length === 0;
    says = stops.length === 0 ? "planned anew and proved" : stops.map((f) => `${f.rule} ${f.says}`).join("; ");
  } catch (e) {
    ok = !goes;
    says = `refused: ${(e as Error).message}`;
  }
  if (!ok) failed++;
  console.log(`${cut} with cutter ${cutter}: ${says}${ok ? "" : "  FAILED"}`);
}
console.log(
  `all: ${trials} stops in ${kinds.size} kinds of program (${[...kinds].map(([kind, n]) => `${kind} ${n}`).join(", ")}), ${failed} failed; off by ${proved.toFixed(5)} and ${real.toFixed(5)} mm, way in ${wayIn.toFixed(3)} mm3`,
);
process.exitCode = failed > 0 ? 1 : 0;
