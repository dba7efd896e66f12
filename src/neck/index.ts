export { fretDistance, fretSpace } from "./frets.ts";
export { makeNeck } from "./neck.ts";
export { NK_RULES } from "./rules.ts";
export { plankThickness, type Scarf, scarfOf } from "./scarf.ts";
export type * from "./types.ts";
