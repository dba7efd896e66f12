// Bundles one TypeScript file with esbuild and runs it: node scripts/run.mjs FILE [ARGS...]
import { spawnSync } from "node:child_process";
import { existsSync, mkdirSync, readdirSync, statSync } from "node:fs";
import { basename, join } from "node:path";
import { buildWasm } from "./build-wasm.mjs";
import { ensure, root } from "./ensure.mjs";
import { sourcesDefine } from "./sources.mjs";

ensure();
const esbuild = await import("esbuild");

const [file, ...args] = process.argv.slice(2);
if (file === undefined || !existsSync(join(root, file))) {
  console.error(`There is no ${file ?? "file named"}; usage: node scripts/run.mjs FILE.ts [ARGS...]`);
  process.exit(2);
}
// compiled anew when a source of the kernels is younger than what was made of it, or nothing was made yet
const assembly = join(root, "src/kernel/wasm/assembly");
const made = statSync(join(root, "src/kernel/wasm/kernels.generated.ts"), { throwIfNoEntry: false })?.mtimeMs ?? 0;
if (readdirSync(assembly).some((f) => statSync(join(assembly, f)).mtimeMs > made)) await buildWasm();
mkdirSync(join(root, "dist", "scripts"), { recursive: true });
const outfile = join(root, "dist", "scripts", `${basename(file, ".ts")}.mjs`);
const shared = {
  absWorkingDir: root,
  bundle: true,
  platform: "node",
  target: "node20",
  format: "esm",
  packages: "external",
  sourcemap: "inline",
  define: sourcesDefine(root),
  logLevel: "warning",
};
const { metafile } = await esbuild.build({ ...shared, entryPoints: [file], outfile, metafile: true });
// what starts workers gets them from the same sources, never from an older build
if ("src/job/pool.ts" in metafile.inputs) {
  await esbuild.build({ ...shared, entryPoints: ["src/job/worker.ts"], outfile: join(root, "dist", "scripts", "worker.mjs") });
}
if ("bench/workers.ts" in metafile.inputs) {
  await esbuild.build({ ...shared, entryPoints: ["bench/worker.ts"], outfile: join(root, "dist", "scripts", "bench-worker.mjs") });
}
const run = spawnSync(process.execPath, ["--enable-source-maps", outfile, ...args], { stdio: "inherit", cwd: root });
process.exit(run.status ?? 3);
