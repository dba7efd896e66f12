import type { Rule, Severity } from "../../units/index.ts";

const rule = (id: string, severity: Severity, says: string): Rule => ({ id, severity, says });

type Name = "relief" | "headRoot" | "proud" | "overloaded" | "shortGrain";

export const NF: Readonly<Record<Name, Rule>> = {
  relief: rule(
    "NK-101",
    "warn",
    "Under its strings and without help from a rod the neck bends to less than 1 mm of relief, or there is a rod.",
  ),
  headRoot: rule(
    "NK-102",
    "warn",
    "At the root of the headstock the strings' pull stays below a fifth of what the wood bears along its grain angle.",
  ),
  proud: rule("NK-103", "warn", "In a dry room (35 % at 21 C) fret ends stand proud of the shrunk board by less than 0.2 mm."),
  overloaded: rule("NK-104", "warn", "No plain steel string is drawn to more than 85 % of the tensile table's least strength."),
  shortGrain: rule(
    "NK-105",
    "warn",
    "The grain runs out of the shaft by less than 6 degrees, the tilt of a one-piece headstock included up to 15 degrees.",
  ),
};

export const NF_RULES: readonly Rule[] = Object.values(NF);
