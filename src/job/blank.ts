/* The blank as a screen needs it: where the neck lies, what is left round it, and the best place. Uses nothing of Node. */

export {
  type BlankPlacement,
  bestInBlank,
  blankOutline,
  type InBlank,
  placementProblem,
  toInBlank,
  toPlacement,
  upOf,
} from "../holding/placement/neck.ts";
export { marginAt } from "../holding/placement/solve.ts";
export type { Contact, PlacementProblem } from "../holding/placement/types.ts";
