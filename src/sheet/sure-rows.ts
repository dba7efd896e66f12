import type { OutcomeBudget } from "../holding/budget/types.ts";
import { correctionText } from "../spec/correction-text.ts";
import { inForce, type OrderCorrection, type ShopCorrection } from "../spec/corrections.ts";
import type { ReportInput } from "./input.ts";

/** What was measured and put right: of the machine, of one of the cutters used, of this piece. */
export interface CorrectionRow {
  readonly of: "machine" | "piece";
  readonly date: string;
  readonly says: string;
  readonly reason: string;
}

/** All corrections that this job was posted with, the machine's first, oldest first. */
export function correctionRows({ neck, shop }: Pick<ReportInput, "neck" | "shop">): readonly CorrectionRow[] {
  const row = (of: CorrectionRow["of"], e: OrderCorrection | ShopCorrection): CorrectionRow => ({
    of,
    date: e.date,
    says: correctionText(e),
    reason: e.reason,
  });
  return [...inForce(shop.corrections).map((e) => row("machine", e)), ...inForce(neck.order.corrections).map((e) => row("piece", e))];
}

export const SURE_HEADS: readonly string[] = ["what", "99 of 100 within", "worst case", "limit", "beyond it", "what contributes most"];

/** One row of the budget as text. */
export function sureCells(b: OutcomeBudget): string[] {
  const f = (v: number): string => `${v.toFixed(b.unit === "mm" ? 2 : 1)} ${b.unit === "cent" ? "cents" : b.unit}`;
  const most = b.shares
    .slice(0, 2)
    .map((s) => `${s.says.toLowerCase()} (${Math.round(100 * s.share)} %)`)
    .join(", ");
  return [b.says, f(b.drawn.within99), f(b.worst), f(b.limit), `${(100 * b.drawn.beyond).toFixed(1)} %`, most];
}

export const SURE_SAYS =
  "By seeded trials and the sum of variances. Half-widths are common practice unless the shop says otherwise; of axes that were measured, what the reading leaves.";
