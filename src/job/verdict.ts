import type { OrderSpec } from "../spec/types.ts";
import { type Finding, finding, isStop } from "../units/index.ts";
import { OVERRIDE_UNUSED } from "./rules.ts";

/** What the findings of all stages come to. */
export interface Verdict {
  readonly findings: readonly Finding[];
  /** Stops that no override names: with one of these no program is written. */
  readonly blocking: readonly Finding[];
  /** Overrides that were needed, with the maker's reason. */
  readonly overridden: OrderSpec["overrides"];
}

export function judge(findings: readonly Finding[], overrides: OrderSpec["overrides"]): Verdict {
  const stops = findings.filter(isStop);
  const named = new Set(overrides.map((o) => o.rule));
  return {
    findings,
    blocking: stops.filter((f) => !named.has(f.rule)),
    overridden: overrides.filter((o) => stops.some((f) => f.rule === o.rule)),
  };
}

/** An override that nothing needs is a trap for the next order: say so. */
export const unusedOverrides = (findings: readonly Finding[], overrides: OrderSpec["overrides"]): Finding[] =>
  overrides
    .filter((o) => !findings.some((f) => isStop(f) && f.rule === o.rule))
    .map((o) =>
      finding(OVERRIDE_UNUSED, {
        where: "overrides",
        value: o.rule,
        limit: null,
        unit: "",
        says: `The order overrides ${o.rule}, but nothing here stops by that rule.`,
        tryThis: "Take the override out of the order, so that it does not hide a later finding.",
      }),
    );
