import { DEFAULT_FORCE, edgeForce } from "../materials/cutting-force.ts";
import type { Mm, MmPerSecond, Rad, Rpm } from "../units/index.ts";
import { cutterCompliance, FRAME_FOLLOWS, feedFrom, machineGive, POWER_SHARE, powerAt, rimSpeed } from "./force.ts";
import { chipShare, type Loads, passLoads, type WoodState } from "./loads.ts";
import { profileOf } from "./shape.ts";
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
  /** Moisture, direction to the grain, sharpness and the shop's coefficients; absent: 12 %, the worst direction, sharp, the default ones. */
  readonly wood?: Omit<WoodState, "density">;
  /** Most bend of cutter and machine together; absent: that of the kind. */
  readonly bend?: Mm;
  /** finish: steepest angle of the finished surface to the horizontal; absent: a wall, on which all of the bend shows. */
  readonly slope?: Rad;
  /** finish: what roughing left may come off in even layers when it bends too much at once; the depth that comes back is one layer's. */
  readonly layers?: boolean;
}

/**
 * Most bend (cutter plus machine) by kind of cut, mm. From memory: roughing leaves half a millimetre, a fret slot's wall is what holds the
 * fret. Straight down the frame only gives along the axis, and comes back as soon as the feed stops and the lips have cut free.
 */
export const BEND_LIMIT: Readonly<Record<CutKind, Mm>> = { slot: 0.15, side: 0.15, finish: 0.03, plunge: 0.3, "slot-narrow": 0.03 };

/** The limit that holds on a machine: a finish cannot be asked to stand truer than the machine repeats. */
export const bendLimit = (kind: CutKind, machine: Machine): Mm =>
  kind === "finish" ? Math.max(BEND_LIMIT.finish, machine.repeat) : BEND_LIMIT[kind];

/** Below this a pass is not worth making and the cutter only polishes. From memory. */
export const LEAST_DEPTH: Mm = 0.05;

/** Chip thinning may raise the feed by this much at most: beyond it the ridges along the feed show. From memory. */
const MOST_THINNING = 3;

/** A finishing layer is never split into more. From memory: then another cutter or machine is wanted. */
const MOST_LAYERS = 4;

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

/** A pass as it has been settled: speed and feed per tooth, its loads, what bound the feed. */
interface Settled {
  readonly depth: Mm;
  readonly rpm: Rpm;
  readonly perTooth: Mm;
  readonly loads: Loads;
  readonly bend: Mm;
  /** What of the bend shows on the finished surface. */
  readonly shows: Mm;
  readonly by: string;
}

/** Share of a sideways bend that shows even on a level surface: cutter and frame tilt. From memory. */
const TILT_SHOWS = 0.25;

/**
 * Speed, feed and depth for one kind of pass: as deep as asked or allowed, as fast as the chip and the machine bear. The
 * order of giving way: depth to the cutter's own limit, to the bend, to the spindle's power; speed to the cutter's mark;
 * feed to the machine's; chip last. `density` in kg/m3. What bound it is in `limitedBy`; what is still wrong after that
 * (a chip that rubs, a bend above its limit) is for `checkConditions` to say.
 */
export function conditionsFor(cutter: Cutter, machine: Machine, density: number, ask: Ask): Conditions {
  if (ask.kind === "plunge") return drilling(cutter, machine, density, ask);
  const profile = profileOf(cutter);
  const { flutes, chip, diameter } = cutter;
  const wood: WoodState = { ...ask.wood, density };
  const compliance = cutterCompliance(cutter);
  const finish = ask.kind === "finish";
  const byDepth: string[] = [];

  const deepest = deepestPass(cutter, ask.step, ask.kind);
  const depth = Math.min(ask.depth ?? deepest, deepest);
  if (depth === deepest && !(ask.depth !== undefined && ask.depth <= deepest))
    byDepth.push(deepest === cutter.fluteLength ? "the length of the flutes" : "the depth marked for the cutter");

  // thickest chip aimed at: the most for roughing, the geometric middle where the surface or a thin cutter counts
  const aim = finish || ask.kind === "slot-narrow" ? Math.sqrt(chip.min * chip.max) : chip.max;
  const rpmHigh: Rpm = Math.min(machine.spindle.max, cutter.maxRpm);
  const rpmLow: Rpm = Math.min(machine.spindle.min, rpmHigh);
  const feedMost: MmPerSecond = Math.min(machine.feed.x, machine.feed.y);

  const at = (d: Mm, perTooth: Mm, rpm: Rpm, by: string): Settled => {
    const loads = passLoads({ profile, flutes, step: ask.step, depth: d, perTooth, rpm }, wood);
    const frame = loads.mean + FRAME_FOLLOWS * (loads.peak - loads.mean);
    const across = loads.peak * compliance + machineGive(machine.stiffness, frame);
    const up = loads.lift / machine.stiffness.z;
    const bend = Math.hypot(across, up);
    const shows = ask.slope === undefined ? bend : across * Math.max(TILT_SHOWS, Math.sin(ask.slope)) + up * Math.cos(ask.slope);
    return { depth: d, rpm, perTooth, loads, bend, shows, by };
  };
  const settle = (d: Mm): Settled => {
    const share = Math.max(chipShare(profile, ask.step, d), 1 / MOST_THINNING);
    const wanted = (aim * (finish ? 1 : depthShare(d, diameter))) / share;
    const whose = rpmHigh < machine.spindle.max ? "the speed marked on the cutter" : "the spindle's top speed";
    if (feedFrom(wanted, flutes, rpmHigh) <= feedMost) return at(d, wanted, rpmHigh, whose);
    const rpm = Math.min(rpmHigh, Math.max(rpmLow, Math.ceil((feedMost * 60) / (wanted * flutes) / 100) * 100));
    return at(d, Math.min(wanted, (feedMost * 60) / (flutes * rpm)), rpm, "the machine's feed");
  };

  const bendMost = ask.bend ?? bendLimit(ask.kind, machine);
  const tooMuch = (s: Settled): string | null =>
    s.shows > bendMost
      ? "the bend of cutter and machine"
      : s.loads.power > POWER_SHARE * powerAt(machine.spindle, s.rpm)
        ? "the spindle's power"
        : null;
  let s = settle(depth);
  let why = tooMuch(s);
  if (why !== null && !finish) {
    // force and power grow steadily with depth: give way by halving the interval
    let lo = Math.min(LEAST_DEPTH, depth);
    let hi = depth;
    for (let k = 0; k < 24; k++) {
      const middle = (lo + hi) / 2;
      const w = tooMuch(settle(middle));
      if (w === null) lo = middle;
      else {
        hi = middle;
        why = w;
      }
    }
    s = settle(Math.max(Math.min(LEAST_DEPTH, hi), floorTo(lo, 0.01)));
    byDepth[0] = why;
  } else if (why !== null) {
    // what roughing left must come off in one pass: only the chip can give way
    const aimed = s;
    const chipAt = (perTooth: Mm): Settled => at(aimed.depth, perTooth, aimed.rpm, aimed.by);
    let lo = Math.min(aimed.perTooth, chip.min / Math.max(1e-6, chipShare(profile, ask.step, aimed.depth)));
    let hi = aimed.perTooth;
    // a thinner chip that does not help is not worth the time
    if (tooMuch(chipAt(lo)) === null) {
      for (let k = 0; k < 24; k++) {
        const middle = (lo + hi) / 2;
        if (tooMuch(chipAt(middle)) === null) lo = middle;
        else hi = middle;
      }
      s = { ...chipAt(lo), by: why };
    } else if (ask.layers === true) {
      const most = s.depth;
      for (let n = 2; n <= MOST_LAYERS && tooMuch(s) !== null; n++) s = settle(most / n);
      byDepth[0] = why;
    }
  }

  // whole mm/min in the program
  const feed = Math.max(1, floorTo(feedFrom(s.perTooth, flutes, s.rpm) * 60, 1)) / 60;
  s = at(s.depth, (feed * 60) / (flutes * s.rpm), s.rpm, s.by);
  const { loads } = s;
  const still = at(s.depth, 0, s.rpm, s.by);
  return {
    rpm: s.rpm,
    feed,
    plunge: Math.min(machine.feed.z, PLUNGE_SHARE * feed),
    ramp: RAMP_SHARE * feed,
    step: ask.step,
    depth: s.depth,
    chip: loads.chip,
    force: loads.peak,
    power: loads.power,
    bend: s.bend,
    shows: s.shows,
    limitedBy: [...byDepth.map((b) => `depth by ${b}`), `feed by ${s.by}`].join("; "),
    meanForce: loads.mean,
    torque: loads.torque,
    engagement: loads.engagement,
    removal: loads.removal,
    edgeOnly: { force: still.loads.peak, bend: still.bend, shows: still.shows, power: still.loads.power },
    bendLimit: bendMost,
    thinning: loads.chip > 0 ? s.perTooth / loads.chip : 1,
  };
}

/** Straight down: the lips part the wood over their radius; the machine gives along z, the cutter does not bend. */
function drilling(cutter: Cutter, machine: Machine, density: number, ask: Ask): Conditions {
  const { flutes, chip } = cutter;
  const rpmHigh = Math.min(machine.spindle.max, cutter.maxRpm);
  const rpmLow = Math.min(machine.spindle.min, rpmHigh);
  const deepest = deepestPass(cutter, ask.step, "plunge");
  const depth = Math.min(ask.depth ?? deepest, deepest);
  const wood = ask.wood ?? {};
  const radius = cutter.diameter / 2;
  const lips = (h: Mm): number => {
    const state = { density, chip: h, ...(wood.moisture === undefined ? {} : { moisture: wood.moisture }), dull: wood.dull ?? false };
    // square to the grain on the way round, half the time on average
    const model = wood.model ?? DEFAULT_FORCE;
    return flutes * radius * edgeForce({ ...state, grainAngle: Math.PI / 4 }, model);
  };
  const limits = ask.depth === undefined || ask.depth > deepest ? ["depth by the depth marked for the cutter"] : [];
  let rpm = rpmHigh;
  let perTooth = chip.max;
  let by = rpmHigh < machine.spindle.max ? "the speed marked on the cutter" : "the spindle's top speed";
  if (feedFrom(perTooth, flutes, rpm) > machine.feed.z) {
    by = "the machine's feed";
    rpm = Math.min(rpmHigh, Math.max(rpmLow, Math.ceil((machine.feed.z * 60) / (perTooth * flutes) / 100) * 100));
    perTooth = Math.min(perTooth, (machine.feed.z * 60) / (flutes * rpm));
  }
  const bendMost = ask.bend ?? bendLimit("plunge", machine);
  if (lips(perTooth) / machine.stiffness.z > bendMost && perTooth > chip.min) {
    let [lo, hi] = [Math.min(chip.min, perTooth), perTooth];
    for (let k = 0; k < 40; k++) {
      const middle = (lo + hi) / 2;
      if (lips(middle) / machine.stiffness.z > bendMost) hi = middle;
      else lo = middle;
    }
    perTooth = lo;
    by = "the bend of cutter and machine";
  }
  const feed = Math.max(1, floorTo(feedFrom(perTooth, flutes, rpm) * 60, 1)) / 60;
  const h = (feed * 60) / (flutes * rpm);
  const force = lips(h);
  // the lips' middle turns at half the rim's speed
  const power = (force * rimSpeed(cutter.diameter, rpm)) / 2;
  const removal = Math.PI * radius * radius * feed;
  return {
    rpm,
    feed,
    plunge: feed,
    ramp: feed,
    step: ask.step,
    depth,
    chip: h,
    force,
    power,
    bend: force / machine.stiffness.z,
    limitedBy: [...limits, `feed by ${by}`].join("; "),
    meanForce: force,
    torque: (power * 60_000) / (2 * Math.PI * rpm),
    engagement: 2 * Math.PI,
    removal,
    edgeOnly: {
      force: lips(0),
      bend: lips(0) / machine.stiffness.z,
      shows: lips(0) / machine.stiffness.z,
      power: (lips(0) * rimSpeed(cutter.diameter, rpm)) / 2,
    },
    bendLimit: bendMost,
    thinning: 1,
  };
}

/** A way of clearing: its conditions, and what they take off in a second. */
export interface ClearingMode<C extends Conditions = Conditions> {
  readonly name: "deep and narrow" | "shallow and wide";
  readonly conditions: C;
  /** Passes down the whole depth. */
  readonly levels: number;
  /** mm3/s, with the levels evenly deep. */
  readonly removal: number;
}

/** Steps tried when clearing, as shares of the cutter's diameter. */
const NARROW: readonly number[] = [0.1, 0.15, 0.2, 0.25];
const WIDE: readonly number[] = [0.3, 0.4];
/** Narrow passes lie closer and turn more often: they must be quicker by so much to be chosen. */
const QUICKER = 1.01;

/** The conditions of levels made evenly deep; what bound their depth is still what bound the deepest. */
function evenly<C extends Conditions>(deepest: C, even: C): C {
  const depth = deepest.limitedBy.split("; ").filter((l) => l.startsWith("depth by"));
  const others = even.limitedBy.split("; ").filter((l) => !l.startsWith("depth by"));
  return { ...even, limitedBy: [...depth, ...others].join("; ") };
}

/**
 * The two ways of clearing `total` deep with a cutter of this diameter, each with the step that takes off most under the loads it may
 * have (`under`: the conditions of a step and a depth): deep and narrow (few levels, a thin strip) and shallow and wide. The better one
 * first. What either loses at its turns is not in it.
 */
export function clearingModes<C extends Conditions>(
  diameter: Mm,
  total: Mm,
  under: (step: Mm, depth: Mm) => C,
): readonly [ClearingMode<C>, ClearingMode<C>] {
  const best = (name: ClearingMode["name"], shares: readonly number[]): ClearingMode<C> => {
    let most: ClearingMode<C> | null = null;
    for (const share of shares) {
      const free = under(share * diameter, total);
      const levels = Math.max(1, Math.ceil(total / free.depth - 1e-9));
      const conditions = levels === 1 ? free : evenly(free, under(share * diameter, total / levels));
      const removal = conditions.removal ?? 0;
      if (most === null || removal > most.removal) most = { name, conditions, levels, removal };
    }
    return most!;
  };
  const [narrow, wide] = [best("deep and narrow", NARROW), best("shallow and wide", WIDE)];
  return narrow.removal > QUICKER * wide.removal ? [narrow, wide] : [wide, narrow];
}

/** What of a cut's bend is judged: all of it, or what shows on the surface it finishes. */
export const showsOf = (c: Conditions): Mm => c.shows ?? c.bend;

/** The thickest layer that a finishing pass may meet for the bend to stay within its limit: what roughing should leave at most. */
export function finishLayer(cutter: Cutter, machine: Machine, density: number, ask: Omit<Ask, "kind" | "depth">, most: Mm): Mm {
  const fits = (depth: Mm): boolean =>
    showsOf(conditionsFor(cutter, machine, density, { ...ask, kind: "finish", depth })) <= (ask.bend ?? bendLimit("finish", machine));
  if (fits(most)) return most;
  let [lo, hi] = [0, most];
  for (let k = 0; k < 20; k++) {
    const middle = (lo + hi) / 2;
    if (fits(middle)) lo = middle;
    else hi = middle;
  }
  return lo;
}
