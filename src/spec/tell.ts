import type { Finding, Rule } from "../units/index.ts";
import { finding } from "../units/index.ts";

/** Notes a finding of a rule: place, value, limit, what is wrong, what to try, unit of value and limit (mm if left out). */
export type Tell = (
  rule: Rule,
  where: string,
  value: number | string | null,
  limit: number | string | null,
  says: string,
  tryThis: string,
  unit?: string,
) => void;

/** To a thousandth, as findings show it. */
export const mm = (v: number): number => Math.round(v * 1000) / 1000;

/** A Tell that collects into a list, with numbers shown to a thousandth. */
export function collectInto(found: Finding[]): Tell {
  const tidy = (v: number | string | null): number | string | null => (typeof v === "number" ? mm(v) : v);
  return (rule, where, value, limit, says, tryThis, unit = "mm") => {
    found.push(finding(rule, { where, value: tidy(value), limit: tidy(limit), unit, says, tryThis }));
  };
}
