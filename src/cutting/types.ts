import type { CutterSpec, MachineSpec } from "../spec/types.ts";
import type { Mm, MmPerSecond, Newton, Rad, Rpm, Watt } from "../units/index.ts";

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
  /** Thickest chip, per tooth: thinned by a narrow step and by the lean of a ball or taper. */
  readonly chip: Mm;
  /** Largest force across the cutter at any moment of a turn. */
  readonly force: Newton;
  readonly power: Watt;
  /** Bend of the cutter under the largest force plus give of the machine under the mean one. */
  readonly bend: Mm;
  /** In words: what stopped it from being faster or deeper. */
  readonly limitedBy: string;
  /** What of the bend shows on the finished surface: less on a level one than on a wall. Absent: all of it. */
  readonly shows?: Mm;
  /** Force across the cutter averaged over a turn: what the machine's frame feels. */
  readonly meanForce?: Newton;
  /** Moment about the spindle's axis, N mm. */
  readonly torque?: number;
  /** How far round the cutter the wood goes. */
  readonly engagement?: Rad;
  /** Wood taken off at this feed, mm3/s. */
  readonly removal?: number;
  /** The same at no feed, when the edge only parts and rubs: what is between goes with the feed per tooth. */
  readonly edgeOnly?: { readonly force: Newton; readonly bend: Mm; readonly shows: Mm; readonly power: Watt };
  /** Most bend (of what shows) that this kind of cut may have. */
  readonly bendLimit?: Mm;
  /** Feed per tooth over thickest chip, to follow a change of engagement along the path. */
  readonly thinning?: number;
}
