import type { Rule } from "../units/index.ts";

export const RUBS: Rule = {
  id: "CU-001",
  severity: "warn",
  says: "The thickest chip of a cut is at least the least chip of its cutter; below it the edge rubs, burns and dulls.",
};
export const BEYOND_FLUTES: Rule = { id: "CU-002", severity: "stop", says: "No cut is deeper than its cutter's flutes are long." };
export const ABOVE_MARKED_SPEED: Rule = {
  id: "CU-003",
  severity: "stop",
  says: "The spindle never turns faster than the speed marked on the cutter.",
};
export const TOO_WIDE: Rule = { id: "CU-004", severity: "stop", says: "A cutter is no wider than the recess, slot or bore it cuts." };
export const BENDS: Rule = {
  id: "CU-005",
  severity: "warn",
  says: "Cutter and machine together give way no more than the limit of the kind of cut.",
};
export const TOO_SHALLOW: Rule = {
  id: "CU-006",
  severity: "stop",
  says: "A cutter and machine must bear a pass of at least 0.05 mm; less is no cut.",
};
export const TOO_MUCH_POWER: Rule = {
  id: "CU-007",
  severity: "warn",
  says: "A cut takes no more than 70 % of the power that the spindle has at its speed.",
};
export const BEYOND_REACH: Rule = {
  id: "CU-008",
  severity: "stop",
  says: "No cut is deeper beside standing wood than the cutter reaches out of its holder.",
};
export const IMPOSSIBLE_SHAPE: Rule = {
  id: "CU-009",
  severity: "stop",
  says: "A cutter's diameters, corner radius, angle and flutes describe a shape that can exist.",
};
export const THICK_CHIP: Rule = {
  id: "CU-010",
  severity: "warn",
  says: "The thickest chip of a cut is at most the most that its cutter bears.",
};

export const CU_RULES: readonly Rule[] = [
  RUBS,
  BEYOND_FLUTES,
  ABOVE_MARKED_SPEED,
  TOO_WIDE,
  BENDS,
  TOO_SHALLOW,
  TOO_MUCH_POWER,
  BEYOND_REACH,
  IMPOSSIBLE_SHAPE,
  THICK_CHIP,
];
