// Placement against brute force, and corrections of a simulated faulty machine: `node scripts/run.mjs bench/held.ts --count 1000 --trials 2000`
import { place } from "../src/holding/placement/solve.ts";
import { correctedTrials } from "../test/correcting.ts";
import { bruteForce, randomProblem } from "../test/placing.ts";
import { postedTrials } from "../test/posted-loop.ts";

const option = (name: string, fallback: number): number => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? fallback : Number(process.argv[at + 1]);
};
const count = option("count", 1000);
const trials = option("trials", 2000);

let worse = 0;
let open = 0;
let fitted = 0;
let most = Number.NEGATIVE_INFINITY;
for (let k = 0; k < count; k++) {
  const problem = randomProblem(k);
  const ours = place(problem);
  const best = bruteForce(problem, 40);
  if (ours.margin > 1e-3) fitted++;
  if (ours.margin > 1e-3 && ours.bound - ours.margin > 1.001e-4) open++;
  if (best > 1e-3) most = Math.max(most, best - ours.margin);
  if (best > 1e-3 && ours.margin < best - 1e-3) {
    worse++;
    console.error(`problem ${k}: ${ours.margin} here, ${best} by brute force`);
  }
}
console.log(
  `placement: ${count} problems, ${fitted} with room; worse than brute force by more than 0.001 mm: ${worse} (largest difference ${most.toFixed(6)} mm); gap left open: ${open}`,
);
const loop = correctedTrials(trials, 20260101);
console.log(`corrections: ${loop.within} of ${loop.trials} trials within the budget; worst shares ${JSON.stringify(loop.worst)}`);
const posted = postedTrials(10 * trials, 7);
console.log(
  `posted again: ${posted.within} of ${posted.trials} machines within the error budget's limits (${posted.withinBefore} before any correction), ${posted.refused.length} refused; worst shares ${JSON.stringify(posted.worst)}`,
);
process.exitCode = worse > 0 || open > 0 || loop.within < 0.99 * loop.trials || posted.within < 0.99 * posted.trials ? 1 : 0;
