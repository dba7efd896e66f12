import { relative, resolve } from "node:path";
import { openBatch } from "../../job/batch/file.ts";
import { listBatchPasses, resumeBatch } from "../../job/batch/resume.ts";
import { InputError } from "../../job/errors.ts";
import { checkWritable, writeFolder } from "../../job/write.ts";
import { countText, findingsText } from "../findings.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { HOW, mm, passesText, type ResumeOptions, stoppedAt } from "./stopped-at.ts";

/** Pieces' numbers as they were typed. */
export function pieceNumbers(without: readonly string[] | undefined): number[] {
  return (without ?? []).map((w) => {
    if (!/^\d{1,2}$/.test(w.trim()))
      throw new InputError(`--without ${w}`, "this is not the number of a piece", "pieces are counted from 1, in the order they are named");
    return Number(w);
  });
}

/** A piece's folder as the batch's file names it: seen from the batch's own. */
export const seenFrom = (out: string, folders: readonly string[]): string[] =>
  folders.map((f) => relative(resolve(out), resolve(f)).replaceAll("\\", "/"));

/** A batch's folder goes on as a batch. */
export async function resumeTheBatch(io: Io, path: string, o: ResumeOptions): Promise<ExitCode> {
  const alone = (["cutter", "shop", "reach", "flute", "found"] as const).find((k) => o[k] !== undefined);
  if (alone !== undefined)
    throw new InputError(
      `--${alone}`,
      "this is a batch, whose programs share one zero and one set of cutters",
      "put in a cutter of the same size that sticks out as before and set the zero as the run sheet says; or resume one piece from its own folder, alone on the bed",
    );
  const moved = new Map(
    (o.piece ?? []).map((text): [number, string] => {
      const read = /^\s*(\d{1,2})\s*=\s*(.+?)\s*$/.exec(text);
      if (read === null) throw new InputError(`--piece ${text}`, "this names no piece and folder", 'write "2=DIR"');
      return [Number(read[1]), read[2]];
    }),
  );
  const batch = await openBatch(path, moved, io.disk);
  if (o.list) {
    const passes = listBatchPasses(batch, o.program);
    if (o.json) io.out(`${JSON.stringify({ command: "resume", exitCode: EXIT.sound, passes }, null, 2)}\n`);
    else io.out(passesText(passes));
    return EXIT.sound;
  }
  if (o.at === undefined) throw new InputError("--at", "where did it stop", `${HOW}; --list shows lines and passes`);
  if (o.out === undefined)
    throw new InputError("--out", "programs and run sheet need a folder to be written into", "add --out DIR, not the batch's own folder");
  await checkWritable(o.out, { disk: io.disk });
  const made = resumeBatch(batch, {
    program: o.program,
    at: stoppedAt(o.at),
    overlap: o.overlap === undefined ? 10 : mm("--overlap", o.overlap, 0, 1000),
    without: pieceNumbers(o.without),
    folders: seenFrom(o.out, batch.folders),
    ...(o.cell === undefined ? {} : { cell: o.cell }),
  });
  const code = made.files.length === 0 ? EXIT.stopped : EXIT.sound;
  if (code === EXIT.sound) await writeFolder(o.out, made.files, { disk: io.disk, signal: io.signal });
  if (o.json) {
    const { files, ...rest } = made;
    io.out(`${JSON.stringify({ command: "resume", exitCode: code, ...rest, files: files.map((f) => f.path) }, null, 2)}\n`);
    return code;
  }
  io.out(findingsText(io, made.findings));
  const [x, y, z] = made.start.at;
  const out = made.dropped.length === 0 ? "" : `; dropped out: ${made.dropped.map((n) => `piece ${n}`).join(", ")}`;
  io.out(
    code === EXIT.stopped
      ? `${paint(io, ["bold", "red"], "stopped")}  ${countText(made.findings)}; nothing was written\n`
      : `${paint(io, ["bold", "green"], "made and proved")}  ${o.out}: ${made.programs.length} programs${
          made.file === null
            ? ", of the one that stopped nothing is left"
            : `, the first goes on from line ${made.start.line}, X ${x.toFixed(3)} Y ${y.toFixed(3)} Z ${z.toFixed(3)}`
        }, about ${Math.ceil(made.programs.reduce((s, p) => s + p.seconds, 0) / 60)} min${out}\n`,
  );
  return code;
}
