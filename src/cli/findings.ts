import type { Finding } from "../units/index.ts";
import { type Io, paint, type Style } from "./io.ts";

const STYLE: Readonly<Record<Finding["severity"], Style>> = { stop: "red", warn: "yellow", note: "cyan" };
const RANK: Readonly<Record<Finding["severity"], number>> = { stop: 0, warn: 1, note: 2 };

const figure = (v: number | string, unit: string): string => {
  const text = typeof v === "number" ? String(Math.round(v * 1e4) / 1e4) : v;
  return unit === "" ? text : `${text} ${unit}`;
};

/** A finding in full: what is wrong and where, the value beside its limit, what to try. */
export function findingText(io: Io, f: Finding, overridden: boolean): string {
  const severity = overridden ? "overridden" : f.severity;
  const head = `${paint(io, ["bold", STYLE[f.severity]], severity)}  ${paint(io, "bold", f.rule)}  ${f.where}`;
  const lines = [head, `      ${f.says}`];
  const numbers = [
    ...(f.value === null ? [] : [`value ${figure(f.value, f.unit)}`]),
    ...(f.limit === null ? [] : [`limit ${figure(f.limit, f.unit)}`]),
  ];
  if (f.at !== undefined) {
    const { side, x, y, z } = f.at;
    const place = `x ${x.toFixed(2)}, y ${y.toFixed(2)}${z === undefined ? "" : `, z ${z.toFixed(2)}`}`;
    numbers.push(side === undefined ? `at ${place} of the neck` : `at ${place} of the ${side} side's program`);
  }
  if (numbers.length > 0) lines.push(`      ${paint(io, "dim", numbers.join("; "))}`);
  if (f.tryThis !== "") lines.push(`      Try: ${f.tryThis}`);
  return `${lines.join("\n")}\n`;
}

/** All findings, the gravest first, otherwise in the order of the flow. */
export function findingsText(io: Io, findings: readonly Finding[], overridden: ReadonlySet<string> = new Set()): string {
  const sorted = findings
    .map((f, k) => ({ f, k, rank: RANK[f.severity] + (f.severity === "stop" && overridden.has(f.rule) ? 0.5 : 0) }))
    .sort((a, b) => a.rank - b.rank || a.k - b.k);
  return sorted.map(({ f }) => findingText(io, f, f.severity === "stop" && overridden.has(f.rule))).join("");
}

const plural = (n: number, word: string): string => `${n} ${word}${n === 1 ? "" : "s"}`;

/** "1 stop, 2 warnings, 1 note", or "no findings". */
export function countText(findings: readonly Finding[]): string {
  const of = (s: Finding["severity"]): number => findings.filter((f) => f.severity === s).length;
  const parts = [
    ...(of("stop") > 0 ? [plural(of("stop"), "stop")] : []),
    ...(of("warn") > 0 ? [plural(of("warn"), "warning")] : []),
    ...(of("note") > 0 ? [plural(of("note"), "note")] : []),
  ];
  return parts.length > 0 ? parts.join(", ") : "no findings";
}
