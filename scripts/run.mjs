// Bundles one TypeScript file with esbuild and runs it: node scripts/run.mjs FILE [ARGS...]
import { spawnSync } from "node:child_process";
import { mkdirSync } from "node:fs";
import { basename, join } from "node:path";
import { build } from "esbuild";

const [file, ...args] = process.argv.slice(2);
mkdirSync("dist/scripts", { recursive: true });
const outfile = join("dist/scripts", `${basename(file, ".ts")}.mjs`);
await build({
  entryPoints: [file],
  outfile,
  bundle: true,
  platform: "node",
  format: "esm",
  packages: "external",
  sourcemap: "inline",
  logLevel: "warning",
});
const run = spawnSync(process.execPath, ["--enable-source-maps", outfile, ...args], { stdio: "inherit" });
process.exit(run.status ?? 3);
