import pkg from "../../package.json" with { type: "json" };
import type { Proof } from "../proof/index.ts";
import type { SideProof } from "../proof/types.ts";
import { checkSheetPages, drawingsOf, pdf, type ReportInput, reportHtml, runSheetPages } from "../sheet/index.ts";
import type { Finding } from "../units/index.ts";
import { svgFiles } from "./draw.ts";
import { readFonts } from "./fonts.ts";
import type { Built } from "./make.ts";
import type { Verdict } from "./verdict.ts";
import type { OutFile } from "./write.ts";

export type Paper = "A4" | "Letter";

/** The worst first, otherwise in the order of the flow. */
const RANK: Readonly<Record<Finding["severity"], number>> = { stop: 0, warn: 1, note: 2 };
const worstFirst = (findings: readonly Finding[]): Finding[] => [...findings].sort((a, b) => RANK[a.severity] - RANK[b.severity]);

export function reportInput(built: Built, verdict: Pick<Verdict, "findings">): ReportInput {
  return {
    orderName: built.order.name,
    orderTitle: built.order.title,
    orderHash: built.orderHash,
    neck: built.neck,
    holding: built.holding,
    plan: built.plan ?? { cuts: [], steps: [], findings: [] },
    shop: built.shop,
    programs: built.programs,
    steps: built.steps,
    proof: sidesOf(built.proof),
    findings: worstFirst(verdict.findings),
    version: pkg.version,
  };
}

/** The sides as the sheets take them: what only both together show is listed with the side that is cut last. */
const sidesOf = (proof: Proof | null): readonly SideProof[] =>
  (proof?.sides ?? []).map((s) => (s.side === "carve" ? { ...s, measures: [...s.measures, ...(proof?.measures ?? [])] } : s));

export const reportBytes = (input: ReportInput): Uint8Array => new TextEncoder().encode(reportHtml(input));

/**
 * Drawings, report and, unless the job is stopped, the run sheet, with what the check of the sheet's own pages found. A run sheet
 * that lacks something is as bad as a program that does: its stops keep the programs back too.
 */
export async function papers(
  built: Built,
  verdict: Verdict,
  paper: Paper,
): Promise<{ readonly files: readonly OutFile[]; readonly findings: readonly Finding[] }> {
  const input = reportInput(built, verdict);
  const drawings = svgFiles(drawingsOf(input), "drawings/");
  const report: OutFile = { path: "report.html", bytes: reportBytes(input) };
  if (verdict.blocking.length > 0) return { files: [...drawings, report], findings: [] };
  const pages = runSheetPages(input, paper);
  const findings = checkSheetPages(pages, input);
  const title = `Run sheet: ${input.orderTitle}`;
  const subject = `Order ${input.orderName}, SHA-256 ${input.orderHash}`;
  const sheet = await pdf(pages, await readFonts(), { title, subject });
  return { files: [...drawings, report, { path: "sheets/run-sheet.pdf", bytes: sheet }], findings };
}
