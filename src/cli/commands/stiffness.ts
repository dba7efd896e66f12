import { InputError } from "../../job/errors.ts";
import { readShop } from "../../job/source.ts";
import { type Axis, readPushes, STIFFNESS_STEPS, storeStiffness } from "../../job/stiffness.ts";
import { findingsText } from "../findings.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { source, storing } from "../sources.ts";

export interface StiffnessOptions {
  axis?: Axis;
  force?: string[];
  moved?: string[];
  date?: string;
  note?: string;
  json?: true;
}

export async function stiffness(io: Io, shopPath: string, o: StiffnessOptions): Promise<ExitCode> {
  const shop = await source(io, shopPath, "shop");
  const { value, findings } = readShop(shop);
  if (value === null) {
    if (o.json) io.out(`${JSON.stringify({ command: "stiffness", exitCode: EXIT.badInput, findings }, null, 2)}\n`);
    else io.out(findingsText(io, findings));
    return EXIT.badInput;
  }
  const readings = (o.force?.length ?? 0) + (o.moved?.length ?? 0);
  if (o.axis === undefined) {
    if (readings > 0) throw new InputError("--axis", "readings need the axis they were taken on", "add --axis x, y or z");
    return explain(io, value, o.json === true);
  }
  if (readings === 0)
    throw new InputError(`--axis ${o.axis}`, "there are no readings", 'add --force "20 N" --moved "0.08 mm", once for each reading');
  const date = o.date ?? new Date().toISOString().slice(0, 10);
  if (!/^\d{4}-\d{2}-\d{2}$/.test(date)) throw new InputError(`--date ${date}`, "this is not a day", "write it like 2026-03-31");
  const { axis } = o;
  const pushes = readPushes(o.force ?? [], o.moved ?? []);
  const stored = await storing(io, shop, "shop", (paper, to) =>
    storeStiffness(paper, axis, pushes, { date, ...(o.note === undefined ? {} : { note: o.note }) }, to),
  );
  if (o.json) {
    io.out(`${JSON.stringify({ command: "stiffness", exitCode: EXIT.sound, shop: shopPath, ...stored }, null, 2)}\n`);
    return EXIT.sound;
  }
  io.out(`${paint(io, ["bold", "green"], "stored")}  ${shopPath}: ${stored.axis} ${stored.is} N/mm (was ${stored.was})\n`);
  if (pushes.length > 1)
    io.out(`      ${stored.slack.toFixed(3)} mm of slack taken out; readings within ${stored.off.toFixed(3)} mm of their line.\n`);
  if (stored.doubt !== null) io.out(`${paint(io, ["bold", "yellow"], "warn")}  ${stored.doubt}\n`);
  return EXIT.sound;
}

function explain(io: Io, shop: NonNullable<ReturnType<typeof readShop>["value"]>, json: boolean): ExitCode {
  const { stiffness: k, measured, name } = shop.machine;
  const axes = (["x", "y", "z"] as const).map((axis) => ({ axis, stiffness: k[axis], measured: measured?.[axis] ?? null }));
  if (json) {
    io.out(`${JSON.stringify({ command: "stiffness", exitCode: EXIT.sound, machine: name, axes, steps: STIFFNESS_STEPS }, null, 2)}\n`);
    return EXIT.sound;
  }
  io.out(`${paint(io, "bold", `Stiffness of ${name}`)}\n`);
  for (const a of axes)
    io.out(
      `  ${a.axis}  ${a.stiffness} N/mm  ${a.measured ? `measured ${a.measured.date}: ${a.measured.note}` : "as the shop file says, not measured"}\n`,
    );
  io.out("\nHow to measure it, with a spring scale and a dial indicator:\n");
  STIFFNESS_STEPS.forEach((s, n) => {
    io.out(`  ${n + 1}. ${s}\n`);
  });
  io.out('\nThen: neckwright stiffness SHOP --axis x --force "20 N" --moved "0.08 mm" --force "40 N" --moved "0.15 mm"\n');
  return EXIT.sound;
}
