import type { Rule, Severity } from "../../units/index.ts";

const rule = (id: string, severity: Severity, says: string): Rule => ({ id, severity, says });

type Name =
  | "relief"
  | "headRoot"
  | "proud"
  | "overloaded"
  | "shortGrain"
  | "balance"
  | "intonation"
  | "rod"
  | "heel"
  | "cutAt"
  | "boardGrain";

export const NF: Readonly<Record<Name, Rule>> = {
  relief: rule(
    "NK-101",
    "warn",
    "Under its strings and without help from a rod the neck bends to less than 1 mm of relief (or half a millimetre past what is asked), or there are rod or bars.",
  ),
  headRoot: rule(
    "NK-102",
    "warn",
    "Behind the nut the strings' pull stays below a fifth of what the wood bears along its grain angle, at the weakest section.",
  ),
  proud: rule("NK-103", "warn", "At the driest the home gets, fret ends stand proud of the shrunk board by less than 0.2 mm."),
  overloaded: rule("NK-104", "warn", "No plain steel string and no core is drawn to more than 85 % of the tensile table's least strength."),
  shortGrain: rule(
    "NK-105",
    "warn",
    "The grain runs out of the shaft by less than 6 degrees, the tilt of a one-piece headstock included up to 15 degrees.",
  ),
  balance: rule("NK-106", "warn", "No string pulls less than half or more than 1.75 times the mean of its set."),
  intonation: rule(
    "NK-107",
    "warn",
    "With the saddle in its best place no plain string is off by more than 10 cents at any fret up to 12.",
  ),
  rod: rule("NK-108", "warn", "An ordered rod bears the force that brings the neck to the asked relief, in a direction it can act."),
  heel: rule(
    "NK-109",
    "warn",
    "Toward the body the strings' pull stays below a fifth of what the wood bears along its grain, at the weakest section.",
  ),
  cutAt: rule("NK-110", "warn", "The neck is cut within 3 % of the moisture content its home will bring it to."),
  boardGrain: rule("NK-111", "warn", "The grain runs out of the board's face by less than 6 degrees."),
};

export const NF_RULES: readonly Rule[] = Object.values(NF);
