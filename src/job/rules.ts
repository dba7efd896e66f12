import type { Rule } from "../units/index.ts";

export const OVERRIDE_UNUSED: Rule = {
  id: "JB-001",
  severity: "warn",
  says: "Every override in an order is needed by a finding that would stop it.",
};
export const PROGRAM_MISSING: Rule = {
  id: "JB-002",
  severity: "stop",
  says: "Every program that job.json lists lies in the folder and can be read.",
};
export const PROGRAM_CHANGED: Rule = {
  id: "JB-003",
  severity: "warn",
  says: "Every program is, byte for byte, the one that was made with the folder.",
};
export const PROGRAM_FOREIGN: Rule = {
  id: "JB-004",
  severity: "warn",
  says: "Every file in programs/ is listed in job.json.",
};
export const ORDER_CHANGED: Rule = {
  id: "JB-005",
  severity: "stop",
  says: "The order and the shop in a folder are, byte for byte, the ones its programs were made from.",
};
export const HOLDING_CHANGED: Rule = {
  id: "JB-006",
  severity: "stop",
  says: "The sides, the holding and the cutters in job.json are those that its order and shop give.",
};
export const DRAWING_FAILED: Rule = {
  id: "JB-007",
  severity: "warn",
  says: "Of a job that was stopped the drawings can still be made.",
};
export const NOTHING_TO_PROVE: Rule = {
  id: "JB-008",
  severity: "stop",
  says: "A folder that is to be proved holds programs; a job that was stopped has none.",
};
export const DRAWING_FILE: Rule = {
  id: "JB-009",
  severity: "stop",
  says: "The drawing that an order asks for comes with the order.",
};

export const JB_RULES: readonly Rule[] = [
  OVERRIDE_UNUSED,
  PROGRAM_MISSING,
  PROGRAM_CHANGED,
  PROGRAM_FOREIGN,
  ORDER_CHANGED,
  HOLDING_CHANGED,
  DRAWING_FAILED,
  NOTHING_TO_PROVE,
  DRAWING_FILE,
];
