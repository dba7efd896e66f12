import { isBatch } from "../../job/batch/file.ts";
import { InputError } from "../../job/errors.ts";
import { openMade } from "../../job/made.ts";
import { type CutterSpec, listPasses, programNamed, resumeMade } from "../../job/resume-made.ts";
import { cutterNamed, readShop } from "../../job/source.ts";
import { refuseMade, writeFiles } from "../../job/write.ts";
import { isStop } from "../../units/index.ts";
import { countText, findingsText } from "../findings.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { source } from "../sources.ts";
import { HOW, mm, passesText, type ResumeOptions, stoppedAt } from "./stopped-at.ts";

export type { ResumeOptions };

export async function resume(io: Io, path: string, o: ResumeOptions): Promise<ExitCode> {
  if (await isBatch(path, io.disk)) return (await import("./resume-batch.ts")).resumeTheBatch(io, path, o);
  const only = (["without", "piece"] as const).find((k) => o[k] !== undefined);
  if (only !== undefined)
    throw new InputError(`--${only}`, "this is a piece of its own, not a batch", "leave it out, or name the batch's folder");
  const made = await openMade(path, io.disk);
  if (o.list) {
    const passes = listPasses(made, o.program);
    if (o.json) io.out(`${JSON.stringify({ command: "resume", exitCode: EXIT.sound, passes }, null, 2)}\n`);
    else io.out(passesText(passes));
    return EXIT.sound;
  }
  if (o.at === undefined) throw new InputError("--at", "where did it stop", `${HOW}; --list shows lines and passes`);
  if (o.out === undefined)
    throw new InputError("--out", "program and sheet need a folder to be written into", "add --out DIR, not the job's own folder");
  const out = o.out;
  await refuseMade(out, io.disk);
  const program = made.programs.find((p) => p.file === programNamed(made, o.program))!;
  let cutter: CutterSpec | undefined;
  if (o.cutter !== undefined) {
    const read = o.shop === undefined ? { value: made.shop, findings: [] } : readShop(await source(io, o.shop, "shop"));
    const shop = read.value;
    const why = read.findings.find(isStop)?.says.replace(/\.$/, "");
    if (shop === null)
      throw new InputError(o.shop ?? "shop.json", why ?? "this shop cannot be read", "run check with it and mend what it finds");
    cutter = cutterNamed(shop, o.cutter);
  } else if (o.shop !== undefined) throw new InputError("--shop", "a shop is only read for the cutter that is named", "add --cutter N");
  if (o.reach !== undefined || o.flute !== undefined) {
    const was = cutter ?? made.cutters.find((c) => c.number === program.cutter)!;
    const reach = o.reach === undefined ? was.reach : mm("--reach", o.reach, 3, 200);
    const flute = o.flute === undefined ? Math.min(was.fluteLength, reach) : mm("--flute", o.flute, 0.5, reach);
    cutter = { ...was, reach, fluteLength: flute };
  }
  const r = resumeMade(made, {
    program: o.program,
    at: stoppedAt(o.at),
    overlap: o.overlap === undefined ? 10 : mm("--overlap", o.overlap, 0, 1000),
    ...(cutter === undefined ? {} : { cutter }),
    ...(o.found === undefined ? {} : { found: o.found }),
    ...(o.cell === undefined ? {} : { cell: o.cell }),
  });
  const code = r.files.length === 0 ? EXIT.stopped : EXIT.sound;
  if (code === EXIT.sound) await writeFiles(out, r.files, { disk: io.disk, signal: io.signal });
  if (o.json) {
    const { files, ...rest } = r;
    io.out(`${JSON.stringify({ command: "resume", exitCode: code, ...rest, files: files.map((f) => f.path) }, null, 2)}\n`);
    return code;
  }
  io.out(findingsText(io, r.findings));
  if (r.zero !== null)
    io.out(
      `The zero is off by X ${r.zero.offset[0].toFixed(3)}  Y ${r.zero.offset[1].toFixed(3)}  Z ${r.zero.offset[2].toFixed(3)} mm; the program is moved with it.\n`,
    );
  const [x, y, z] = r.start.at;
  if (code === EXIT.stopped) io.out(`${paint(io, ["bold", "red"], "stopped")}  ${countText(r.findings)}; nothing was written\n`);
  else
    io.out(
      `${paint(io, ["bold", "green"], "made and proved")}  ${out}: ${r.files.map((f) => f.path).join(", ")}; ${
        r.anew
          ? "the cut is made anew from its beginning"
          : `begins at line ${r.start.line} of the program, X ${x.toFixed(3)} Y ${y.toFixed(3)} Z ${z.toFixed(3)}, makes ${r.start.overlap.toFixed(1)} mm again`
      }, about ${Math.ceil(r.seconds / 60)} min\n`,
    );
  return code;
}
