import type { MoveBuilder } from "../../kernel/moves.ts";
import type { Mm, MmPerSecond, Rad } from "../../units/index.ts";
import {
  above0,
  checkMotion,
  follow,
  goAbove,
  type Motion,
  type Path,
  RAMP_ANGLE,
  raised,
  rampIn,
  retract,
  reversedPath,
} from "./common.ts";

/*
 * Recesses with a flat bottom: round ones, and channels with round or open ends.
 *
 *   round                    channel                          groove (open ends)
 *    .-'''-.                  .----------------------.         ->|==========|->   starts and ends outside
 *   ( (@)   ) spiral of      (  ---> centre first     )          |==========|
 *    '-...-'  half circles    '----------------------'           wall passes, climbing on both
 */
export interface PocketOptions extends Motion {
  readonly cutterDiameter: Mm;
  /** Most depth per level. */
  readonly depth: Mm;
  /** Most width per ring or side pass. */
  readonly step: Mm;
  readonly rampAngle?: Rad;
  readonly milling?: "climb" | "conventional";
}

export interface RoundRecess {
  readonly diameter: Mm;
  readonly zTop: Mm;
  readonly zBottom: Mm;
}

/** The cutter's rim runs faster than its centre inside a curve: the centre's feed that keeps the rim at `feed` (plane geometry). */
export const feedInside = (feed: MmPerSecond, pathRadius: Mm, cutterRadius: Mm): MmPerSecond =>
  feed * Math.max(0.1, pathRadius / (pathRadius + cutterRadius));

function checkStep(o: PocketOptions): void {
  above0("step", o.step);
  if (o.step > o.cutterDiameter) throw new RangeError(`a step of ${o.step} mm leaves ridges behind a cutter of ${o.cutterDiameter} mm`);
}

/** A round recess: helix in the middle, spiral outward, full circle at the wall, level by level. */
export function roundPocket(b: MoveBuilder, x: Mm, y: Mm, recess: RoundRecess, o: PocketOptions): void {
  checkMotion(o);
  retract(b, o);
  clearRound(b, x, y, recess, o, false);
  retract(b, o);
}

/**
 * The work of `roundPocket` and `bore`. `inside`: the cutter stands in the middle of a wider step whose bottom is zTop.
 * Ends in the middle, a little above the bottom, still down.
 */
export function clearRound(b: MoveBuilder, x: Mm, y: Mm, recess: RoundRecess, o: PocketOptions, inside: boolean): void {
  const { cutterDiameter: d, rampAngle = RAMP_ANGLE } = o;
  const { zTop, zBottom } = recess;
  above0("depth", o.depth);
  checkStep(o);
  const r = (recess.diameter - d) / 2;
  if (!(r > 0.0005)) throw new RangeError(`a round recess of ${recess.diameter} mm is too narrow for a cutter of ${d} mm to spiral in`);
  if (!(zBottom < zTop)) throw new RangeError(`a recess from z ${zTop} to ${zBottom} has no depth`);
  const turn = o.milling === "conventional" ? -1 : 1;
  // up to this radius the cutter covers the middle
  const narrow = r <= d / 2 + 1e-9;
  const r0 = narrow ? r : Math.min(r, 0.45 * d);
  const levels = narrow ? 1 : Math.max(1, Math.ceil((zTop - zBottom) / o.depth - 1e-9));
  const pitch = Math.min(o.depth, 2 * Math.PI * r0 * Math.tan(rampAngle));
  const helixFeed = Math.min(o.ramp, feedInside(o.feed, r0, d / 2));
  for (let level = 1; level <= levels; level++) {
    const zFrom = zTop - ((zTop - zBottom) * (level - 1)) / levels;
    const zTo = level === levels ? zBottom : zTop - ((zTop - zBottom) * level) / levels;
    if (level === 1 && !inside) goAbove(b, x + r0, y, o, zTop);
    else {
      b.lineTo(x + r0, y, b.pz, o.feed);
      if (b.pz > zFrom) b.lineTo(x + r0, y, zFrom, o.plunge);
    }
    const turns = Math.max(1, Math.ceil((zFrom - zTo) / pitch - 1e-9));
    for (let k = 1; k <= turns; k++) {
      const z = k === turns ? zTo : zFrom - ((zFrom - zTo) * k) / turns;
      b.arcTo(x + r0, y, z, x, y, z, turn * 2 * Math.PI, helixFeed);
    }
    b.arcTo(x + r0, y, zTo, x, y, zTo, turn * 2 * Math.PI, feedInside(o.feed, r0, d / 2));
    if (!narrow && r > r0) {
      // half circles whose ends stand on the x axis, each step / 2 wider than the last
      const halves = 2 * Math.ceil((r - r0) / o.step - 1e-9);
      const grow = (r - r0) / halves;
      let from = r0;
      for (let k = 0; k < halves; k++) {
        const to = k === halves - 1 ? r : r0 + grow * (k + 1);
        const side = k % 2 === 0 ? -1 : 1;
        b.arcTo(x + side * to, y, zTo, x + (side * (to - from)) / 2, y, zTo, turn * Math.PI, feedInside(o.feed, from, d / 2));
        from = to;
      }
      b.arcTo(x + r, y, zTo, x, y, zTo, turn * 2 * Math.PI, feedInside(o.feed, r, d / 2));
    }
    // to the middle, off the floor, so that the way back leaves no mark
    b.lineTo(x, y, zTo + Math.min(0.2, (zTop - zBottom) / 4), o.feed);
  }
}

export interface Channel {
  /** Centres of the round ends (channel), or where the centre line meets the edges of the wood (groove). */
  readonly from: readonly [Mm, Mm];
  readonly to: readonly [Mm, Mm];
  readonly width: Mm;
  readonly zTop: Mm;
  readonly zBottom: Mm;
}

/** Widths within a micrometre are one pass. */
const SAME_WIDTH: Mm = 0.001;

interface Frame {
  /** Place at `along` from the start, `left` of the centre line. */
  at(along: Mm, left: Mm): readonly [Mm, Mm];
  readonly length: Mm;
}

function frameOf(c: Channel): Frame {
  const dx = c.to[0] - c.from[0];
  const dy = c.to[1] - c.from[1];
  const length = Math.hypot(dx, dy);
  const ux = length > 0 ? dx / length : 1;
  const uy = length > 0 ? dy / length : 0;
  return { length, at: (along, left) => [c.from[0] + along * ux - left * uy, c.from[1] + along * uy + left * ux] };
}

function checkChannel(c: Channel, o: PocketOptions): void {
  checkMotion(o);
  above0("depth", o.depth);
  checkStep(o);
  if (!(c.zBottom < c.zTop)) throw new RangeError(`a channel from z ${c.zTop} to ${c.zBottom} has no depth`);
  if (!(c.width >= o.cutterDiameter - SAME_WIDTH))
    throw new RangeError(`a channel of ${c.width} mm is narrower than its cutter of ${o.cutterDiameter} mm`);
}

const straight = (a: readonly [Mm, Mm], b: readonly [Mm, Mm], z: Mm): Path => Float64Array.from([a[0], a[1], z, b[0], b[1], z]);

/**
 * A channel with round ends of radius width / 2 about `from` and `to`. As wide as the cutter (within 1 um): passes back and
 * forth on the centre line, each ramping down, and a level one at last. Wider: per level the centre first, then rings
 * outward to the walls. No longer than 1 um: a round recess.
 */
export function channel(b: MoveBuilder, c: Channel, o: PocketOptions): void {
  checkChannel(c, o);
  const f = frameOf(c);
  const { cutterDiameter: d, rampAngle = RAMP_ANGLE } = o;
  if (f.length < 0.001) {
    roundPocket(b, c.from[0], c.from[1], { diameter: c.width, zTop: c.zTop, zBottom: c.zBottom }, o);
    return;
  }
  retract(b, o);
  const side = (c.width - d) / 2;
  const levels = Math.max(1, Math.ceil((c.zTop - c.zBottom) / o.depth - 1e-9));
  const centre = straight(c.from, c.to, 0);
  if (side <= SAME_WIDTH / 2) {
    // each pass ramps over the whole length, no steeper than the ramp angle
    const steepest = f.length * Math.tan(rampAngle);
    const passes = Math.max(levels, Math.ceil((c.zTop - c.zBottom) / steepest - 1e-9));
    goAbove(b, c.from[0], c.from[1], o, c.zTop);
    for (let k = 1; k <= passes; k++) {
      const zFrom = c.zTop - ((c.zTop - c.zBottom) * (k - 1)) / passes;
      const zTo = k === passes ? c.zBottom : c.zTop - ((c.zTop - c.zBottom) * k) / passes;
      const p = raised(k % 2 === 1 ? centre : reversedPath(centre), zFrom, zTo);
      // fed as a cut when the ramp is slight
      follow(b, p, (zFrom - zTo) / f.length > 0.02 ? o.ramp : o.feed);
    }
    follow(b, raised(passes % 2 === 1 ? reversedPath(centre) : centre, c.zBottom, c.zBottom), o.feed);
    retract(b, o);
    return;
  }
  const rings = Math.max(1, Math.ceil(side / o.step - 1e-9));
  const turn = o.milling === "conventional" ? -1 : 1;
  for (let level = 1; level <= levels; level++) {
    const zFrom = c.zTop - ((c.zTop - c.zBottom) * (level - 1)) / levels;
    const zTo = level === levels ? c.zBottom : c.zTop - ((c.zTop - c.zBottom) * level) / levels;
    const p = straight(c.from, c.to, zTo);
    if (level > 1) {
      // from the ring's end back to the start of the centre line, in what is cut already
      b.lineTo(c.from[0], c.from[1], b.pz, o.feed);
      rampIn(b, p, zFrom - zTo, o, rampAngle, true);
    } else rampIn(b, p, zFrom - zTo, o, rampAngle);
    follow(b, p, o.feed);
    for (let ring = 1; ring <= rings; ring++) {
      const r = ring === rings ? side : (side * ring) / rings;
      const curve = feedInside(o.feed, r, d / 2);
      // counter-clockwise round both ends: the wall is on the right
      const a = f.at(f.length, -turn * r);
      const e = f.at(f.length, turn * r);
      const g = f.at(0, turn * r);
      const h = f.at(0, -turn * r);
      b.lineTo(a[0], a[1], zTo, o.feed);
      b.arcTo(e[0], e[1], zTo, c.to[0], c.to[1], zTo, turn * Math.PI, curve);
      b.lineTo(g[0], g[1], zTo, o.feed);
      b.arcTo(h[0], h[1], zTo, c.from[0], c.from[1], zTo, turn * Math.PI, curve);
      b.lineTo(a[0], a[1], zTo, o.feed);
    }
    const mid = f.at(f.length, 0);
    b.lineTo(mid[0], mid[1], zTo, o.feed);
    if (level < levels) b.lineTo(c.from[0], c.from[1], zTo, o.feed);
  }
  retract(b, o);
}

export interface GrooveOptions extends PocketOptions {
  /** Beyond both ends by the cutter's radius and this much; default 1 mm. */
  readonly clearance?: Mm;
  /** outside: both run-outs lie in the air (default); ramp: there is wood, ramp down along the pass. */
  readonly entry?: "outside" | "ramp";
}

/**
 * A groove with open ends from edge to edge of the wood (a nut seat). The cutter runs out of the wood at both ends by its
 * radius and the clearance. The middle first, then outward in pairs, both walls climbing (or neither).
 */
export function groove(b: MoveBuilder, c: Channel, o: GrooveOptions): void {
  checkChannel(c, o);
  const f = frameOf(c);
  const { cutterDiameter: d, clearance = 1, entry = "outside", rampAngle = RAMP_ANGLE } = o;
  if (f.length < 0.001) throw new RangeError("a groove needs two different ends");
  retract(b, o);
  const out = d / 2 + clearance;
  const side = Math.max(0, (c.width - d) / 2);
  const single = side <= SAME_WIDTH / 2;
  const rings = single ? 0 : Math.max(1, Math.ceil(side / o.step - 1e-9));
  // narrow sides need no pass down the middle: the two walls meet
  const middle = single || side > d / 2 + 1e-9 || side > o.step;
  const levels = Math.max(1, Math.ceil((c.zTop - c.zBottom) / o.depth - 1e-9));
  const turn = o.milling === "conventional" ? -1 : 1;
  const pass = (left: Mm, forward: boolean, z: Mm): Path => {
    const a = f.at(-out, left);
    const e = f.at(f.length + out, left);
    return forward ? straight(a, e, z) : straight(e, a, z);
  };
  let forward = true;
  for (let level = 1; level <= levels; level++) {
    const zFrom = c.zTop - ((c.zTop - c.zBottom) * (level - 1)) / levels;
    const zTo = level === levels ? c.zBottom : c.zTop - ((c.zTop - c.zBottom) * level) / levels;
    const passes: Path[] = [];
    if (middle) {
      passes.push(pass(0, forward, zTo));
      if (single) forward = !forward;
    }
    for (let ring = 1; ring <= rings; ring++) {
      const left = ring === rings ? side : (side * ring) / rings;
      // the wall on the right of the travel: forward along the right wall, back along the left one
      passes.push(pass(-turn * left, true, zTo), pass(turn * left, false, zTo));
    }
    for (const p of passes) {
      const near = b.pz < o.approachZ && Math.hypot(b.px - p[0], b.py - p[1]) <= c.width + 1e-6;
      if (entry === "outside") {
        if (!near) goAbove(b, p[0], p[1], o);
        else if (b.px !== p[0] || b.py !== p[1]) b.lineTo(p[0], p[1], b.pz, o.feed);
        if (b.pz !== zTo) b.lineTo(p[0], p[1], zTo, o.plunge);
      } else rampIn(b, p, zFrom - zTo, o, rampAngle);
      follow(b, p, o.feed);
    }
  }
  retract(b, o);
}
