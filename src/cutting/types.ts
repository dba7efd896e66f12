import type { CutterSpec, MachineSpec } from "../spec/types.ts";
import type { Mm, MmPerSecond, Newton, Rpm, Watt } from "../units/index.ts";

export type Cutter = CutterSpec;
export type Machine = MachineSpec;

/** What is asked of the cutter: how much wood it meets. */
export interface Engagement {
  /** Radial: width of the strip removed per pass; the diameter for a full slot. */
  readonly step: Mm;
  /** Axial depth of the pass. */
  readonly depth: Mm;
}

/** Speeds and feeds for one cut, with what bound them. */
export interface Conditions {
  readonly rpm: Rpm;
  readonly feed: MmPerSecond;
  readonly plunge: MmPerSecond;
  /** Along a ramp or helix. */
  readonly ramp: MmPerSecond;
  readonly step: Mm;
  readonly depth: Mm;
  /** Thickest chip, per tooth. */
  readonly chip: Mm;
  readonly force: Newton;
  readonly power: Watt;
  /** Bend of cutter plus give of the machine under that force. */
  readonly bend: Mm;
  /** In words: what stopped it from being faster or deeper. */
  readonly limitedBy: string;
}
