export { interpretProgram, type ReaderOptions, type ReadProgram } from "./interpret.ts";
export type { CutterLength, ProgramEvent } from "./machine.ts";
export type { ReadError } from "./refusal.ts";
export { READER_RULES } from "./rules.ts";
export { Track } from "./track.ts";
