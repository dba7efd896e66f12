import type { SideProof } from "../proof/types.ts";
import type { Finding, Mm, Seconds } from "../units/index.ts";
import { num } from "./draw/plain.ts";

/** Time as people say it: 45 s, 12 min 30 s, 1 h 05 min. */
export function timeText(seconds: Seconds): string {
  const s = Math.round(seconds);
  if (s < 60) return `${s} s`;
  if (s < 3600) return `${Math.floor(s / 60)} min ${String(s % 60).padStart(2, "0")} s`;
  const m = Math.round(s / 60);
  return `${Math.floor(m / 60)} h ${String(m % 60).padStart(2, "0")} min`;
}

/** A length with three decimals, as tables show it. */
export const fixed = (v: Mm, decimals = 3): string => {
  if (!Number.isFinite(v)) return "–";
  const t = v.toFixed(decimals);
  return Number(t) === 0 ? (0).toFixed(decimals) : t.replace("-", "−");
};

/** A value of a finding with its unit; words stay as they are. */
export function valueText(v: Finding["value"], unit: string): string {
  if (v === null) return "–";
  const t = typeof v === "number" ? num(v, 3).replace("-", "−") : v;
  return unit === "" ? t : `${t} ${unit}`;
}

/** Worst figures over all regions, and whether every limit holds. */
export function proofVerdict(proof: readonly SideProof[]): {
  readonly proved: boolean;
  readonly below: Mm;
  readonly above: Mm;
  readonly measures: number;
  readonly out: number;
  readonly regionsOut: number;
} {
  let below = 0;
  let above = 0;
  let measures = 0;
  let out = 0;
  let regionsOut = 0;
  for (const side of proof) {
    for (const r of side.regions) {
      below = Math.max(below, r.worstBelow);
      above = Math.max(above, r.worstAbove);
      if (r.worstBelow > r.limitBelow || r.worstAbove > r.limitAbove) regionsOut++;
    }
    for (const m of side.measures) {
      measures++;
      if (!isWithin(m)) out++;
    }
  }
  return { proved: proof.length > 0, below, above, measures, out, regionsOut };
}

export const isWithin = (m: { readonly ordered: number; readonly measured: number; readonly tolerance: number }): boolean =>
  Math.abs(m.measured - m.ordered) <= m.tolerance;

/** The verdict in a sentence. */
export function verdictSays(proof: readonly SideProof[]): string {
  const v = proofVerdict(proof);
  if (!v.proved) return "Nothing was proved: do not cut from these programs.";
  const figures = `deepest below target ${fixed(v.below)} mm, most left over ${fixed(v.above)} mm; ${v.measures - v.out} of ${v.measures} measures within tolerance`;
  if (v.regionsOut === 0 && v.out === 0) return `Every region and every measure is within its limit: ${figures}.`;
  return `${v.regionsOut} region(s) and ${v.out} measure(s) are outside their limits: ${figures}.`;
}
