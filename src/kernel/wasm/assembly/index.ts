export { field, level, maxima } from "./field";
export { chain } from "./chain";
export { line } from "./line";
export { dropField, dropRow } from "./drop";
export { helix } from "./helix";
export { clockField, clockLines, clockRun } from "./clock";
export { scanLines } from "./scan";
export { emitLines } from "./emit";
export { engageArc, engageBegin, engageField, engageStamp, engageWood } from "./engage";
