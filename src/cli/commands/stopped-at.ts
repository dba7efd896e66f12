import { InputError } from "../../job/errors.ts";
import type { ListedPass, StoppedAt } from "../../job/resume-made.ts";
import { parseLength } from "../../units/index.ts";

export interface ResumeOptions {
  program: string;
  at?: string;
  out?: string;
  overlap?: string;
  cutter?: number;
  shop?: string;
  reach?: string;
  flute?: string;
  found?: string[];
  list?: true;
  without?: string[];
  piece?: string[];
  cell?: number;
  json?: true;
}

export const passesText = (passes: readonly ListedPass[]): string =>
  passes
    .map(
      (p) =>
        `${p.cut.padEnd(26)} pass ${String(p.pass).padStart(4)}  lines ${String(p.lines[0]).padStart(6)} to ${String(p.lines[1]).padStart(6)}  ${p.length.toFixed(0).padStart(6)} mm  Z ${p.z[0].toFixed(2)} to ${p.z[1].toFixed(2)}\n`,
    )
    .join("");

export const HOW = 'write "line 1234", "cut NAME pass N" or "position X,Y,Z"';

/** The place where the work stopped, as people write it. */
export function stoppedAt(text: string): StoppedAt {
  const line = /^\s*(?:line\s+)?(\d{1,8})\s*$/i.exec(text);
  if (line !== null) return { kind: "line", line: Number(line[1]) };
  const pass = /^\s*cut\s+([\w-]+)(?:\s*(?:,|and)?\s*pass\s+(\d{1,6}))?\s*$/i.exec(text);
  if (pass !== null) return { kind: "pass", cut: pass[1], pass: Number(pass[2] ?? 1) };
  const place = /^\s*(?:position\s+|place\s+)?X?\s*([-+]?[\d.]+)[\s,;]+Y?\s*([-+]?[\d.]+)[\s,;]+Z?\s*([-+]?[\d.]+)\s*$/i.exec(text);
  const at = place?.slice(1).map(Number);
  if (at === undefined || at.some((v) => !Number.isFinite(v))) throw new InputError(`--at ${text}`, "this is no place of a program", HOW);
  return { kind: "place", at: [at[0], at[1], at[2]] };
}

/** A length of an option, in mm or with its unit. */
export function mm(flag: string, text: string, min: number, max: number): number {
  const read = parseLength(/^[-+]?[\d.]+$/.test(text.trim()) ? Number(text) : text);
  if (!read.ok) throw new InputError(`${flag} ${text}`, read.says.replace(/\.$/, ""), read.tryThis);
  if (!(read.value >= min && read.value <= max))
    throw new InputError(`${flag} ${text}`, `it must lie from ${min} to ${max} mm`, "give it in mm, or with its unit");
  return read.value;
}
