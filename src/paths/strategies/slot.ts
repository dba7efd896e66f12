import type { MoveBuilder } from "../../kernel/moves.ts";
import type { Mm, MmPerSecond, Rad } from "../../units/index.ts";
import { above0, checkMotion, follow, goAbove, type Motion, type Path, RAMP_ANGLE, rampIn, retract, reversedPath } from "./common.ts";
import { type ThinTolerance, thinPath } from "./thin.ts";

/*
 * A slot as wide as its cutter, its floor at a height that varies along it (a fret slot runs parallel to the board).
 *
 *   through:  run-out |== slot ==| run-out      the centre passes the ends by radius + clearance
 *   blind:            (== slot ==)              the cutter's edge stops at the ends
 *
 * Passes run parallel to the floor, each no deeper than `passDepth`, every other one backward.
 */
export interface SlotOptions extends Motion {
  readonly cutterDiameter: Mm;
  readonly passDepth: Mm;
  /** Most wood above the floor anywhere along the slot and its run-outs. */
  readonly depth: Mm;
  readonly ends: "through" | "blind";
  /** Through only: past the ends by the radius and this; default 0.5 mm. */
  readonly clearance?: Mm;
  /**
   * outside: the run-outs lie in the air, straight down there; ramp: there is wood (always so for blind slots);
   * plunge: straight down into wood, for cutters that cut over their middle.
   */
  readonly entry?: "outside" | "ramp" | "plunge";
  readonly rampAngle?: Rad;
  /** Distance between samples of the floor; default 0.25 mm. */
  readonly sampling?: Mm;
  readonly thin?: ThinTolerance;
  /** One more way along the finished floor at this feed, to carry out the chips that the passes have left; default none. */
  readonly clear?: MmPerSecond;
}

/** A slot's line is held to 5 um and its floor to 20: points are dropped well within that. */
const SLOT_THIN: ThinTolerance = { vertical: 0.0005, lateral: 0.0002 };

/** The centre's way over a polyline (x, y pairs), from `start` to `stop` by length along it, ends continued straight. */
function wayOver(line: Float64Array, floor: (u: Mm) => Mm, start: Mm, stop: Mm, sampling: Mm): Path {
  const n = line.length / 2;
  const at = new Float64Array(n);
  for (let k = 1; k < n; k++) at[k] = at[k - 1] + Math.hypot(line[2 * k] - line[2 * k - 2], line[2 * k + 1] - line[2 * k - 1]);
  // evenly spaced samples, and every corner of the line
  const stops: number[] = [];
  const m = Math.max(1, Math.ceil((stop - start) / sampling));
  for (let k = 0; k <= m; k++) stops.push(k === m ? stop : start + ((stop - start) * k) / m);
  for (let k = 1; k < n - 1; k++) if (at[k] > start && at[k] < stop) stops.push(at[k]);
  stops.sort((a, b) => a - b);
  const out = new Float64Array(3 * stops.length);
  let edge = 0;
  for (let k = 0; k < stops.length; k++) {
    const u = stops[k];
    while (edge < n - 2 && u > at[edge + 1]) edge++;
    const t = (u - at[edge]) / (at[edge + 1] - at[edge]);
    out[3 * k] = line[2 * edge] + t * (line[2 * edge + 2] - line[2 * edge]);
    out[3 * k + 1] = line[2 * edge + 1] + t * (line[2 * edge + 3] - line[2 * edge + 1]);
    out[3 * k + 2] = floor(u);
  }
  return out;
}

/**
 * Cuts one slot. `line`: its centre line from end to end, x, y pairs, two points or more; `floor(u)`: height of the floor
 * at length u along it (also a little before 0 and past its end, for the run-outs). Throws a RangeError when the slot has no
 * length, or a blind one is shorter than the cutter.
 */
export function slot(b: MoveBuilder, line: Float64Array, floor: (u: Mm) => Mm, o: SlotOptions): void {
  checkMotion(o);
  above0("passDepth", o.passDepth);
  above0("depth", o.depth);
  above0("cutterDiameter", o.cutterDiameter);
  const { clearance = 0.5, sampling = 0.25, rampAngle = RAMP_ANGLE, thin = SLOT_THIN } = o;
  const radius = o.cutterDiameter / 2;
  let length = 0;
  for (let k = 2; k < line.length; k += 2) {
    const L = Math.hypot(line[k] - line[k - 2], line[k + 1] - line[k - 1]);
    if (!(L > 0)) throw new RangeError("a slot's line has two equal points, or one that is not a number");
    length += L;
  }
  if (!(length > 0)) throw new RangeError("a slot needs a line of two points or more");
  const through = o.ends === "through";
  const start = through ? -radius - clearance : radius;
  const stop = through ? length + radius + clearance : length - radius;
  if (!(stop > start)) throw new RangeError(`a blind slot of ${length} mm is too short for a cutter of ${o.cutterDiameter} mm`);
  const entry = o.entry ?? (through ? "outside" : "ramp");
  if (entry === "outside" && !through) throw new RangeError("a blind slot cannot be entered from outside");
  const way = thinPath(wayOver(line, floor, start, stop, sampling), thin);
  if (!way.every(Number.isFinite)) throw new RangeError("a slot's floor is not a number somewhere along it");
  const passes = Math.max(1, Math.ceil(o.depth / o.passDepth - 1e-9));
  const bite = o.depth / passes;
  retract(b, o);
  for (let k = 1; k <= passes; k++) {
    const p = k % 2 === 1 ? way.slice() : reversedPath(way);
    for (let i = 2; i < p.length; i += 3) p[i] += (passes - k) * bite;
    if (entry === "ramp") {
      if (k === 1) rampIn(b, p, bite, o, rampAngle);
      else rampIn(b, p, bite, o, rampAngle, true);
    } else {
      if (k === 1) goAbove(b, p[0], p[1], o);
      b.lineTo(p[0], p[1], p[2], o.plunge);
    }
    follow(b, p, o.feed, 1);
    if (k === passes && o.clear !== undefined) follow(b, reversedPath(p), o.clear, 1);
  }
  retract(b, o);
}
