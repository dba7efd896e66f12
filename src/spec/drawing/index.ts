export { CLOSE_WITHIN, readDrawing } from "./read.ts";
export { DRAWING_RULES, MAX_DRAWING_BYTES } from "./rules.ts";
export { checkDrawingSize } from "./text.ts";
export type { DrawingFacts, DrawingOptions, DrawingRead, DrawingUnit } from "./types.ts";
export { DRAWING_UNITS } from "./units.ts";
