import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { buildSync } from "esbuild";
import fc from "fast-check";
import { expect, test } from "vitest";
import { campaign } from "./killing.ts";
import { root } from "./sources.ts";

test("a writer killed at any moment has lost nothing that it said was written, left a sound database and no half folder", async () => {
  const dir = mkdtempSync(join(tmpdir(), "neckwright-killed-"));
  const script = join(root, "dist", "tests", "killed-writer.mjs");
  buildSync({
    absWorkingDir: root,
    entryPoints: ["test/killed-writer.ts"],
    outfile: script,
    bundle: true,
    platform: "node",
    target: "node20",
    format: "esm",
    packages: "external",
  });
  const waits = fc.sample(fc.integer({ min: 0, max: 90 }), { numRuns: 12, seed: 20260101 });
  const { said, wrong } = await campaign(script, join(dir, "shop"), waits.length, (k) => waits[k]);
  rmSync(dir, { recursive: true, force: true });
  expect(wrong).toEqual([]);
  // each was killed after it had said something
  expect(said).toBeGreaterThanOrEqual(waits.length);
});
