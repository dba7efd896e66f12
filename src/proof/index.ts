export { type Proof, prove, proveBoth, proveSide } from "./prove.ts";
export { interpretProgram, type ReadError, type ReaderOptions, type ReadProgram } from "./reader/index.ts";
export { PF_RULES } from "./rules.ts";
export type * from "./types.ts";
