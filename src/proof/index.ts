export { type Comparison, joinParts, PARTS, partOf, putPart } from "./compare.ts";
export { frameOf } from "./place.ts";
export {
  beginSide,
  compareSidePart,
  cuspOf,
  joinSide,
  type Measured,
  measureSide,
  type Proof,
  prove,
  proveBoth,
  proveSide,
  type Removed,
  removeSide,
} from "./prove.ts";
export { interpretProgram, type ReadError, type ReaderOptions, type ReadProgram } from "./reader/index.ts";
export { PF_RULES } from "./rules.ts";
export type { Tally } from "./tally.ts";
export type * from "./types.ts";
