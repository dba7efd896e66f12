// npm test: sets up what is missing, builds, then lint, types and every test. The last line counts them all. With --coverage (npm run coverage)
// the tests beside the code also say which lines ran, and take half as long again.
import { spawnSync } from "node:child_process";
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { build } from "./build.mjs";
import { ensure, root } from "./ensure.mjs";
import { ensureSystem } from "./system.mjs";

const count = { passed: 0, failed: 0, skipped: 0 };

function finish() {
  const skipped = count.skipped > 0 ? `, ${count.skipped} skipped` : "";
  console.log(`${count.passed} passed, ${count.failed} failed${skipped}`);
  process.exit(count.failed > 0 || count.passed === 0 ? 1 : 0);
}

/** One check that either passes or fails as a whole. */
function check(name, args) {
  console.log(`\n== ${name}`);
  const run = spawnSync(process.execPath, args, { cwd: root, stdio: "inherit" });
  if (run.status === 0) count.passed++;
  else count.failed++;
  console.log(`${name}: ${run.status === 0 ? "passed" : `FAILED (exit code ${run.status})`}`);
}

ensure();
for (const sentence of ensureSystem()) console.log(`note: ${sentence}`);

console.log("\n== build");
try {
  await build();
} catch (error) {
  console.error(error instanceof Error ? error.message : error);
  console.log("build: FAILED");
  count.failed++;
  finish();
}

check("lint and format", ["node_modules/@biomejs/biome/bin/biome", "check", "."]);
check("types", ["node_modules/tsc7/bin/tsc", "--noEmit", "-p", "."]);
check("types of the bench", ["node_modules/tsc7/bin/tsc", "--noEmit", "-p", "src/web"]);

/** Whole jobs: they plan and prove necks by the dozen. Counting which line ran would make them half as slow again: they are left out of it. */
const WHOLE = ["test/", "src/paths/plan.test.ts", "src/paths/work.test.ts", "src/job/coupon.test.ts", "src/server/"];
const coverage = process.argv.includes("--coverage");
const asked = process.argv.slice(2).filter((a) => a !== "--coverage");

/** What one run of the tests has planned and proved, it takes again; the next run begins with nothing. */
const kept = mkdtempSync(join(tmpdir(), "neckwright-tests-"));
process.on("exit", () => rmSync(kept, { recursive: true, force: true }));

/** One run of the test program; its counts are added. */
function tests(name, args) {
  console.log(`\n== ${name}`);
  const report = join(root, "dist", `${name.replaceAll(" ", "-")}.json`);
  rmSync(report, { force: true });
  const vitest = spawnSync(
    process.execPath,
    [
      "node_modules/vitest/vitest.mjs",
      "run",
      // one more than cores, since a browser's tests mostly wait
      "--maxWorkers=3",
      "--reporter=default",
      "--reporter=json",
      `--outputFile.json=${report}`,
      ...args,
    ],
    { cwd: root, stdio: "inherit", env: { ...process.env, CI: "1", NECKWRIGHT_CACHE: kept } },
  );
  if (!existsSync(report)) {
    console.log(`${name}: FAILED (no report was written)`);
    count.failed++;
    return;
  }
  const result = JSON.parse(readFileSync(report, "utf8"));
  const emptyFailures = result.testResults.filter(
    (f) => f.status === "failed" && f.assertionResults.every((a) => a.status !== "failed"),
  ).length;
  count.passed += result.numPassedTests;
  count.failed += result.numFailedTests + emptyFailures;
  count.skipped += result.numPendingTests + result.numTodoTests;
  // an error outside any test, for instance a promise nobody waited for
  if (vitest.status !== 0 && result.numFailedTests + emptyFailures === 0) count.failed++;
}

mkdirSync(join(root, "dist"), { recursive: true });
if (!coverage || asked.length > 0) tests("tests", asked);
else {
  // the report of what is covered is that of the tests beside the code
  tests("unit tests", ["--coverage", "src", ...WHOLE.map((f) => `--exclude=${f.endsWith("/") ? `${f}**` : f}`)]);
  tests("whole jobs", WHOLE);
}
console.log();
finish();
