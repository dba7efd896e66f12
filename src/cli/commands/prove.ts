import { basename, dirname } from "node:path";
import { makePool } from "../../job/pool.ts";
import { proveFolder, reportOfProof } from "../../job/prove-folder.ts";
import { writeFiles } from "../../job/write.ts";
import { cacheAsked } from "../cache.ts";
import { countText, findingsText } from "../findings.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { progressLine } from "../progress.ts";
import { proofText } from "../proof-text.ts";

export interface ProveOptions {
  cell?: number;
  workers?: number;
  cache?: string | false;
  report?: string;
  json?: true;
}

export async function prove(io: Io, dir: string, o: ProveOptions): Promise<ExitCode> {
  const bar = progressLine(io, o.json === true);
  const pool = makePool(o.workers ?? io.workers, io.signal, cacheAsked(io, o.cache));
  try {
    const result = await proveFolder(dir, { cell: o.cell ?? null, pool, progress: bar.show, signal: io.signal, disk: io.disk });
    bar.clear();
    if (o.report !== undefined) {
      await writeFiles(dirname(o.report), [{ path: basename(o.report), bytes: await reportOfProof(result, pool) }], {
        disk: io.disk,
        signal: io.signal,
      });
    }
    const code = result.blocking.length > 0 ? EXIT.stopped : EXIT.sound;
    if (o.json) {
      io.out(
        `${JSON.stringify({ command: "prove", exitCode: code, findings: result.findings, overridden: result.overridden, proof: result.proof }, null, 2)}\n`,
      );
      return code;
    }
    io.out(findingsText(io, result.findings, new Set(result.overridden.map((x) => x.rule))));
    io.out(proofText(io, result.proof));
    io.out(
      code === EXIT.sound
        ? `${paint(io, ["bold", "green"], "proved")}  ${dir}: ${countText(result.findings)}\n`
        : `${paint(io, ["bold", "red"], "stopped")}  ${dir}: ${countText(result.findings)}; do not run these programs\n`,
    );
    return code;
  } finally {
    bar.clear();
    await pool.close();
  }
}
