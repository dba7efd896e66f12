import type { Rule, Severity } from "../units/index.ts";

const rule = (id: string, severity: Severity, says: string): Rule => ({ id, severity, says });

type Name =
  | "noCutter"
  | "outlineTight"
  | "stripFloor"
  | "boardAhead"
  | "unsafeStart"
  | "outsideTravel"
  | "noPath"
  | "notYet"
  | "allowance"
  | "holdsLast"
  | "needsBefore"
  | "dropped"
  | "unknownCut"
  | "reach"
  | "jigFit"
  | "jigMarks"
  | "clear";

export const PA: Readonly<Record<Name, Rule>> = {
  noCutter: rule(
    "PA-001",
    "stop",
    "For every cut of the plan the shop has a cutter of the right shape, narrow enough, with flutes and reach long enough.",
  ),
  outlineTight: rule("PA-002", "warn", "The outline curves inward no tighter than the cutter that follows it."),
  stripFloor: rule("PA-003", "stop", "Clearing beside the shaft stops at least 0.5 mm above the bed."),
  boardAhead: rule("PA-004", "note", "Cuts of the board are left out while the board is not on the shaft."),
  unsafeStart: rule("PA-005", "stop", "Every cut begins and ends at or above the safe height, and every rapid across travels there."),
  outsideTravel: rule("PA-006", "stop", "Every cut stays within the blank's surroundings."),
  notYet: rule("PA-008", "stop", "Everything the order asks for is cut by the plan; what it cannot cut yet stops it."),
  allowance: rule("PA-009", "note", "Recesses are as wide as ordered; a stored allowance of their cutter that changes that is said."),
  holdsLast: rule("PA-010", "stop", "Nothing that holds the piece is cut away before everything that needs it has been cut."),
  needsBefore: rule("PA-011", "warn", "No cut comes before another that it is planned to follow."),
  dropped: rule("PA-012", "warn", "Every cut of the plan is made, unless the order leaves it out."),
  unknownCut: rule("PA-013", "stop", "Every cut that the order drops, moves or repeats is one of the plan."),
  reach: rule("PA-014", "stop", "Every cutter sticks out far enough that its holder clears wood, blocks, pins and screws."),
  jigFit: rule("PA-015", "warn", "A location plate's pin holes have limits at least twice as far apart as the machine repeats."),
  jigMarks: rule("PA-016", "warn", "A location plate has both sides' zeros and the places of supports marked on its face."),
  clear: rule(
    "PA-017",
    "stop",
    "Pins, stop, blocks, screws and strips stand at least 2 mm off every cutter, shank and holder at every place of every cut.",
  ),
  noPath: rule("PA-007", "stop", "Every cut of the plan can be turned into a path."),
};

export const PA_RULES: readonly Rule[] = Object.values(PA);
