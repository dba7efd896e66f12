import type { Mm } from "../../units/index.ts";
import type { Path } from "./common.ts";
import { LEAST_CUT, type Line, type Piece } from "./row.ts";

/*
 * Down into standing wood no steeper than the ramp; what such a ramp leaves is taken by going back over it and on again:
 *
 *   before  ----.                 1 down the ramp   2 back at the level   3 on
 *                `-.__1
 *   level   <-2-------'-----3--->
 */

/** A hollow that is not level after so many ramps to and fro is too narrow to be worth it: left to finishing. */
const MOST_ROUNDS = 24;

/** Walks the tip over the samples of a line: max(level, low), but down into standing wood no steeper than the ramp. */
class Walker {
  readonly points: number[] = [];
  private readonly line: Line;
  private readonly level: Mm;
  private readonly slope: number;
  private z: Mm;
  private at: number;

  /** Stands on sample `at` at height z. */
  constructor(line: Line, level: Mm, slope: number, at: number, z: Mm) {
    this.line = line;
    this.level = level;
    this.slope = slope;
    this.at = at;
    this.z = z;
    this.points.push(line.xy[2 * at], line.xy[2 * at + 1], z);
    if (z < line.stands[at]) line.stands[at] = z;
  }

  /** On to a neighbouring sample; tells what stays above the target there. */
  step(k: number): Mm {
    const { xy, low, stands, ranLow, ranHigh } = this.line;
    const a = this.at;
    const gap = Math.min(a, k);
    const ranHere = a < k ? ranLow : ranHigh;
    const ranThere = a < k ? ranHigh : ranLow;
    const target = Math.max(this.level, low[k]);
    let from = this.z;
    let z = target;
    let over = false;
    if (target < from) {
      // straight down here as far as is free at both ends, then the ramp
      const free = Math.min(from, Math.max(stands[a], stands[k], target));
      const run = Math.hypot(xy[2 * k] - xy[2 * a], xy[2 * k + 1] - xy[2 * a + 1]);
      const ramp = Math.max(target, free - run * this.slope);
      const ran = from >= ranHere[gap] - 1e-9 ? Math.max(target, ranThere[gap]) : Infinity;
      const there = Math.max(target, stands[k]);
      if (ran <= ramp + 1e-9) z = ran;
      else {
        if (free < from - 1e-9) {
          this.points.push(xy[2 * a], xy[2 * a + 1], free);
          from = free;
        }
        z = ramp;
        if (there < z - 1e-9) {
          // over the edge of what stands here, and straight down into what is free there
          this.points.push(xy[2 * k], xy[2 * k + 1], free);
          z = there;
          over = true;
        }
      }
    }
    this.points.push(xy[2 * k], xy[2 * k + 1], z);
    if (z < stands[k]) stands[k] = z;
    if (!over && (from <= ranHere[gap] || z <= ranThere[gap])) {
      ranHere[gap] = from;
      ranThere[gap] = z;
    }
    this.at = k;
    this.z = z;
    return z - target;
  }
}

/** Walks a whole piece from the sample where the cutter stands; ramps are gone over again until they are level. */
export function walkPiece(p: Piece, backward: boolean, level: Mm, z: Mm, slope: number): Path {
  const first = backward ? p.to : p.from;
  const last = backward ? p.from : p.to;
  const d = backward ? -1 : 1;
  const w = new Walker(p.line, level, slope, first, z);
  let wedge = z > Math.max(level, p.line.low[first]) + 1e-6 ? first : -1;
  for (let k = first; k !== last; ) {
    const over = w.step(k + d);
    k += d;
    if (over > 1e-6 && wedge < 0) wedge = k;
    if (wedge < 0 || (over > 1e-6 && k !== last)) continue;
    // the ramp is done, or the piece is: back over it and on, each time as much lower as the ramp allows
    let before = Infinity;
    for (let round = 0; round < MOST_ROUNDS && wedge !== k; round++) {
      for (let j = k - d; j !== wedge - d; j -= d) w.step(j);
      for (let j = wedge + d; j !== k + d; j += d) w.step(j);
      let left = 0;
      for (let j = wedge; j !== k + d; j += d) left = Math.max(left, p.line.stands[j] - Math.max(level, p.line.low[j]));
      // done, or a pit too narrow to ramp into
      if (left < LEAST_CUT || left > before - 1e-3) break;
      before = left;
    }
    wedge = -1;
  }
  return Float64Array.from(w.points);
}
