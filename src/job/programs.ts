import type { SideName } from "../holding/types.ts";
import type { Cut, CutPlan } from "../paths/types.ts";

/** Consecutive cuts of one side with one cutter, with no hand step between them. */
export interface ProgramGroup {
  /** "programs/01-board-scribe.ngc" */
  readonly file: string;
  readonly side: SideName;
  readonly cutter: number;
  /** Of a neck that is cut in sections. */
  readonly section?: number;
  readonly cuts: readonly Cut[];
}

export type GroupedStep =
  | { readonly program: string }
  | { readonly hand: string; readonly side: SideName; readonly fills: readonly string[] };

/** Splits the order of work into programs, numbered through and named by side and first cut. */
export function groupCuts(plan: Pick<CutPlan, "cuts" | "steps">): {
  readonly groups: readonly ProgramGroup[];
  readonly steps: readonly GroupedStep[];
} {
  const byId = new Map(plan.cuts.map((c) => [c.id, c]));
  const groups: (Omit<ProgramGroup, "cuts"> & { cuts: Cut[] })[] = [];
  const steps: GroupedStep[] = [];
  let open: (typeof groups)[number] | null = null;
  for (const step of plan.steps) {
    if (step.kind === "hand") {
      steps.push({ hand: step.hand, side: step.side, fills: step.fills });
      open = null;
      continue;
    }
    const cut = byId.get(step.cut);
    if (cut === undefined) throw new Error(`the order of work names a cut that does not exist: ${step.cut}`);
    if (open !== null && open.side === cut.side && open.cutter === cut.cutter && open.section === cut.section) {
      open.cuts.push(cut);
      continue;
    }
    const number = String(groups.length + 1).padStart(2, "0");
    open = {
      file: `programs/${number}-${fileSafe(cut.side)}-${fileSafe(withoutSide(cut.id, cut.side))}.ngc`,
      side: cut.side,
      cutter: cut.cutter,
      ...(cut.section === undefined ? {} : { section: cut.section }),
      cuts: [cut],
    };
    groups.push(open);
    steps.push({ program: open.file });
  }
  return { groups, steps };
}

const LINE_END = 10;
const OPEN_BRACKET = 40;

/** Blocks of a program's text: lines that are neither empty nor a comment alone (comments share no line with words here). */
export function countBlocks(text: Uint8Array): number {
  let blocks = 0;
  for (let k = 0; k < text.length; ) {
    if (text[k] !== LINE_END && text[k] !== OPEN_BRACKET) blocks++;
    const end = text.indexOf(LINE_END, k);
    k = end < 0 ? text.length : end + 1;
  }
  return blocks;
}

const fileSafe = (s: string): string =>
  s
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, "-")
    .replace(/^-+|-+$/g, "");

/** Ids begin with the side, which the file's name says already. */
const withoutSide = (id: string, side: SideName): string => (id.startsWith(`${side}-`) ? id.slice(side.length + 1) : id);
