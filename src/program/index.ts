import { full } from "./dialects/full.ts";
import { reduced } from "./dialects/reduced.ts";
import type { ByteDialect, Dialect } from "./types.ts";

export { checkProgram } from "./check.ts";
export { programBounds } from "./header.ts";
export { PR_RULES } from "./rules.ts";
export { SPIN_UP_SECONDS } from "./text-machine.ts";
export type { Bounds, ByteDialect, Dialect, ProgramInput } from "./types.ts";

/** All dialects, in one place for the conformance suite. */
export const DIALECTS: readonly ByteDialect[] = [full, reduced];

/** The writer for a controller's ability set. */
export const dialectFor = (name: Dialect["name"]): ByteDialect => (name === "full" ? full : reduced);
