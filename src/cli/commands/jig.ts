import { InputError } from "../../job/errors.ts";
import { makeJig } from "../../job/jig.ts";
import { writeFiles } from "../../job/write.ts";
import { isStop, parseLength } from "../../units/index.ts";
import { countText, findingsText } from "../findings.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { source } from "../sources.ts";

export interface JigCliOptions {
  shop: string;
  out: string;
  fit: string;
  pin: string;
  sheet: string;
  cutter?: number;
  paper: "A4" | "Letter";
  json?: true;
}

/** A thickness alone, or length x width x thickness. */
function sheetOf(text: string): { length?: number; width?: number; thickness: number } {
  const numbers = text.split(/\s*x\s*/).map((part) => {
    const read = parseLength(/^[-+]?[\d.]+$/.test(part.trim()) ? Number(part) : part);
    if (!read.ok) throw new InputError(`--sheet ${text}`, read.says.replace(/\.$/, ""), read.tryThis);
    return read.value;
  });
  if (numbers.some((n) => !(n > 0 && n < 5000)) || (numbers.length !== 1 && numbers.length !== 3))
    throw new InputError(
      `--sheet ${text}`,
      "this is no sheet",
      'write its thickness, like "18 mm", or length x width x thickness, like "900 x 200 x 18"',
    );
  const [a, b, c] = numbers;
  return c === undefined ? { thickness: a! } : { length: a!, width: b!, thickness: c };
}

export async function jig(io: Io, orderPath: string, o: JigCliOptions): Promise<ExitCode> {
  const options = {
    hole: o.fit,
    pin: o.pin,
    sheet: sheetOf(o.sheet),
    paper: o.paper,
    ...(o.cutter === undefined ? {} : { cutter: o.cutter }),
  };
  const made = await makeJig(await source(io, orderPath, "order"), await source(io, o.shop, "shop"), options);
  const stopped = made.files.length === 0;
  if (!stopped) await writeFiles(o.out, made.files, { disk: io.disk, signal: io.signal });
  const code = stopped || made.findings.some(isStop) ? EXIT.stopped : EXIT.sound;
  if (o.json) {
    io.out(
      `${JSON.stringify({ command: "jig", exitCode: code, out: stopped ? null : o.out, plate: made.jig?.plate ?? null, holes: made.jig?.holes ?? [], measures: made.proofs.flatMap((p) => p.measures), findings: made.findings }, null, 2)}\n`,
    );
    return code;
  }
  io.out(findingsText(io, made.findings));
  if (stopped || made.jig === null) {
    io.out(`${paint(io, ["bold", "red"], "stopped")}  ${countText(made.findings)}; nothing was written\n`);
    return code;
  }
  const [x, y, z] = made.jig.plate;
  for (const h of made.jig.holes) io.out(`${h.id}  X ${h.x.toFixed(2)}  Y ${h.y.toFixed(2)}  ${h.diameter.toFixed(4)} mm  ${h.says}\n`);
  io.out(
    `${paint(io, ["bold", "green"], "made and proved")}  ${o.out}: ${made.files.map((f) => f.path).join(", ")}; sheet ${x} x ${y} x ${z} mm, about ${Math.ceil(made.seconds / 60)} min; ${countText(made.findings)}\n`,
  );
  return code;
}
