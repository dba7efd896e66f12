import type { Mm, Newton, NewtonPerMm } from "../units/index.ts";

/*
 * Stiffness of a machine's axis from pushes with a spring scale and a dial indicator: displacement = force / k + slack. With one
 * reading slack cannot be told from give; with several forces it is taken out, as far as the line is straight.
 */

export interface Push {
  readonly force: Newton;
  readonly moved: Mm;
}

export type Measurement =
  | {
      readonly ok: true;
      readonly stiffness: NewtonPerMm;
      /** What moved at no force by the line; 0 with one force. */
      readonly slack: Mm;
      /** Largest distance of a reading from the line, mm. */
      readonly off: Mm;
    }
  | { readonly ok: false; readonly says: string; readonly tryThis: string };

/** Between a hand-held frame and a milling machine of some tons. From memory. */
export const PLAUSIBLE: { readonly least: NewtonPerMm; readonly most: NewtonPerMm } = { least: 5, most: 20_000 };
/** What a dial indicator shows for certain. Common practice, no source. */
const LEAST_MOVED: Mm = 0.01;
/** A push by hand with a spring scale. From memory. */
const MOST_FORCE: Newton = 500;
/** Readings lie this near their line, as a share of the largest movement. */
const MOST_OFF = 0.2;

const refuse = (says: string, tryThis: string): Measurement => ({ ok: false, says, tryThis });

/** The stiffness that readings tell, by least squares of what moved over the force; or why they tell none. */
export function stiffnessOf(pushes: readonly Push[]): Measurement {
  if (pushes.length === 0) return refuse("There are no readings.", "Give a force and what moved under it.");
  for (const { force, moved } of pushes) {
    if (!(force > 0 && force <= MOST_FORCE))
      return refuse(`A push of ${force} N is not between 0 and ${MOST_FORCE} N.`, "Push with 10 to 50 N, read on a spring scale.");
    if (!(moved >= LEAST_MOVED))
      return refuse(
        `A movement of ${moved} mm is less than an indicator shows for certain (${LEAST_MOVED} mm).`,
        "Push harder, or use an indicator that reads micrometres and check that it touches the spindle, not the cutter's flutes.",
      );
    if (moved > 5)
      return refuse(`A movement of ${moved} mm is no bending: something slipped.`, "Check motors, clamps and belts, then push again.");
  }
  const n = pushes.length;
  const mf = pushes.reduce((s, p) => s + p.force, 0) / n;
  const mm = pushes.reduce((s, p) => s + p.moved, 0) / n;
  const sff = pushes.reduce((s, p) => s + (p.force - mf) ** 2, 0);
  // forces that hardly differ say nothing of the slack: a line through nothing
  const through = sff < n * (0.1 * mf) ** 2;
  const per = through
    ? pushes.reduce((s, p) => s + p.force * p.moved, 0) / pushes.reduce((s, p) => s + p.force ** 2, 0)
    : pushes.reduce((s, p) => s + (p.force - mf) * (p.moved - mm), 0) / sff;
  if (!(per > 0))
    return refuse(
      "The readings do not grow with the force: more push moved it less.",
      "Set the indicator to zero before each push and read again.",
    );
  const slack = through ? 0 : mm - per * mf;
  const off = Math.max(...pushes.map((p) => Math.abs(p.moved - slack - per * p.force)));
  const largest = Math.max(...pushes.map((p) => p.moved));
  if (off > MOST_OFF * largest)
    return refuse(
      `The readings do not lie on a line: one is ${off.toFixed(3)} mm off it.`,
      "Push slowly, at the same place, in the same direction; set the indicator to zero before each push.",
    );
  if (slack < -MOST_OFF * largest)
    return refuse(
      "The readings grow faster than the force does: the scale or the indicator was not at zero.",
      "Set both to zero at no push and read again.",
    );
  const stiffness = 1 / per;
  if (!(stiffness >= PLAUSIBLE.least && stiffness <= PLAUSIBLE.most))
    return refuse(
      `${stiffness.toPrecision(3)} N/mm is not what a router has (${PLAUSIBLE.least} to ${PLAUSIBLE.most} N/mm).`,
      "Check the units: force in N (1 kg on a scale is 9.8 N), movement in mm.",
    );
  return { ok: true, stiffness, slack: slack === 0 ? 0 : slack, off };
}
