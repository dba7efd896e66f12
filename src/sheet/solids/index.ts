import type { Neck } from "../../neck/types.ts";
import { type Finding, finding, type Mm } from "../../units/index.ts";
import { SH_NO_SOLID } from "./rules.ts";

export { SOLID_RULES } from "./rules.ts";

export interface SolidOptions {
  /** Largest distance between the mesh and the exact surface; absent: 0.01 mm. Without meaning for STEP, whose surfaces are exact. */
  readonly tolerance?: Mm;
  /** The outer body alone: no slots, bores, recesses or openings. Absent: with them. */
  readonly plain?: boolean;
}

/** A file, or the findings that say why there is none (`bytes` is null exactly when one of them is a stop). Notes name what is left out. */
export interface SolidFile {
  readonly bytes: Uint8Array | null;
  readonly findings: readonly Finding[];
}

const notYet = (what: string): SolidFile => ({
  bytes: null,
  findings: [
    finding(SH_NO_SOLID, {
      where: what,
      value: null,
      limit: null,
      unit: "",
      says: `${what} files are not written yet.`,
      tryThis: "Take the drawings.",
    }),
  ],
});

/** The finished neck as a binary STL: triangles alone, in mm by custom. Synchronous, the same bytes for the same neck. */
export function stlBytes(_neck: Neck, _options: SolidOptions = {}): SolidFile {
  return notYet("STL");
}

/** The finished neck as a 3MF package, in mm. Synchronous, the same bytes for the same neck. */
export function threeMfBytes(_neck: Neck, _options: SolidOptions = {}): SolidFile {
  return notYet("3MF");
}

/** The finished neck as a STEP file of real surfaces. Synchronous, the same bytes for the same neck. */
export function stepBytes(_neck: Neck, _options: SolidOptions = {}): SolidFile {
  return notYet("STEP");
}
