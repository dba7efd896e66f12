import type { Rule, Severity } from "../units/index.ts";

const rule = (id: string, severity: Severity, says: string): Rule => ({ id, severity, says });

type Name =
  | "noCutter"
  | "tightInward"
  | "outlineTight"
  | "stripFloor"
  | "boardAhead"
  | "kerfCutter"
  | "unsafeStart"
  | "outsideTravel"
  | "noTabs"
  | "coarseCusp"
  | "noPath";

export const PA: Readonly<Record<Name, Rule>> = {
  noCutter: rule(
    "PA-001",
    "stop",
    "For every cut of the plan the shop has a cutter of the right shape, narrow enough, with flutes and reach long enough.",
  ),
  tightInward: rule(
    "PA-002",
    "stop",
    "The back's transitions and the ramp curve inward no tighter than the round-nosed cutter that finishes them.",
  ),
  outlineTight: rule("PA-003", "warn", "The outline curves inward no tighter than the cutter that follows it."),
  stripFloor: rule("PA-004", "stop", "Clearing beside the shaft stops at least 0.5 mm above the bed."),
  boardAhead: rule("PA-005", "note", "Cuts of the board are left out while the board is not on the shaft."),
  kerfCutter: rule("PA-006", "stop", "The fret slots' cutter is no wider than the kerf and no more than 0.02 mm narrower."),
  unsafeStart: rule("PA-007", "stop", "Every cut begins and ends at or above the safe height, and every rapid across travels there."),
  outsideTravel: rule("PA-008", "stop", "Every cut stays within the blank's surroundings."),
  noTabs: rule("PA-009", "stop", "Tabs or a skin hold the neck until the last cut is done."),
  coarseCusp: rule("PA-010", "warn", "Finishing rows are no further apart than half the cutter's diameter."),
  noPath: rule("PA-011", "stop", "Every cut of the plan can be turned into a path."),
};

export const PA_RULES: readonly Rule[] = Object.values(PA);
