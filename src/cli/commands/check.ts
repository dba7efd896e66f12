import type { Figure } from "../../job/check.ts";
import { checkSources } from "../../job/check.ts";
import { countText, findingsText } from "../findings.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { source } from "../sources.ts";

/** A figure a line: value, unit, the band it may lie in. */
function figuresText(figures: readonly Figure[]): string {
  const shown = (v: number): string => (Math.abs(v) >= 100 ? v.toFixed(0) : Math.abs(v) >= 1 ? v.toFixed(2) : v.toFixed(3));
  const wide = Math.max(...figures.map((f) => f.what.length));
  const lines = figures.map(
    (f) => `${f.what.padEnd(wide)} ${shown(f.value).padStart(8)} ${f.unit.padEnd(5)} ${shown(f.low)} to ${shown(f.high)}`,
  );
  return `${lines.join("\n")}\nSources and assumptions of each figure: --json.\n\n`;
}

export async function check(io: Io, orderPath: string, o: { shop?: string; json?: true; figures?: true }): Promise<ExitCode> {
  const order = await source(io, orderPath, "order");
  const shop = o.shop === undefined ? null : await source(io, o.shop, "shop");
  const result = checkSources(order, shop, o.figures === true);
  const code = result.readable ? (result.blocking.length > 0 ? EXIT.stopped : EXIT.sound) : EXIT.badInput;
  if (o.json) {
    io.out(
      `${JSON.stringify({ command: "check", exitCode: code, findings: result.findings, overridden: result.overridden, ...(o.figures ? { figures: result.figures } : {}) }, null, 2)}\n`,
    );
    return code;
  }
  io.out(findingsText(io, result.findings, new Set(result.overridden.map((x) => x.rule))));
  if (result.figures.length > 0) io.out(figuresText(result.figures));
  const names = o.shop === undefined ? orderPath : `${orderPath} in ${o.shop}`;
  if (code === EXIT.sound) io.out(`${paint(io, ["bold", "green"], "sound")}  ${names}: ${countText(result.findings)}\n`);
  else if (code === EXIT.stopped) io.out(`${paint(io, ["bold", "red"], "stopped")}  ${names}: ${countText(result.findings)}\n`);
  else io.out(`${paint(io, ["bold", "red"], "bad input")}  ${names}: ${countText(result.findings)}\n`);
  return code;
}
