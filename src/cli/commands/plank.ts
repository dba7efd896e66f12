import { InputError } from "../../job/errors.ts";
import { type Box, makePlank } from "../../job/plank.ts";
import { refuseMade, writeFiles } from "../../job/write.ts";
import { parseLength } from "../../units/index.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { source } from "../sources.ts";

export interface PlankCliOptions {
  plank: string;
  kerf: string;
  over: string;
  keepOut?: string[];
  out?: string;
  json?: true;
}

function mm(flag: string, given: string, text: string): number {
  const read = parseLength(/^[-+]?[\d.]+$/.test(text.trim()) ? Number(text) : text);
  if (!read.ok) throw new InputError(`${flag} ${given}`, read.says.replace(/\.$/, ""), read.tryThis);
  return read.value;
}

/** Corners of a region, of which the box round them counts. */
function region(text: string): Box {
  const corners = text
    .trim()
    .split(/\s+/)
    .map((c) => c.split(",").map((v) => mm("--keep-out", text, v)));
  if (corners.length < 2 || corners.some((c) => c.length !== 2))
    throw new InputError(
      `--keep-out ${text}`,
      "these are not two corners or more",
      'write them as X,Y from the first end and the lower edge, like "300,100 340,150"',
    );
  const [xs, ys] = [corners.map((c) => c[0]), corners.map((c) => c[1])];
  return { xMin: Math.min(...xs), yMin: Math.min(...ys), xMax: Math.max(...xs), yMax: Math.max(...ys) };
}

export async function plank(io: Io, orders: readonly string[], o: PlankCliOptions): Promise<ExitCode> {
  const size = o.plank.split(/\s*[x×]\s*/).map((s) => mm("--plank", o.plank, s));
  if (size.length !== 3 || size.some((v) => !(v > 0 && v <= 10000)))
    throw new InputError(`--plank ${o.plank}`, "this is not length x width x thickness", 'write it like "2400 x 200 x 45"');
  const kerf = mm("--kerf", o.kerf, o.kerf);
  const over = mm("--over", o.over, o.over);
  if (!(kerf >= 0 && kerf <= 20)) throw new InputError(`--kerf ${o.kerf}`, "a saw takes 0 to 20 mm", "measure a cut of it");
  if (!(over >= 0 && over <= 50)) throw new InputError(`--over ${o.over}`, "0 to 50 mm are left for jointing", "leave a few millimetres");
  if (o.out !== undefined) await refuseMade(o.out, io.disk);
  const sources = [];
  for (const path of orders) sources.push(await source(io, path, "order"));
  const made = makePlank(sources, {
    length: size[0],
    width: size[1],
    thickness: size[2],
    kerf,
    over,
    keepOut: (o.keepOut ?? []).map(region),
  });
  const { plan, ask } = made;
  const code = plan.at === null ? EXIT.stopped : EXIT.sound;
  if (o.out !== undefined && made.files.length > 0) await writeFiles(o.out, made.files, { disk: io.disk, signal: io.signal });
  if (o.json) {
    io.out(
      `${JSON.stringify({ command: "plank", exitCode: code, ...plan, waste: Number.isFinite(made.waste) ? made.waste : null, blanks: ask.blanks, files: o.out === undefined ? [] : made.files.map((f) => f.path) }, null, 2)}\n`,
    );
    return code;
  }
  if (plan.at === null) {
    io.out(
      `${paint(io, ["bold", "red"], "stopped")}  ${plan.proved ? "There is no way to get all of these blanks out of this plank: proved." : "No way was found to get all of these blanks out of this plank; the search was cut short."} Leave one out, or take a longer plank.\n`,
    );
    return code;
  }
  plan.at.forEach(([x, y], k) => {
    const b = ask.blanks[k];
    io.out(`${String(k + 1).padStart(2)}  ${b.name.padEnd(28)} ${b.length} x ${b.width}  corner at ${x.toFixed(1)}, ${y.toFixed(1)}\n`);
  });
  io.out(
    `${plan.used.toFixed(1)} of ${ask.length} mm are used${plan.proved ? ": no arrangement uses less" : `; the search was cut short, none uses less than ${plan.bound.toFixed(1)}`}. ${(100 * made.waste).toFixed(0)} % of the used length is waste. ${plan.throughCuts ? "Straight cuts part all blanks." : "Not all cuts go straight through: use a bandsaw."}\n`,
  );
  if (o.out !== undefined) io.out(`${paint(io, ["bold", "green"], "written")}  ${o.out}: ${made.files.map((f) => f.path).join(", ")}\n`);
  return code;
}
