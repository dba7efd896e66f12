import type { Profile } from "../kernel/profile.ts";
import { DEFAULT_FORCE, type ForceModel, woodFactor } from "../materials/cutting-force.ts";
import type { Mm, Newton, Rad, Rpm, Watt } from "../units/index.ts";
import { edgeLength, effectiveDiameter, radiusAtHeight, tipHeight } from "./shape.ts";

/*
 * What a steady pass does to the cutter, by summing the law of the edge over the edge and over a turn.
 *
 *   from above, one slice of the cutter at height z, radius r:      along the axis:
 *            wood                                                       |      /  r(z)
 *      ......|_____  <- step ->        phi counts from the side         |     /
 *          .-'|'-.                     of the uncut wood: a tooth       |   .'   dz of height is dl of edge,
 *         (   o   )  --> feed          is in the wood for               |_.-'    leaning by sin kappa = dz / dl
 *          '-...-'                     0 < phi < theta(z),
 *      previous pass                   cos theta = 1 - step / r(z)
 *
 * A tooth's chip is perTooth sin(phi) sin(kappa) thick: thinned by the step (phi stays below theta) and by the lean of a ball
 * or taper (kappa). Its section is perTooth sin(phi) dz. (Plane geometry; the radial part as in machining handbooks.) The edges
 * are taken as straight: a helix spreads the peak, so that this errs on the safe side.
 */

/** One pass at a steady feed. */
export interface Pass {
  readonly profile: Profile;
  readonly flutes: number;
  /** Width of the strip removed per pass at the depth's top; the diameter or more for a slot. */
  readonly step: Mm;
  readonly depth: Mm;
  /** Feed per tooth. */
  readonly perTooth: Mm;
  readonly rpm: Rpm;
}

/** The wood as it is cut. */
export interface WoodState {
  /** kg/m3 */
  readonly density: number;
  /** Percent; absent: 12. */
  readonly moisture?: number;
  /** Direction of the feed to the grain; "any" (when absent): whichever is worst. */
  readonly grain?: Rad | "any";
  readonly dull?: boolean;
  readonly model?: ForceModel;
}

export interface Loads {
  /** Thickest chip of a tooth. */
  readonly chip: Mm;
  /** How far round the cutter the wood goes, at the top of the depth. */
  readonly engagement: Rad;
  /** Largest force across the axis at any moment of a turn. */
  readonly peak: Newton;
  /** Force across the axis, averaged over a turn as a vector: what the machine's frame feels. */
  readonly mean: Newton;
  /** Averaged force along the axis, away from the wood. */
  readonly lift: Newton;
  /** Averaged moment about the axis, N mm. */
  readonly torque: number;
  readonly power: Watt;
  /** Wood taken off, mm3/s. */
  readonly removal: number;
  /** Work per volume, J/mm3 = 1000 N/mm2: power over removal. */
  readonly specific: number;
}

interface Slice {
  readonly r: Mm;
  readonly dz: Mm;
  readonly dl: Mm;
  readonly theta: Rad;
}

/** Slices of the curved part of a profile, thinner at the tip where it curves most. */
const SLICES = 12;
/** Gauss-Legendre on [0, 1], 8 points: exact for what turns with a tooth to better than 1e-9. */
const NODES: readonly number[] = [
  0.019855071751232, 0.101666761293187, 0.237233795041836, 0.408282678752175, 0.591717321247825, 0.762766204958164, 0.898333238706813,
  0.980144928248768,
];
const WEIGHTS: readonly number[] = [
  0.050614268145188, 0.111190517226687, 0.156853322938944, 0.181341891689181, 0.181341891689181, 0.156853322938944, 0.111190517226687,
  0.050614268145188,
];
/** Moments of a turn looked at for the peak. */
const MOMENTS = 48;
const GRAINS: readonly Rad[] = [0, Math.PI / 4, Math.PI / 2, (3 * Math.PI) / 4];

/** theta of a slice of radius r: half a turn once the step covers it. */
const contact = (step: Mm, r: Mm): Rad => Math.acos(Math.max(-1, 1 - step / r));

function slicesOf(p: Profile, step: Mm, depth: Mm): Slice[] {
  const out: Slice[] = [];
  const curved = Math.min(depth, tipHeight(p));
  let z0 = 0;
  let l0 = 0;
  for (let k = 1; k <= SLICES && curved > 0; k++) {
    const z1 = curved * (k / SLICES) ** 2;
    const l1 = edgeLength(p, z1);
    // the middle of the edge, not of the height
    const r = radiusAtHeight(p, curved * ((k - 0.5) / SLICES) ** 2);
    if (r > 0) out.push({ r, dz: z1 - z0, dl: l1 - l0, theta: contact(step, r) });
    z0 = z1;
    l0 = l1;
  }
  if (depth > curved) {
    const r = p.radius;
    out.push({ r, dz: depth - curved, dl: depth - curved, theta: contact(step, r) });
  }
  return out;
}

/**
 * Thickest chip over feed per tooth: the largest of sin(phi) sin(kappa) where there is wood. For a flat cutter this is the
 * handbooks' chip thinning 2 sqrt(q - q^2), q = step / diameter, and 1 from half the diameter on.
 */
export function chipShare(p: Profile, step: Mm, depth: Mm): number {
  let most = 0;
  const at = (z: Mm, sinKappa: number): void => {
    const r = radiusAtHeight(p, z);
    if (!(r > 0)) return;
    const theta = contact(step, r);
    most = Math.max(most, (theta < Math.PI / 2 ? Math.sin(theta) : 1) * sinKappa);
  };
  const curved = Math.min(depth, tipHeight(p));
  for (let k = 1; k <= 4 * SLICES; k++) {
    const z = (curved * k) / (4 * SLICES);
    at(z, leanAt(p, z));
  }
  if (depth > curved) at(depth, 1);
  return most;
}

/** sin kappa of a profile at a height: 0 at the middle of a ball, 1 on an upright side. */
function leanAt(p: Profile, z: Mm): number {
  const cone = p.cone > 0 ? p.cone / Math.hypot(1, p.cone) : 1;
  if (p.corner <= 0) return cone;
  const c = Math.max(0, 1 - z / p.corner);
  return Math.min(cone, Math.sqrt(1 - c * c));
}

/** Chip, forces, moment and power of a pass. Nothing in the wood (no depth or step): all zero. */
export function passLoads(pass: Pass, wood: WoodState): Loads {
  const { profile, flutes, step, depth, perTooth, rpm } = pass;
  const model = wood.model ?? DEFAULT_FORCE;
  const grain = wood.grain ?? "any";
  const slices = depth > 0 && step > 0 ? slicesOf(profile, step, depth) : [];
  const factor = woodFactor(wood, model);
  let worst: Turn = NO_TURN;
  for (const beta of grain === "any" ? GRAINS : [grain]) {
    const t = turn(slices, flutes, perTooth, factor, beta, model);
    worst = {
      peak: Math.max(worst.peak, t.peak),
      mean: Math.max(worst.mean, t.mean),
      lift: Math.max(worst.lift, t.lift),
      torque: Math.max(worst.torque, t.torque),
    };
  }
  const removal = (section(profile, step, depth) * perTooth * flutes * rpm) / 60;
  // N mm times rad/s are mW
  const power = (worst.torque * 2 * Math.PI * rpm) / 60_000;
  return {
    ...worst,
    chip: perTooth * chipShare(profile, step, depth),
    engagement: slices.at(-1)?.theta ?? 0,
    power,
    removal,
    specific: removal > 0 ? power / removal : 0,
  };
}

/** Section of wood a pass takes, seen along the feed: the strip beside the previous pass, as wide as the step at every height. */
function section(p: Profile, step: Mm, depth: Mm): number {
  return slicesOf(p, step, depth).reduce((a, s) => a + s.dz * Math.min(step, 2 * s.r), 0);
}

interface Turn {
  readonly peak: Newton;
  readonly mean: Newton;
  readonly lift: Newton;
  readonly torque: number;
}
const NO_TURN: Turn = { peak: 0, mean: 0, lift: 0, torque: 0 };

/** One whole turn, the feed at `beta` to the grain. Climbing: a tooth enters where the chip is thickest. */
function turn(slices: readonly Slice[], flutes: number, perTooth: Mm, factor: number, beta: Rad, m: ForceModel): Turn {
  let fx = 0;
  let fy = 0;
  let fz = 0;
  let moment = 0;
  for (const s of slices) {
    const kappa = s.dz / s.dl;
    const lean = Math.sqrt(Math.max(0, 1 - kappa * kappa));
    for (let k = 0; k < NODES.length; k++) {
      const phi = NODES[k] * s.theta;
      const [sin, cos] = [Math.sin(phi), Math.cos(phi)];
      const across = Math.sin(phi + beta);
      const f = (m.edge * s.dl + m.perChip * perTooth * sin * s.dz) * factor * (1 + (m.endGrain - 1) * across * across);
      const w = f * WEIGHTS[k] * s.theta;
      const push = m.normal * w;
      fx += w * cos - push * kappa * sin;
      fy -= w * sin + push * kappa * cos;
      fz += push * lean;
      moment += w * s.r;
    }
  }
  const share = flutes / (2 * Math.PI);
  return {
    mean: share * Math.hypot(fx, fy),
    lift: share * fz,
    torque: share * moment,
    peak: peakOf(slices, flutes, perTooth, factor, beta, m),
  };
}

/** The largest sum of all teeth over the moments of one tooth's way to the next, and each tooth alone at its thickest chip. */
function peakOf(slices: readonly Slice[], flutes: number, perTooth: Mm, factor: number, beta: Rad, m: ForceModel): Newton {
  const top = slices.reduce((a, s) => Math.max(a, s.theta), 0);
  let most = 0;
  for (let k = 0; k <= MOMENTS; k++) {
    let fx = 0;
    let fy = 0;
    for (let j = 0; j < flutes; j++) {
      const phi = (top * k) / MOMENTS - (2 * Math.PI * j) / flutes;
      // teeth behind stand at whole steps of a turn, on either side
      const at = phi < 0 ? phi + 2 * Math.PI : phi;
      if (at > top) continue;
      const [sin, cos] = [Math.sin(at), Math.cos(at)];
      const across = Math.sin(at + beta);
      const grain = factor * (1 + (m.endGrain - 1) * across * across);
      for (const s of slices) {
        if (at > s.theta + 1e-12) continue;
        const f = (m.edge * s.dl + m.perChip * perTooth * Math.abs(sin) * s.dz) * grain;
        const kappa = s.dz / s.dl;
        fx += f * cos - m.normal * f * kappa * sin;
        fy -= f * sin + m.normal * f * kappa * cos;
      }
    }
    most = Math.max(most, Math.hypot(fx, fy));
  }
  return most;
}

/** Diameter at which the pass works: where the depth's top touches it. */
export const workingDiameter = (p: Profile, depth: Mm): Mm => Math.max(1e-3, effectiveDiameter(p, depth));
