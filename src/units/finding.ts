/** What a stage found: data, never printed here. `stop` means that no program is written unless it is overridden by name. */
export type Severity = "stop" | "warn" | "note";

export interface Finding {
  /** Stable id of the rule, as in RULES.md: two letters of the stage, a dash, three digits. */
  readonly rule: string;
  readonly severity: Severity;
  /** The place in words: a path in the order ("headstock.tuners.pitch"), a feature id, or file:line:column. */
  readonly where: string;
  readonly value: number | string | null;
  readonly limit: number | string | null;
  /** Unit of value and limit: "mm", "deg", "cent", "" for none. */
  readonly unit: string;
  /** One sentence that says what is wrong. */
  readonly says: string;
  /** One sentence that says what to try. */
  readonly tryThis: string;
  /** The place on the neck (neck frame) or at the machine (program frame of `side`), when there is one. */
  readonly at?: { readonly side?: "board" | "carve"; readonly x: number; readonly y: number; readonly z?: number };
}

/** A rule of the rule book: an id, the severity it reports with, and one observable sentence. */
export interface Rule {
  readonly id: string;
  readonly severity: Severity;
  readonly says: string;
}

export const isStop = (f: Finding): boolean => f.severity === "stop";

/** Makes a finding from its rule, so that id and severity are written down once. */
export function finding(rule: Rule, rest: Omit<Finding, "rule" | "severity">): Finding {
  return { rule: rule.id, severity: rule.severity, ...rest };
}
