import type { Rule } from "../../units/index.ts";

const rule = (number: string, severity: Rule["severity"], says: string): Rule => ({ id: `SH-${number}`, severity, says });

export const SH_NO_SOLID: Rule = rule(
  "030",
  "stop",
  "A neck is written as a solid only when its top, its back and its features close to one body without crossing each other.",
);
export const SH_SOLID_LEFT_OUT: Rule = rule("031", "note", "A feature that is left out of a solid model is named.");

export const SOLID_RULES: readonly Rule[] = [SH_NO_SOLID, SH_SOLID_LEFT_OUT];
