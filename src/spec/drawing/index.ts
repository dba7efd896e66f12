export { readOutline } from "./order-outline.ts";
export { CLOSE_WITHIN, readDrawing } from "./read.ts";
export { DRAWING_RULES, MAX_DRAWING_BYTES } from "./rules.ts";
export { checkDrawingSize } from "./text.ts";
export type { DrawingFacts, DrawingOptions, DrawingRead, DrawingRequest, DrawingUnit } from "./types.ts";
export { DRAWING_UNITS } from "./units.ts";
