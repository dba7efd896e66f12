import { type SpawnOptions, spawn } from "node:child_process";
import { mkdirSync, rmSync } from "node:fs";
import { join } from "node:path";
import { build } from "esbuild";
import { sourcesDefine } from "../scripts/sources.mjs";
import { run } from "../src/cli/app.ts";
import type { Io } from "../src/cli/io.ts";
import { heard } from "../src/cli/ran.test-data.ts";
import { defaultCache } from "../src/job/cache/store.ts";
import { root } from "./sources.ts";

/** Bundles the command and its worker for one test file, so that no test runs a build that is out of date. */
export async function buildCli(name: string, entry: Readonly<Record<string, string>> = { cli: "src/cli/main.ts" }): Promise<string> {
  const outdir = join(root, "dist", "test", name);
  rmSync(outdir, { recursive: true, force: true });
  mkdirSync(outdir, { recursive: true });
  await build({
    absWorkingDir: root,
    entryPoints: { ...entry, worker: "src/job/worker.ts" },
    outdir,
    outExtension: { ".js": ".mjs" },
    bundle: true,
    splitting: true,
    chunkNames: "chunks/[name]-[hash]",
    platform: "node",
    target: "node20",
    format: "esm",
    packages: "external",
    define: sourcesDefine(root),
    logLevel: "error",
  });
  return join(outdir, "cli.mjs");
}

export interface Ran {
  readonly code: number | null;
  readonly signal: NodeJS.Signals | null;
  readonly out: string;
  readonly err: string;
}

export interface RunOptions {
  readonly cwd?: string;
  readonly env?: NodeJS.ProcessEnv;
  /** Called with everything printed so far, and a way to send a signal. */
  readonly onOutput?: (soFar: string, kill: (signal: NodeJS.Signals) => void) => void;
}

/**
 * Runs the bundled command in a process of its own and gathers what it prints. It keeps results where this run of the tests keeps
 * its own (kept.ts), nowhere when it has no such place.
 */
export function runCli(cli: string, args: readonly string[], options: RunOptions = {}): Promise<Ran> {
  const spawnOptions: SpawnOptions = {
    cwd: options.cwd ?? root,
    env: { NECKWRIGHT_CACHE: "off", ...(options.env ?? process.env) },
    stdio: ["ignore", "pipe", "pipe"],
  };
  const child = spawn(process.execPath, [cli, ...args], spawnOptions);
  let out = "";
  let err = "";
  child.stdout?.setEncoding("utf8").on("data", (s: string) => {
    out += s;
    options.onOutput?.(out + err, (signal) => child.kill(signal));
  });
  child.stderr?.setEncoding("utf8").on("data", (s: string) => {
    err += s;
    options.onOutput?.(out + err, (signal) => child.kill(signal));
  });
  return new Promise((resolve, reject) => {
    child.on("error", reject);
    child.on("close", (code, signal) => resolve({ code, signal, out, err }));
  });
}

/** The same in this process, on its one thread: for what needs no process of its own. Keeps results where `runCli` does. */
export async function here(args: readonly string[], options: Partial<Io> = {}): Promise<Ran> {
  const cache = process.env.NECKWRIGHT_CACHE === undefined ? null : defaultCache();
  const { io, out, err } = heard({ cache, ...options });
  const code = await run(args, io);
  return { code, signal: null, out: out(), err: err() };
}
