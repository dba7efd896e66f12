import type { Rule } from "../units/index.ts";
import { SOLID_RULES } from "./solids/rules.ts";

const rule = (number: string, severity: Rule["severity"], says: string): Rule => ({ id: `SH-${number}`, severity, says });

export const SH_PROGRAM_MISSING: Rule = rule(
  "001",
  "stop",
  "Every program of the job stands on the run sheet by its file name, with the beginning of its SHA-256.",
);
export const SH_HASH_MISSING: Rule = rule("002", "stop", "Every page of the run sheet bears the order's hash and its number of all pages.");
export const SH_CHECK_BAR: Rule = rule("003", "stop", "Every page with a drawing to scale has a bar of exactly 100 mm along each axis.");
export const SH_OFF_PAGE: Rule = rule("004", "warn", "Everything on a page lies within its edges.");
export const SH_GLYPH: Rule = rule(
  "005",
  "warn",
  "Every character on a sheet is in the font that is shipped; others print as an empty box.",
);
export const SH_CAUTIONS: Rule = rule(
  "006",
  "stop",
  "The cautions stand on the first page, before anything that could be followed at the machine.",
);
export const SH_FINDING_MISSING: Rule = rule("007", "stop", "Every stop and every override stands on the run sheet by the id of its rule.");
export const SH_STEP_MISSING: Rule = rule("008", "stop", "The run sheet has one numbered step for each step of the job, in its order.");

export const SH_CORRECTION_MISSING: Rule = rule(
  "009",
  "stop",
  "Every correction in force stands on the run sheet with its day and its value.",
);

export const SH_RULES: readonly Rule[] = [
  SH_PROGRAM_MISSING,
  SH_HASH_MISSING,
  SH_CHECK_BAR,
  SH_OFF_PAGE,
  SH_GLYPH,
  SH_CAUTIONS,
  SH_FINDING_MISSING,
  SH_STEP_MISSING,
  SH_CORRECTION_MISSING,
  ...SOLID_RULES,
];
