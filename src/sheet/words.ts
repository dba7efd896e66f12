import type { Measure, RegionFigure, SideProof } from "../proof/types.ts";
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

/** The region that comes nearest to (or goes furthest past) its own limit, and what is outside. */
export function proofVerdict(proof: readonly SideProof[]): {
  readonly proved: boolean;
  readonly below: RegionFigure | null;
  readonly above: RegionFigure | null;
  readonly measures: number;
  readonly out: number;
  readonly regionsOut: number;
} {
  const regions = proof.flatMap((s) => s.regions);
  const measures = proof.flatMap((s) => s.measures);
  const most = (share: (r: RegionFigure) => number): RegionFigure | null =>
    regions.reduce<RegionFigure | null>((best, r) => (best === null || share(r) > share(best) ? r : best), null);
  return {
    proved: proof.length > 0,
    below: most((r) => r.worstBelow / r.limitBelow),
    above: most((r) => r.worstAbove / r.limitAbove),
    measures: measures.length,
    out: measures.filter((m) => !isWithin(m)).length,
    regionsOut: regions.filter((r) => r.worstBelow > r.limitBelow || r.worstAbove > r.limitAbove).length,
  };
}

export const isWithin = (m: { readonly ordered: number; readonly measured: number; readonly tolerance: number }): boolean =>
  Math.abs(m.measured - m.ordered) <= m.tolerance;

/** The verdict in a sentence. */
export function verdictSays(proof: readonly SideProof[]): string {
  const v = proofVerdict(proof);
  if (!v.proved) return "Nothing was proved: do not cut from these programs.";
  const parts: string[] = [];
  if (v.below)
    parts.push(`nearest to its limit below target ${v.below.region}, ${fixed(v.below.worstBelow)} of ${fixed(v.below.limitBelow)} mm`);
  if (v.above) parts.push(`above target ${v.above.region}, ${fixed(v.above.worstAbove)} of ${fixed(v.above.limitAbove)} mm`);
  parts.push(`${v.measures - v.out} of ${v.measures} measures within tolerance`);
  const figures = parts.join("; ");
  if (v.regionsOut === 0 && v.out === 0) return `Every region and every measure is within its limit: ${figures}.`;
  return `${v.regionsOut} region(s) and ${v.out} measure(s) are outside their limits: ${figures}.`;
}

/** Measures of one kind together: how many, the worst against its tolerance, and which that is. */
export interface MeasureGroup {
  readonly kind: string;
  readonly what: string;
  readonly count: number;
  readonly worst: Measure;
  readonly out: number;
}

/** Groups measures by what they are of ("fret", "tuner", ...) and what was measured, in the order of their first. */
export function groupMeasures(measures: readonly Measure[]): MeasureGroup[] {
  const groups = new Map<string, Measure[]>();
  for (const m of measures) {
    const key = `${kindOf(m.id)}|${m.what}|${m.unit}`;
    const list = groups.get(key);
    if (list) list.push(m);
    else groups.set(key, [m]);
  }
  const share = (m: Measure): number => Math.abs(m.measured - m.ordered) / m.tolerance;
  return [...groups.values()].map((list) => ({
    kind: list.length === 1 ? list[0].id : kindOf(list[0].id),
    what: list[0].what,
    count: list.length,
    worst: list.reduce((a, b) => (share(b) > share(a) ? b : a)),
    out: list.filter((m) => !isWithin(m)).length,
  }));
}

/** "fret-12" -> "fret", "marker-12a" -> "marker"; a name without a number stays. */
const kindOf = (id: string): string => id.replace(/-\d+[a-z]?$/, "");
