import type { ProofFile } from "../job/files.ts";
import { type Io, paint } from "./io.ts";

/** Three decimals; never "-0.000". */
const um = (v: number): string => v.toFixed(3).replace(/^-(0\.0+)$/, "$1");

type Measure = ProofFile["both"]["measures"][number];

const row = (cells: readonly string[], widths: readonly number[]): string =>
  cells.map((c, k) => (k === 0 ? c.padEnd(widths[k]) : c.padStart(widths[k]))).join("  ");

/** Of every kind of measure the one that uses most of its tolerance. */
function worstText(io: Io, measures: readonly Measure[]): string[] {
  const worst = new Map<string, Measure>();
  const share = (m: Measure): number => Math.abs(m.measured - m.ordered) / m.tolerance;
  for (const m of measures) {
    const was = worst.get(m.what);
    if (was === undefined || share(m) > share(was)) worst.set(m.what, m);
  }
  if (worst.size === 0) return [];
  const list = [...worst.values()];
  const widths = [Math.max(26, ...list.map((m) => m.what.length)), Math.max(...list.map((m) => m.id.length)), 10, 10, 9];
  const head = paint(io, "dim", row(["measure, the worst of each", "", "ordered", "found", "tolerance"], widths));
  return [head, ...list.map((m) => `${row([m.what, m.id, um(m.ordered), um(m.measured), um(m.tolerance)], widths)}  ${m.unit}`)];
}

/** The proof's figures in a few lines: programs, regions, and the worst of each kind of measure. */
export function proofText(io: Io, proof: ProofFile): string {
  const lines: string[] = [];
  for (const side of proof.sides) {
    lines.push("", paint(io, "bold", `${side.side} side`));
    const file = Math.max(8, ...side.programs.map((p) => p.file.length));
    lines.push(paint(io, "dim", row(["program", "moves", "feed m", "min"], [file, 8, 8, 7])));
    for (const p of side.programs) {
      lines.push(row([p.file, String(p.moves), (p.feedLength / 1000).toFixed(1), (p.seconds / 60).toFixed(1)], [file, 8, 8, 7]));
    }
    const region = Math.max(8, ...side.regions.map((r) => r.region.length));
    lines.push(paint(io, "dim", row(["surface", "below mm", "limit", "above mm", "limit"], [region, 9, 7, 9, 7])));
    for (const r of side.regions) {
      lines.push(row([r.region, um(r.worstBelow), um(r.limitBelow), um(r.worstAbove), um(r.limitAbove)], [region, 9, 7, 9, 7]));
    }
    lines.push(...worstText(io, side.measures));
  }
  if (proof.both.measures.length > 0) lines.push("", paint(io, "bold", "both sides"), ...worstText(io, proof.both.measures));
  return `${lines.join("\n")}\n\n`;
}
