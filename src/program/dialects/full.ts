import { asciiString } from "../bytes.ts";
import type { ByteDialect } from "../types.ts";
import { writeProgram } from "../writer.ts";

const abilities = { toolTable: true, blending: true } as const;

/** RS274/NGC (NISTIR 6556) with a tool table: T M6, length offsets by G43 H, arcs and helices in all planes. */
export const full: ByteDialect = {
  name: "full",
  write: (input) => asciiString(writeProgram(input, abilities)),
  writeBytes: (input) => writeProgram(input, abilities),
};
