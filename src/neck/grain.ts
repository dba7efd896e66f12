import type { Mm, Rad } from "../units/index.ts";
import { stripsOf } from "./figures/section.ts";
import type { Neck } from "./types.ts";

/*
 * How the shaft's fibres lie, and what a turning cutter does to them at an upright wall, seen from above.
 *
 * A spindle that turns clockwise (M3) drives its cutting edge past a wall in one direction only, whichever way the cutter is fed:
 * with the kept wood on the right of the feed (climb) the edge runs against the feed, with it on the left (conventional) along it.
 *
 *        kept wood               fibres ======            edge ->   "with": fibres lean out of the kept wood ahead of the edge,
 *      _________________         ______\\\\\\_______                   what splits runs out into the waste
 *         (cutter) edge ->                                edge <-   "against": they dive into the kept wood; an edge that
 *                                                                   climbs out of the wall lifts them and tears pieces out
 *
 * Where the edge runs with the fibres, conventional feed is feed downhill; where it runs against them, climbing feed is. So
 * "feed downhill, from wide to narrow" is right on every wall. Common practice, no source; the geometry above is its reason.
 */

/** Direction of the shaft's fibres in plan at a place, as a unit vector (either way along them). */
export type Fibres = (x: Mm, y: Mm) => readonly [number, number];

/** Along x everywhere. */
export const STRAIGHT: Fibres = () => [1, 0];

/**
 * The fibres of a neck, neck frame: along the blank (and so turned against the neck by as much as the neck is turned in it), each
 * strip of a laminated shaft by its own angle besides.
 */
export function fibresOf(neck: Neck): Fibres {
  const { blank, hand } = neck.order;
  const treble = hand === "left" ? -1 : 1;
  // the neck turned from the blank's length toward the edge away from the datum sees the blank's length turned back
  const turned = (blank.rotation ?? 0) * (blank.datumEdge === "bass" ? -1 : 1) * treble;
  const strips = stripsOf(neck);
  if (turned === 0 && strips.every((s) => s.grain === 0)) return STRAIGHT;
  return (_x, y) => {
    const a = turned + treble * (strips.find((s) => y <= s.to)?.grain ?? 0);
    return [Math.cos(a), Math.sin(a)];
  };
}

/** Seen from above with the neck turned to a machine or to its back, fibres keep their line; only its sense may turn. */
export interface WallGrain {
  /** Acute angle between the wall and the fibres: 0 along them, pi/2 end grain. */
  readonly angle: Rad;
  /** Whether feed along the given direction is downhill: fibres lean out of the kept wood ahead of it. */
  readonly downhill: boolean;
}

/**
 * The grain at a wall whose outward normal (away from the kept wood) is (nx, ny), for a feed along (tx, ty); all unit vectors in
 * one plane seen from above.
 */
export function wallGrain(nx: number, ny: number, tx: number, ty: number, fx: number, fy: number): WallGrain {
  const out = fx * nx + fy * ny;
  const along = fx * tx + fy * ty;
  return { angle: Math.asin(Math.min(1, Math.abs(out))), downhill: out * along >= 0 };
}
