import type { MoveBuilder } from "../../kernel/moves.ts";
import type { Mm, Rad } from "../../units/index.ts";
import { above0, checkMotion, goAbove, type Motion, RAPID_GAP, retract } from "./common.ts";
import { clearRound } from "./pocket.ts";

/*
 * Bores with a flat cutter narrower than they are, and drilled holes.
 *
 *   helix of radius (D - d) / 2, one arc a turn, then a full circle at the bottom, then to the middle and up:
 *        ( @ )    D <= 2 d: the cutter covers the middle, no post stays
 *   wider bores are cleared level by level from a helix in the middle outward.
 */
export interface BoreOptions extends Motion {
  readonly cutterDiameter: Mm;
  /** Most depth per turn of the helix (and per level of a wide bore). */
  readonly depth: Mm;
  /** Most width per ring of a wide bore; default half the cutter. */
  readonly step?: Mm;
  readonly rampAngle?: Rad;
  /** climb (default) runs counter-clockwise inside a bore. */
  readonly milling?: "climb" | "conventional";
}

export interface BoreStep {
  readonly diameter: Mm;
  readonly zTop: Mm;
  readonly zBottom: Mm;
}

/** A bore of one diameter from zTop to zBottom. Throws a RangeError when the cutter is not narrower than the bore. */
export function bore(b: MoveBuilder, x: Mm, y: Mm, step: BoreStep, o: BoreOptions): void {
  boreSteps(b, x, y, [step], o);
}

/** A stepped bore, widest step first, each beginning where the one before ends. */
export function boreSteps(b: MoveBuilder, x: Mm, y: Mm, steps: readonly BoreStep[], o: BoreOptions): void {
  checkMotion(o);
  above0("depth", o.depth);
  let wider = Infinity;
  for (const s of steps) {
    if (!(s.zBottom < s.zTop)) throw new RangeError(`a bore from z ${s.zTop} to ${s.zBottom} has no depth`);
    if (s.diameter > wider) throw new RangeError(`a step of ${s.diameter} mm lies under one of ${wider} mm: bores only narrow downward`);
    if (!(s.diameter >= o.cutterDiameter + 0.002))
      throw new RangeError(`a bore of ${s.diameter} mm is too narrow for a cutter of ${o.cutterDiameter} mm to spiral in`);
    wider = s.diameter;
  }
  retract(b, o);
  for (let k = 0; k < steps.length; k++) clearRound(b, x, y, steps[k], { ...o, step: o.step ?? o.cutterDiameter / 2 }, k > 0);
  retract(b, o);
}

export interface PeckOptions extends Motion {
  /** Most depth between two retracts that clear the chips. */
  readonly peck: Mm;
  /** Seconds to wait at the bottom; default none. */
  readonly dwell?: number;
}

/** Drills straight down in pecks, out to the approach height after each, with plain moves only. */
export function peck(b: MoveBuilder, x: Mm, y: Mm, zTop: Mm, zBottom: Mm, o: PeckOptions): void {
  checkMotion(o);
  above0("peck", o.peck);
  if (!(zBottom < zTop)) throw new RangeError(`a hole from z ${zTop} to ${zBottom} has no depth`);
  goAbove(b, x, y, o);
  const n = Math.max(1, Math.ceil((zTop - zBottom) / o.peck - 1e-9));
  for (let k = 1; k <= n; k++) {
    if (k > 1) {
      b.rapid(x, y, o.approachZ);
      // back to just above what the last peck left
      const down = zTop - ((zTop - zBottom) * (k - 1)) / n + (o.gap ?? RAPID_GAP);
      if (down < o.approachZ) b.rapid(x, y, down);
    }
    b.lineTo(x, y, k === n ? zBottom : zTop - ((zTop - zBottom) * k) / n, o.plunge);
  }
  if (o.dwell !== undefined && o.dwell > 0) b.dwell(o.dwell);
  retract(b, o);
}
