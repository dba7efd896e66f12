import { cutRows } from "../sheet/cut-rows.ts";
import type { ReportInput } from "../sheet/index.ts";
import { sideMaps } from "../sheet/map-image.ts";
import { meaningOf } from "../sheet/meaning-rows.ts";
import type { Finding } from "../units/index.ts";
import type { Built } from "./make.ts";
import type { Verdict } from "./verdict.ts";
import type { OutFile } from "./write.ts";

export type Paper = "A4" | "Letter";

/** What was built, with what both halves of the paper show of it. */
export type Shown = Built & Pick<ReportInput, "maps" | "rows" | "meaning">;

export const shownOf = (built: Built): Shown => ({
  ...built,
  maps: (built.proof?.sides ?? []).map(sideMaps),
  rows: built.plan === null ? [] : cutRows({ ...built, plan: built.plan }),
  meaning: meaningOf(built),
});

/** What one half of the paper is made from: plain data, so that another thread can make it; the neck, which has functions, comes from the order. */
export interface PaperInput extends Omit<Shown, "neck"> {
  readonly verdict: Pick<Verdict, "findings">;
  /** "shown": drawings and report; "run": the run sheet. */
  readonly half: "shown" | "run";
  readonly paper: Paper;
}

export interface Papers {
  readonly files: readonly OutFile[];
  readonly findings: readonly Finding[];
}

/**
 * Drawings, report and, unless the job is stopped, the run sheet, the two halves at the same time. A run sheet that lacks something is as
 * bad as a program that does: its stops keep the programs back too. What writes them is loaded where they are written.
 */
export async function papers(
  built: Built,
  verdict: Verdict,
  paper: Paper,
  run: (input: PaperInput) => Promise<Papers> = async (input) => (await import("./paper-half.ts")).paperHalf(input, built.neck),
): Promise<Papers> {
  const { neck: _, ...rest } = shownOf(built);
  const halves = verdict.blocking.length > 0 ? (["shown"] as const) : (["shown", "run"] as const);
  const made = await Promise.all(halves.map((half) => run({ ...rest, verdict: { findings: verdict.findings }, half, paper })));
  return { files: made.flatMap((m) => m.files), findings: made.flatMap((m) => m.findings) };
}
