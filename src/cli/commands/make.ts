import { randomUUID } from "node:crypto";
import { sha256 } from "../../job/hash.ts";
import { type Made, makeJob } from "../../job/make.ts";
import { makePool } from "../../job/pool.ts";
import { checkWritable, writeFolder } from "../../job/write.ts";
import { recordingOf } from "../../store/recording.ts";
import { cacheAsked } from "../cache.ts";
import { countText, findingsText } from "../findings.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { progressLine } from "../progress.ts";
import { proofText } from "../proof-text.ts";
import { source } from "../sources.ts";

export interface MakeOptions {
  shop: string;
  out: string;
  cell: number;
  paper: "A4" | "Letter";
  workers?: number;
  cache?: string | false;
  replace?: true;
  json?: true;
}

export async function make(io: Io, orderPath: string, o: MakeOptions): Promise<ExitCode> {
  const order = await source(io, orderPath, "order");
  const shop = await source(io, o.shop, "shop");
  await checkWritable(o.out, { disk: io.disk, replace: o.replace === true });
  const bar = progressLine(io, o.json === true);
  const pool = makePool(o.workers ?? io.workers, io.signal, cacheAsked(io, o.cache));
  try {
    const made = await makeJob(order, shop, { cell: o.cell, paper: o.paper, pool, progress: bar.show, signal: io.signal });
    const overridden = new Set(made.overridden.map((x) => x.rule));
    if (made.files !== null) {
      await writeAndRemember(io, orderPath, o, order.bytes, made, made.files);
    }
    bar.clear();
    const code = made.files === null ? EXIT.badInput : made.blocking.length > 0 ? EXIT.stopped : EXIT.sound;
    if (o.json) {
      const { job, proof } = made;
      io.out(
        `${JSON.stringify(
          {
            command: "make",
            exitCode: code,
            out: made.files === null ? null : o.out,
            programs: job?.programs ?? [],
            findings: made.findings,
            overridden: made.overridden,
            proof,
          },
          null,
          2,
        )}\n`,
      );
      return code;
    }
    io.out(findingsText(io, made.findings, overridden));
    if (made.proof !== null) io.out(proofText(io, made.proof));
    if (code === EXIT.badInput) {
      io.out(`${paint(io, ["bold", "red"], "bad input")}  ${countText(made.findings)}; nothing was written\n`);
    } else if (code === EXIT.stopped) {
      io.out(`${paint(io, ["bold", "red"], "stopped")}  ${countText(made.findings)}; ${o.out} was written without programs\n`);
    } else {
      const minutes = Math.ceil((made.job?.programs ?? []).reduce((sum, p) => sum + p.seconds, 0) / 60);
      const n = made.job?.programs.length ?? 0;
      io.out(
        `${paint(io, ["bold", "green"], "made and proved")}  ${o.out}: ${n} programs, about ${minutes} min at the machine; ${countText(made.findings)}\n`,
      );
    }
    return code;
  } finally {
    bar.clear();
    await pool.close();
  }
}

/** Writes the folder; in a shop's folder with a memory, also what was made, so that the bench knows of it. */
async function writeAndRemember(
  io: Io,
  orderPath: string,
  o: MakeOptions,
  order: Uint8Array,
  made: Made,
  files: NonNullable<Made["files"]>,
): Promise<void> {
  const memory = await recordingOf(orderPath, o.shop);
  try {
    await memory.alone(() => writeFolder(o.out, files, { disk: io.disk, signal: io.signal, replace: o.replace === true }));
    const programs = (made.job?.programs ?? []).map((p) => ({ file: p.file, sha256: p.sha256 }));
    await memory.made({ id: randomUUID(), orderMark: sha256(order), state: made.blocking.length > 0 ? "stopped" : "done", programs });
  } finally {
    memory.close();
  }
}
