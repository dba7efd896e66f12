import { asciiString } from "../bytes.ts";
import type { ByteDialect } from "../types.ts";
import { writeProgram } from "../writer.ts";

const abilities = { toolTable: false, blending: false } as const;

/**
 * The part of RS274/NGC that small open-source motion controllers take: no tool table (the cutter is set and its zero taken
 * by hand before the program), no canned cycles, no expressions; arcs only where the machine is said to take them.
 */
export const reduced: ByteDialect = {
  name: "reduced",
  write: (input) => asciiString(writeProgram(input, abilities)),
  writeBytes: (input) => writeProgram(input, abilities),
};
