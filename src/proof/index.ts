export { type Comparison, joinParts, PARTS, partOf, putPart } from "./compare.ts";
export { frameOf } from "./place.ts";
export {
  beginSide,
  compareSidePart,
  cuspOf,
  emptyMap,
  joinRemoved,
  joinSide,
  type Measured,
  measureSide,
  type Proof,
  prove,
  proveBoth,
  proveSide,
  type Removed,
  removeBand,
} from "./prove.ts";
export { interpretProgram, type ReadError, type ReaderOptions, type ReadProgram } from "./reader/index.ts";
export { PF_RULES } from "./rules.ts";
export type { BandCut } from "./simulate.ts";
export type { Tally } from "./tally.ts";
export type * from "./types.ts";
