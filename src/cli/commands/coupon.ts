import { makeCoupon, storeAllowance } from "../../job/coupon.ts";
import { InputError } from "../../job/errors.ts";
import { writeFiles } from "../../job/write.ts";
import { isStop, parseLength } from "../../units/index.ts";
import { countText, findingsText } from "../findings.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { source, storing } from "../sources.ts";

export interface CouponCliOptions {
  cutter: number;
  recess: string;
  depth: string;
  from: string;
  to: string;
  wood: string;
  scrap?: string;
  paper: "A4" | "Letter";
  out?: string;
  chose?: number;
  date?: string;
  json?: true;
}

function lengthOf(name: string, text: string): number {
  const read = parseLength(/^[-+]?[\d.]+$/.test(text.trim()) ? Number(text) : text);
  if (!read.ok) throw new InputError(`--${name} ${text}`, read.says.replace(/\.$/, ""), read.tryThis);
  return read.value;
}

function scrapOf(text: string): readonly [number, number, number] {
  const parts = text.split(/\s*x\s*/);
  if (parts.length !== 3)
    throw new InputError(`--scrap ${text}`, "this is not a size", 'write length x width x thickness, like "140 x 40 x 12"');
  const [l, w, t] = parts.map((p) => lengthOf("scrap", p));
  return [l!, w!, t!];
}

export async function coupon(io: Io, shopPath: string, o: CouponCliOptions): Promise<ExitCode> {
  const shop = await source(io, shopPath, "shop");
  const options = {
    cutter: o.cutter,
    recess: lengthOf("recess", o.recess),
    depth: lengthOf("depth", o.depth),
    from: lengthOf("from", o.from),
    to: lengthOf("to", o.to),
    wood: o.wood,
    paper: o.paper,
    ...(o.scrap === undefined ? {} : { scrap: scrapOf(o.scrap) }),
  };
  if (!(options.recess >= 1 && options.recess <= 60))
    throw new InputError(`--recess ${o.recess}`, "a recess is 1 to 60 mm wide", "give its diameter");
  if (!(options.depth >= 0.2 && options.depth <= 20))
    throw new InputError(`--depth ${o.depth}`, "a recess is 0.2 to 20 mm deep", "give its depth");
  if (!(options.from >= -0.5 && options.to <= 0.5 && options.from < options.to))
    throw new InputError(
      `--from ${o.from} --to ${o.to}`,
      "allowances lie between -0.5 and 0.5 mm, the first below the last",
      'like --from "-0.1 mm" --to "0.2 mm"',
    );
  if (o.chose !== undefined) {
    const { chose } = o;
    const date = o.date ?? new Date().toISOString().slice(0, 10);
    if (!/^\d{4}-\d{2}-\d{2}$/.test(date)) throw new InputError(`--date ${date}`, "this is not a day", "write it like 2026-03-31");
    const { allowance, was } = await storing(io, shop, "shop", (paper, to) => storeAllowance(paper, options, chose, date, to));
    if (o.json) io.out(`${JSON.stringify({ command: "coupon", exitCode: EXIT.sound, cutter: o.cutter, allowance, was }, null, 2)}\n`);
    else
      io.out(
        `${paint(io, ["bold", "green"], "stored")}  ${shopPath}: recesses of cutter ${o.cutter} ${allowance >= 0 ? "+" : ""}${allowance.toFixed(2)} mm (was ${was.toFixed(2)})\n`,
      );
    return EXIT.sound;
  }
  if (o.out === undefined)
    throw new InputError("--out", "a coupon needs a folder to be written into", "add --out DIR, or --chose K to store the one that fitted");
  const again = `neckwright coupon ${shopPath.replace(/^.*[/\\]/, "")} --cutter ${o.cutter} --recess "${o.recess}" --from "${o.from}" --to "${o.to}" --chose K`;
  const made = await makeCoupon(shop, options, again);
  const stopped = made.files.length === 0;
  if (!stopped) await writeFiles(o.out, made.files, { disk: io.disk, signal: io.signal });
  const code = stopped || made.findings.some(isStop) ? EXIT.stopped : EXIT.sound;
  if (o.json) {
    io.out(
      `${JSON.stringify({ command: "coupon", exitCode: code, out: stopped ? null : o.out, scrap: made.coupon.scrap, positions: made.coupon.recesses, measures: made.proof?.measures ?? [], findings: made.findings }, null, 2)}\n`,
    );
    return code;
  }
  io.out(findingsText(io, made.findings));
  if (stopped) {
    io.out(`${paint(io, ["bold", "red"], "stopped")}  ${countText(made.findings)}; nothing was written\n`);
    return code;
  }
  const [l, w, t] = made.coupon.scrap;
  io.out("position  allowance  diameter\n");
  for (const r of made.coupon.recesses)
    io.out(`${String(r.position).padStart(8)}  ${r.allowance.toFixed(2).padStart(9)}  ${r.diameter.toFixed(2).padStart(8)}\n`);
  io.out(
    `${paint(io, ["bold", "green"], "made and proved")}  ${o.out}: ${made.files.map((f) => f.path).join(", ")}; scrap ${l} x ${w} x ${t} mm, about ${Math.ceil(made.seconds / 60)} min; ${countText(made.findings)}\n`,
  );
  io.out(`Then: ${again}\n`);
  return code;
}
