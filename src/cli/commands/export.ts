import { join } from "node:path";
import { EXPORT_KINDS, type ExportKind, exportOrder } from "../../job/export.ts";
import { writeFiles } from "../../job/write.ts";
import { countText, findingsText } from "../findings.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { source } from "../sources.ts";

export interface ExportOptions {
  as?: readonly ExportKind[];
  out: string;
  paper: "A4" | "Letter";
  shop?: string;
  json?: true;
}

export async function exportFiles(io: Io, orderPath: string, o: ExportOptions): Promise<ExitCode> {
  const order = await source(io, orderPath, "order");
  const shop = o.shop === undefined ? null : await source(io, o.shop, "shop");
  const made = await exportOrder(order, shop, o.as ?? EXPORT_KINDS, o.paper);
  if (made.files !== null) await writeFiles(o.out, made.files, { disk: io.disk, signal: io.signal });
  const files = (made.files ?? []).map((f) => join(o.out, f.path));
  // what was asked for by name and cannot be had is no success; what "all that apply" leaves out is
  const missing = made.left.filter((l) => o.as !== undefined || l.stopped);
  const code = made.files === null ? EXIT.badInput : made.blocking.length > 0 || missing.length > 0 ? EXIT.stopped : EXIT.sound;
  if (o.json) {
    io.out(
      `${JSON.stringify({ command: "export", exitCode: code, files, left: made.left, findings: made.findings, overridden: made.overridden }, null, 2)}\n`,
    );
    return code;
  }
  io.err(findingsText(io, made.findings, new Set(made.overridden.map((x) => x.rule))));
  for (const file of files) io.out(`${file}\n`);
  for (const { kind, why } of made.left) io.err(`${paint(io, "bold", `no ${kind}`)}  ${why}\n`);
  if (made.files === null) io.err(`${paint(io, ["bold", "red"], "bad input")}  ${countText(made.findings)}; nothing was written\n`);
  else if (made.blocking.length > 0)
    io.err(`${paint(io, ["bold", "red"], "stopped")}  ${countText(made.findings)}; the files were written and say so: not for cutting\n`);
  return code;
}
