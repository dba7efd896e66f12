import type { ProofFile } from "../job/files.ts";
import { type Io, paint } from "./io.ts";

const um = (v: number): string => v.toFixed(3);

/** The proof's figures in a few lines: programs, regions, and the worst of each kind of measure. */
export function proofText(io: Io, proof: ProofFile): string {
  const lines: string[] = [];
  const row = (cells: readonly string[], widths: readonly number[]): string =>
    cells.map((c, k) => (k === 0 ? c.padEnd(widths[k]) : c.padStart(widths[k]))).join("  ");
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
    const worst = new Map<string, (typeof side.measures)[number]>();
    const share = (m: (typeof side.measures)[number]): number => Math.abs(m.measured - m.ordered) / m.tolerance;
    for (const m of side.measures) {
      const was = worst.get(m.what);
      if (was === undefined || share(m) > share(was)) worst.set(m.what, m);
    }
    if (worst.size > 0) {
      const what = Math.max(8, ...[...worst.values()].map((m) => m.what.length));
      const id = Math.max(8, ...[...worst.values()].map((m) => m.id.length));
      lines.push(paint(io, "dim", row(["measure, the worst of each", "", "ordered", "found", "tolerance", ""], [what, id, 10, 10, 9, 3])));
      for (const m of worst.values()) {
        lines.push(
          row([m.what, m.id, m.ordered.toFixed(3), m.measured.toFixed(3), m.tolerance.toFixed(3), m.unit], [what, id, 10, 10, 9, 3]),
        );
      }
    }
  }
  return `${lines.join("\n")}\n\n`;
}
