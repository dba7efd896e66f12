import { join } from "node:path";
import { drawOrder } from "../../job/draw.ts";
import { writeFiles } from "../../job/write.ts";
import { findingsText } from "../findings.ts";
import type { Io } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { source } from "../sources.ts";

export async function draw(io: Io, orderPath: string, o: { out: string; shop?: string; json?: true }): Promise<ExitCode> {
  const order = await source(io, orderPath, "order");
  const drawn = drawOrder(order, o.shop === undefined ? null : await source(io, o.shop, "shop"));
  const code = drawn.files === null ? EXIT.badInput : EXIT.sound;
  if (drawn.files !== null) await writeFiles(o.out, drawn.files, { disk: io.disk, signal: io.signal });
  const files = (drawn.files ?? []).map((f) => join(o.out, f.path));
  if (o.json) {
    io.out(`${JSON.stringify({ command: "draw", exitCode: code, files, findings: drawn.findings }, null, 2)}\n`);
    return code;
  }
  io.err(findingsText(io, drawn.findings));
  for (const file of files) io.out(`${file}\n`);
  return code;
}
