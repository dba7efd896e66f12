import pkg from "../../package.json" with { type: "json" };
import type { Neck } from "../neck/types.ts";
import type { Proof } from "../proof/index.ts";
import type { SideProof } from "../proof/types.ts";
import { checkSheetPages, drawingsOf, pdf, type ReportInput, reportHtml, runSheetPages } from "../sheet/index.ts";
import type { Finding } from "../units/index.ts";
import { svgFiles } from "./draw.ts";
import { readFonts } from "./fonts.ts";
import type { PaperInput, Papers, Shown } from "./papers.ts";
import type { Verdict } from "./verdict.ts";
import type { OutFile } from "./write.ts";

/** The worst first, otherwise in the order of the flow. */
const RANK: Readonly<Record<Finding["severity"], number>> = { stop: 0, warn: 1, note: 2 };
const worstFirst = (findings: readonly Finding[]): Finding[] => [...findings].sort((a, b) => RANK[a.severity] - RANK[b.severity]);

export function reportInput(built: Shown, verdict: Pick<Verdict, "findings">): ReportInput {
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
    maps: built.maps,
    rows: built.rows,
    meaning: built.meaning,
    budget: built.budget,
    findings: worstFirst(verdict.findings),
    version: pkg.version,
  };
}

/** The sides as the sheets take them: what only both together show is listed with the side that is cut last. */
const sidesOf = (proof: Proof | null): readonly SideProof[] =>
  (proof?.sides ?? []).map((s) => (s.side === "carve" ? { ...s, measures: [...s.measures, ...(proof?.measures ?? [])] } : s));

export const reportBytes = (input: ReportInput): Uint8Array => new TextEncoder().encode(reportHtml(input));

/** One half of the paper, with what the check of the sheet's own pages found. */
export async function paperHalf({ verdict, half, paper, ...built }: PaperInput, neck: Neck): Promise<Papers> {
  const input = reportInput({ ...built, neck }, verdict);
  if (half === "shown") {
    const report: OutFile = { path: "report.html", bytes: reportBytes(input) };
    return { files: [...svgFiles(drawingsOf(input), "drawings/"), report], findings: [] };
  }
  const pages = runSheetPages(input, paper);
  const findings = checkSheetPages(pages, input);
  const title = `Run sheet: ${input.orderTitle}`;
  const subject = `Order ${input.orderName}, SHA-256 ${input.orderHash}`;
  const sheet = await pdf(pages, await readFonts(), { title, subject });
  return { files: [{ path: "sheets/run-sheet.pdf", bytes: sheet }], findings };
}
