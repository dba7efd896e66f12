// npm test: sets up what is missing, builds, then lint, types and every test with coverage. The last line counts them all.
import { spawnSync } from "node:child_process";
import { existsSync, mkdirSync, readFileSync, rmSync } from "node:fs";
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

console.log("\n== tests");
mkdirSync(join(root, "dist"), { recursive: true });
const report = join(root, "dist", "tests.json");
rmSync(report, { force: true });
const vitest = spawnSync(
  process.execPath,
  [
    "node_modules/vitest/vitest.mjs",
    "run",
    "--coverage",
    "--maxWorkers=2",
    "--reporter=default",
    "--reporter=json",
    `--outputFile.json=${report}`,
    ...process.argv.slice(2),
  ],
  { cwd: root, stdio: "inherit", env: { ...process.env, CI: "1" } },
);
if (!existsSync(report)) {
  console.log("tests: FAILED (no report was written)");
  count.failed++;
  finish();
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
console.log();
finish();
