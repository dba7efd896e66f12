import { spawnSync } from "node:child_process";
import { appendFileSync } from "node:fs";
import { cpus, loadavg, totalmem } from "node:os";
import { join } from "node:path";

/** One run of the bench, as a line of bench/history.jsonl: what was measured, of which commit, on which machine, how busy that was. */
export interface BenchRun {
  readonly input: { readonly order: string; readonly shop: string; readonly cell: number };
  /** Of job.json, which holds the hash of every other file: runs with another checksum did other work. */
  readonly checksum: string;
  /** The whole job on two threads, seconds on the clock, and the peak of memory, MB. */
  readonly seconds: number;
  readonly peak: number;
  /** Stages in one thread, ms. */
  readonly stages: Readonly<Record<string, number>>;
  /** Medians of later jobs in the same process, ms: until proved, and with sheets and pictures. */
  readonly warm?: { readonly proved: number; readonly all: number };
  readonly kernels: readonly KernelFigure[];
}

export interface KernelFigure {
  readonly what: string;
  /** Processor time, ms; how often that of a copy of the map, and that of the yardstick in C (null without gcc). */
  readonly ms: number;
  readonly copies: number;
  readonly c: number | null;
}

const git = (...args: string[]): string => spawnSync("git", args, { encoding: "utf8" }).stdout?.trim() ?? "";

export function keepRun(run: BenchRun): void {
  const commit = git("rev-parse", "--short=12", "HEAD");
  const line = {
    date: new Date().toISOString(),
    commit: git("status", "--porcelain", "--untracked-files=no") === "" ? commit : `${commit} and changes`,
    machine: { cpu: cpus()[0]?.model.trim() ?? "", cores: cpus().length, memory: Math.round(totalmem() / 1e9), node: process.version },
    load: Number(loadavg()[0].toFixed(2)),
    ...run,
  };
  appendFileSync(join("bench", "history.jsonl"), `${JSON.stringify(line)}\n`);
}
