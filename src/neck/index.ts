export { checkNeck } from "./check.ts";
export { fretDistance, fretSpace } from "./frets.ts";
export { makeNeck } from "./neck.ts";
export { NK_RULES } from "./rules.ts";
export type * from "./types.ts";
