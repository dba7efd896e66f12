import type { Checked, Figure } from "../../job/check.ts";
import { checkSources } from "../../job/check.ts";
import { countText, findingsText } from "../findings.ts";
import { type Io, paint } from "../io.ts";
import { EXIT, type ExitCode } from "../outcome.ts";
import { source } from "../sources.ts";

const shown = (v: number): string => (Math.abs(v) >= 100 ? v.toFixed(0) : Math.abs(v) >= 1 ? v.toFixed(2) : v.toFixed(3));

/** A figure a line: value, unit, the band it may lie in, and the other neck's value when there is one. */
function figuresText(figures: readonly Figure[], beside: Checked["beside"], all: boolean): string {
  const list = all ? figures : figures.filter((f) => f.short);
  const wide = Math.max(...list.map((f) => f.what.length));
  const other = new Map(beside?.figures.map((f) => [f.id, f.value]));
  const lines = list.map((f) => {
    const theirs = other.get(f.id);
    const held = beside === null ? "" : theirs === undefined ? `  (${beside.name}: –)` : `  (${beside.name}: ${shown(theirs)})`;
    return `${f.what.padEnd(wide)} ${shown(f.value).padStart(8)} ${f.unit.padEnd(5)} ${shown(f.low)} to ${shown(f.high)}${held}`;
  });
  const more = all
    ? "Sources and assumptions of each figure: --json."
    : "All figures: --figures. Fret by fret: neckwright frets --strings.";
  return `${lines.join("\n")}\n${more}\n\n`;
}

interface Options {
  readonly shop?: string;
  readonly beside?: string;
  readonly json?: true;
  readonly figures?: true;
}

export async function check(io: Io, orderPath: string, o: Options): Promise<ExitCode> {
  const order = await source(io, orderPath, "order");
  const shop = o.shop === undefined ? null : await source(io, o.shop, "shop");
  const beside = o.beside === undefined ? null : await source(io, o.beside, "order");
  const result = checkSources(order, shop, beside);
  const code = result.readable ? (result.blocking.length > 0 ? EXIT.stopped : EXIT.sound) : EXIT.badInput;
  const figures = result.meaning?.figures ?? [];
  const all = o.figures === true || o.beside !== undefined;
  if (o.json) {
    const meant = all
      ? { figures, ...(result.beside ? { beside: result.beside } : {}), heads: result.meaning?.heads, woods: result.meaning?.woods }
      : {};
    io.out(
      `${JSON.stringify({ command: "check", exitCode: code, findings: result.findings, overridden: result.overridden, forces: result.forces, ...meant }, null, 2)}\n`,
    );
    return code;
  }
  io.out(findingsText(io, result.findings, new Set(result.overridden.map((x) => x.rule))));
  if (figures.length > 0) io.out(figuresText(figures, result.beside, all));
  if (all && result.meaning) io.out(woodsText(result.meaning.woods));
  if (result.forces !== null) io.out(`${paint(io, "dim", result.forces)}\n`);
  const names = o.shop === undefined ? orderPath : `${orderPath} in ${o.shop}`;
  if (code === EXIT.sound) io.out(`${paint(io, ["bold", "green"], "sound")}  ${names}: ${countText(result.findings)}\n`);
  else if (code === EXIT.stopped) io.out(`${paint(io, ["bold", "red"], "stopped")}  ${names}: ${countText(result.findings)}\n`);
  else io.out(`${paint(io, ["bold", "red"], "bad input")}  ${names}: ${countText(result.findings)}\n`);
  return code;
}

/** What each other wood would do to mass, balance and stiffness. */
function woodsText(woods: NonNullable<Checked["meaning"]>["woods"]): string {
  if (woods.length === 0) return "";
  const wide = Math.max(...woods.map((w) => w.wood.length));
  const lines = woods.map(
    (w) =>
      `${w.part.padEnd(5)} ${w.wood.padEnd(wide)} ${w.grams.toFixed(0).padStart(5)} g  balance ${w.balance.toFixed(0).padStart(4)} mm  stiffness ${(100 * w.stiffness).toFixed(0).padStart(3)} %${w.ordered ? "  as ordered" : ""}`,
  );
  return `What another wood would do:\n${lines.join("\n")}\n\n`;
}
