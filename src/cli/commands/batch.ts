import { makeBatch } from "../../job/batch/batch.ts";
import { openMade } from "../../job/made.ts";
import { checkWritable, writeFolder } from "../../job/write.ts";
import { countText, findingsText } from "../findings.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { pieceNumbers, seenFrom } from "./resume-batch.ts";

export interface BatchOptions {
  out: string;
  gap: number;
  without?: string[];
  cell: number;
  json?: true;
}

export async function batch(io: Io, paths: readonly string[], o: BatchOptions): Promise<ExitCode> {
  await checkWritable(o.out, { disk: io.disk });
  const without = pieceNumbers(o.without);
  const jobs = [];
  for (const path of paths) jobs.push(await openMade(path, io.disk));
  const made = makeBatch(jobs, {
    gap: o.gap,
    without,
    cell: o.cell,
    folders: seenFrom(
      o.out,
      jobs.map((j) => j.folder),
    ),
  });
  const code = made.files.length === 0 ? EXIT.stopped : EXIT.sound;
  if (code === EXIT.sound) await writeFolder(o.out, made.files, { disk: io.disk, signal: io.signal });
  if (o.json) {
    const { files, ...rest } = made;
    io.out(`${JSON.stringify({ command: "batch", exitCode: code, ...rest, files: files.map((f) => f.path) }, null, 2)}\n`);
    return code;
  }
  io.out(findingsText(io, made.findings));
  for (const s of made.sides)
    io.out(
      `${s.side.padEnd(6)} ${s.pieces.map((p, k) => `piece ${k + 1} X ${p.x.toFixed(1)} Y ${p.y.toFixed(1)}${s.proof.pieces[k] == null ? " (out)" : ""}`).join("; ")}; free way ${s.clearance.toFixed(1)} mm\n`,
    );
  const minutes = Math.ceil(made.programs.reduce((sum, p) => sum + p.seconds, 0) / 60);
  io.out(
    code === EXIT.stopped
      ? `${paint(io, ["bold", "red"], "stopped")}  ${countText(made.findings)}; nothing was written\n`
      : `${paint(io, ["bold", "green"], "made and proved")}  ${o.out}: ${made.programs.length} programs, about ${minutes} min, ${made.changes} changes of the cutter (${made.changesAlone} one after the other); ${countText(made.findings)}\n`,
  );
  return code;
}
