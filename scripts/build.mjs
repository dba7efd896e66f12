// Builds dist/: the WebAssembly kernels (when their sources changed), then the command and its worker, with chunks that they share.
import { spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import { chmodSync, existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { basename, join, relative } from "node:path";
import { fileURLToPath } from "node:url";
import { ensure, root } from "./ensure.mjs";
import { sourcesDefine } from "./sources.mjs";

const wasmScript = join(root, "scripts", "build-wasm.mjs");
const wasmDir = join(root, "src", "kernel", "wasm");

function hashOf(dir, hash) {
  for (const entry of readdirSync(dir, { withFileTypes: true }).sort((a, b) => (a.name < b.name ? -1 : 1))) {
    const path = join(dir, entry.name);
    if (entry.isDirectory()) hashOf(path, hash);
    else if (!entry.name.includes(".generated.")) hash.update(`${entry.name}\n`).update(readFileSync(path));
  }
}

/** Compiles the kernels when their sources, or the script itself, are not those of the last build. */
function buildWasm() {
  if (!existsSync(wasmScript)) return;
  const hash = createHash("sha256").update(readFileSync(wasmScript));
  if (existsSync(wasmDir)) hashOf(wasmDir, hash);
  const digest = hash.digest("hex");
  const stamp = join(root, "dist", ".wasm-sources");
  const made = join(wasmDir, "kernels.generated.ts");
  if (existsSync(made) && existsSync(stamp) && readFileSync(stamp, "utf8") === digest) return;
  const run = spawnSync(process.execPath, [wasmScript], { cwd: root, stdio: ["ignore", 2, 2] });
  if (run.status !== 0) throw new Error(`scripts/build-wasm.mjs failed with exit code ${run.status}`);
  writeFileSync(stamp, digest);
}

/** Takes away what earlier builds left in a folder of chunks. */
function dropOld(folder, metafile) {
  const made = new Set(Object.keys(metafile.outputs).map((f) => basename(f)));
  if (existsSync(folder)) for (const f of readdirSync(folder)) if (!made.has(f)) rmSync(join(folder, f), { force: true });
}

/** The browser app: one script and one style sheet beside its page, nothing fetched from elsewhere. */
async function buildBench(esbuild) {
  const outdir = join(root, "dist", "pages");
  const { metafile } = await esbuild.build({
    absWorkingDir: root,
    entryPoints: {
      begin: "src/web/begin.ts",
      main: "src/web/main.tsx",
      playback: "src/web/playback/worker.ts",
      place: "src/web/blank/worker.ts",
      keeper: "src/web/offline/keeper.ts",
      thinker: "src/web/thinker/worker.ts",
      drawer: "src/web/drawer/worker.ts",
    },
    outdir,
    bundle: true,
    format: "esm",
    splitting: true,
    chunkNames: "parts/[name]-[hash]",
    metafile: true,
    target: ["es2022", "chrome120", "firefox120", "safari17"],
    platform: "browser",
    jsx: "automatic",
    minify: true,
    sourcemap: "linked",
    define: { "process.env.NODE_ENV": '"production"' },
    logLevel: "warning",
  });
  // the parts that the first script needs are asked for with the page, not once that script has been read
  const soon = new Set();
  const follow = (file) => {
    for (const i of metafile.outputs[file].imports)
      if (i.kind === "import-statement" && !soon.has(i.path)) {
        soon.add(i.path);
        follow(i.path);
      }
  };
  follow("dist/pages/main.js");
  const links = [...soon].map((f) => `    <link rel="modulepreload" href="/bench/${relative("dist/pages", f).replaceAll("\\", "/")}" />\n`);
  const page = readFileSync(join(root, "src", "web", "index.html"), "utf8");
  writeFileSync(join(outdir, "index.html"), page.replace("  </head>", `${links.join("")}  </head>`));
  dropOld(join(outdir, "parts"), metafile);
  // what the keeper keeps: everything that a page may ask for, maps of the sources left out
  const names = Object.keys(metafile.outputs).map((f) => relative("dist/pages", f).replaceAll("\\", "/"));
  writeFileSync(join(outdir, "files.json"), `${JSON.stringify(names.filter((f) => !f.endsWith(".map") && f !== "keeper.js").sort())}\n`);
}

export async function build() {
  ensure();
  mkdirSync(join(root, "dist"), { recursive: true });
  buildWasm();
  const esbuild = await import("esbuild");
  const shared = {
    absWorkingDir: root,
    bundle: true,
    platform: "node",
    target: "node20",
    format: "esm",
    // in the bundle: what would be looked up file by file at every start, or is half again as slow to load from its own files
    external: Object.keys(JSON.parse(readFileSync(join(root, "package.json"), "utf8")).dependencies).filter(
      (name) => name !== "zod" && name !== "pdfkit",
    ),
    minifyWhitespace: true,
    minifySyntax: true,
    sourcemap: "linked",
    define: sourcesDefine(root),
    logLevel: "warning",
  };
  const { metafile } = await esbuild.build({
    ...shared,
    entryPoints: { cli: "src/cli/main.ts", worker: "src/job/worker.ts", "upload-worker": "src/job/upload-worker.ts" },
    outdir: "dist",
    outExtension: { ".js": ".mjs" },
    splitting: true,
    chunkNames: "chunks/[name]-[hash]",
    banner: { js: "#!/usr/bin/env node" },
    metafile: true,
  });
  await buildBench(esbuild);
  dropOld(join(root, "dist", "chunks"), metafile);
  chmodSync(join(root, "dist", "cli.mjs"), 0o755);
}

if (process.argv[1] && fileURLToPath(import.meta.url) === process.argv[1]) {
  await build();
  console.log("built dist/cli.mjs and dist/worker.mjs");
}
