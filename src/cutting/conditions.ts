import { edgeForce } from "../materials/cutting-force.ts";
import type { Mm, MmPerSecond, Rpm } from "../units/index.ts";
import {
  chipThinning,
  cutterBend,
  feedFrom,
  machineGive,
  meanPower,
  type PassGeometry,
  POWER_SHARE,
  peakForce,
  rimSpeed,
} from "./force.ts";
import { edgeLength, effectiveDiameter, profileOf } from "./shape.ts";
import type { Conditions, Cutter, Machine } from "./types.ts";

/** How the cutter meets the wood. */
export type CutKind =
  /** Full width, the piece is far from finished. */
  | "slot"
  /** A strip at the side of what is cut already. */
  | "side"
  /** The last pass over a finished surface. */
  | "finish"
  /** Straight down: drills. */
  | "plunge"
  /** A slot as wide as a thin cutter: frets. */
  | "slot-narrow";

export interface Ask {
  /** Radial: width of the strip removed per pass; the diameter for a slot. */
  readonly step: Mm;
  /** Axial: what would be liked; less may come back. Missing: as deep as can be. For a finish: what roughing left. */
  readonly depth?: Mm;
  readonly kind: CutKind;
}

/** Most bend (cutter plus machine) by kind of cut, mm. From memory: roughing leaves half a millimetre, a fret slot's wall is what holds the fret. */
export const BEND_LIMIT: Readonly<Record<CutKind, Mm>> = { slot: 0.15, side: 0.15, finish: 0.03, plunge: 0.15, "slot-narrow": 0.03 };

/** The limit that holds on a machine: a finish cannot be asked to stand truer than the machine repeats. */
export const bendLimit = (kind: CutKind, machine: Machine): Mm =>
  kind === "finish" ? Math.max(BEND_LIMIT.finish, machine.repeat) : BEND_LIMIT[kind];

/** Below this a pass is not worth making and the cutter only polishes. From memory. */
export const LEAST_DEPTH: Mm = 0.05;

/** Chip thinning may raise the feed by this much at most: beyond it the ridges along the feed show. From memory. */
const MOST_THINNING = 3;

/** Feeds straight down and along ramps, as shares of the feed. Common practice, no source. */
const PLUNGE_SHARE = 0.3;
const RAMP_SHARE = 0.6;

/**
 * Deeper passes take a smaller chip: 1 up to one diameter deep, 0.78 at two, 0.55 at three (the middle of the ranges that
 * shop charts give: 20-25 % and 40-50 % less), linear between, constant beyond.
 */
export function depthShare(depth: Mm, diameter: Mm): number {
  const q = depth / diameter;
  if (q <= 1) return 1;
  if (q <= 2) return 1 - 0.22 * (q - 1);
  if (q <= 3) return 0.78 - 0.23 * (q - 2);
  return 0.55;
}

/** Most depth of one pass that the cutter's own data allow: its mark for a full slot (or one peck), up to half as much again beside an open side. */
export function deepestPass(cutter: Cutter, step: Mm, kind: CutKind): Mm {
  if (kind === "finish") return cutter.fluteLength;
  const share = kind === "side" ? Math.min(1.5, Math.max(1, cutter.diameter / step)) : 1;
  return Math.min(cutter.fluteLength, cutter.maxDepth * share);
}

const floorTo = (v: number, grain: number): number => Math.floor(v / grain + 1e-9) * grain;

/**
 * Speed, feed and depth for one kind of pass: as deep as asked or allowed, as fast as the chip and the machine bear. The
 * order of giving way: depth to the cutter's own limit, to the bend, to the spindle's power; speed to the cutter's mark;
 * feed to the machine's; chip last. `density` in kg/m3. What bound it is in `limitedBy`; what is still wrong after that
 * (a chip that rubs, a bend above its limit) is for `checkConditions` to say.
 */
export function conditionsFor(cutter: Cutter, machine: Machine, density: number, ask: Ask): Conditions {
  const profile = profileOf(cutter);
  const { flutes, chip } = cutter;
  const limits: string[] = [];
  const finish = ask.kind === "finish";

  // depth by the cutter's own data
  const deepest = deepestPass(cutter, ask.step, ask.kind);
  let depth = ask.depth ?? deepest;
  if (depth > deepest) depth = deepest;
  if (depth === deepest && !(ask.depth !== undefined && ask.depth <= deepest))
    limits.push(deepest === cutter.fluteLength ? "the length of the flutes" : "the depth marked for the cutter");

  const geometry = (d: Mm): PassGeometry => {
    const diameter = Math.max(1e-3, effectiveDiameter(profile, d));
    return { diameter, flutes, step: Math.min(ask.step, diameter), depth: d, edge: edgeLength(profile, d) };
  };
  // thickest chip aimed at: the most for roughing, the geometric middle where the surface or a thin cutter counts
  const aim = finish || ask.kind === "slot-narrow" ? Math.sqrt(chip.min * chip.max) : chip.max;

  const rpmHigh: Rpm = Math.min(machine.spindle.max, cutter.maxRpm);
  const rpmLow: Rpm = Math.min(machine.spindle.min, rpmHigh);
  const feedMost: MmPerSecond = ask.kind === "plunge" ? machine.feed.z : Math.min(machine.feed.x, machine.feed.y);

  const settle = (d: Mm): { rpm: Rpm; perTooth: Mm; thin: number; g: PassGeometry; by: string } => {
    const g = geometry(d);
    const thin = ask.kind === "plunge" ? 1 : Math.max(chipThinning(g.step, g.diameter), 1 / MOST_THINNING);
    let perTooth = (aim * (finish || ask.kind === "plunge" ? 1 : depthShare(d, cutter.diameter))) / thin;
    let rpm = rpmHigh;
    let by = rpmHigh < machine.spindle.max ? "the speed marked on the cutter" : "the spindle's top speed";
    if (feedFrom(perTooth, flutes, rpm) > feedMost) {
      by = "the machine's feed";
      rpm = Math.min(rpmHigh, Math.max(rpmLow, Math.ceil((feedMost * 60) / (perTooth * flutes) / 100) * 100));
      perTooth = Math.min(perTooth, (feedMost * 60) / (flutes * rpm));
    }
    return { rpm, perTooth, thin, g, by };
  };

  let s = settle(depth);
  const bendAt = (): Mm => {
    const f = peakForce(s.g, s.perTooth, density);
    return cutterBend(cutter, f) + machineGive(machine.stiffness, f);
  };
  const powerAt = (): number => meanPower(s.g, s.perTooth, s.rpm, density);
  const bendMost = bendLimit(ask.kind, machine);
  const powerMost = POWER_SHARE * machine.spindle.power;
  if (ask.kind === "plunge") return drilling(cutter, machine, density, ask.step, depth, s.perTooth, s.rpm, [...limits, s.by].join("; "));
  if (!finish) {
    // force and power grow steadily with depth: give way by halving the interval
    const tooMuch = (): string | null =>
      bendAt() > bendMost ? "the bend of cutter and machine" : powerAt() > powerMost ? "the spindle's power" : null;
    let why = tooMuch();
    if (why !== null) {
      let lo = Math.min(LEAST_DEPTH, depth);
      let hi = depth;
      for (let k = 0; k < 40; k++) {
        depth = (lo + hi) / 2;
        s = settle(depth);
        const w = tooMuch();
        if (w === null) lo = depth;
        else {
          hi = depth;
          why = w;
        }
      }
      depth = Math.max(Math.min(LEAST_DEPTH, hi), floorTo(lo, 0.01));
      s = settle(depth);
      limits[0] = why;
    }
  } else if (finish && bendAt() > bendMost) {
    // what roughing left must come off in one pass: only the chip can give way
    let lo = Math.min(s.perTooth, chip.min / s.thin);
    let hi = s.perTooth;
    const aimed = s;
    s = { ...aimed, perTooth: lo };
    if (bendAt() > bendMost) {
      // a thinner chip that does not help is not worth the time
      s = aimed;
    } else {
      for (let k = 0; k < 40; k++) {
        s = { ...s, perTooth: (lo + hi) / 2 };
        if (bendAt() > bendMost) hi = s.perTooth;
        else lo = s.perTooth;
      }
      s = { ...s, perTooth: lo };
      limits.push("the bend of cutter and machine");
    }
  }
  limits.push(s.by);

  // whole mm/min in the program
  const feed = Math.max(1, floorTo(feedFrom(s.perTooth, flutes, s.rpm) * 60, 1)) / 60;
  const perTooth = (feed * 60) / (flutes * s.rpm);
  s = { ...s, perTooth };
  const force = peakForce(s.g, perTooth, density);
  return {
    rpm: s.rpm,
    feed,
    plunge: Math.min(machine.feed.z, PLUNGE_SHARE * feed),
    ramp: RAMP_SHARE * feed,
    step: ask.step,
    depth,
    chip: perTooth * chipThinning(s.g.step, s.g.diameter),
    force,
    power: meanPower(s.g, perTooth, s.rpm, density),
    bend: cutterBend(cutter, force) + machineGive(machine.stiffness, force),
    limitedBy: limits.join("; "),
  };
}

/** Straight down: the lips part the wood over their radius; the machine gives along z, the cutter does not bend. */
function drilling(
  cutter: Cutter,
  machine: Machine,
  density: number,
  step: Mm,
  depth: Mm,
  perTooth: Mm,
  rpm: Rpm,
  limitedBy: string,
): Conditions {
  const feed = Math.max(1, floorTo(feedFrom(perTooth, cutter.flutes, rpm) * 60, 1)) / 60;
  const chip = (feed * 60) / (cutter.flutes * rpm);
  const radius = cutter.diameter / 2;
  const force = cutter.flutes * radius * edgeForce({ density, chip });
  // the lips' middle turns at half the rim's speed
  const power = (force * rimSpeed(cutter.diameter, rpm)) / 2;
  return { rpm, feed, plunge: feed, ramp: feed, step, depth, chip, force, power, bend: force / machine.stiffness.z, limitedBy };
}
