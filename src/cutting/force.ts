import type { MegaPascal, Mm, MmPerSecond, Newton, NewtonPerMm, Rad, Rpm, Watt } from "../units/index.ts";
import type { Cutter, Machine } from "./types.ts";

/*
 * Chip, force, power and bend as functions of one pass. Lengths mm, feed mm/s, force N, modulus MPa (N/mm2).
 */

/** Share of the electrical power of a spindle that is planned with. From memory. */
export const POWER_SHARE = 0.7;

/** Radial engagement angle: theta = arccos(1 - 2 ae / D) (plane geometry); half a turn for a slot. */
export const engagementAngle = (step: Mm, diameter: Mm): Rad => Math.acos(Math.max(-1, 1 - (2 * Math.min(step, diameter)) / diameter));

/** Thickest chip over feed per tooth: 2 sqrt(q - q^2) with q = ae / D for ae < D / 2, otherwise 1 (chip thinning, machining handbooks). */
export function chipThinning(step: Mm, diameter: Mm): number {
  const q = step / diameter;
  if (q >= 0.5) return 1;
  return 2 * Math.sqrt(q - q * q);
}

/** Mean chip over feed per tooth: the area ae * fz spread over the arc theta * D / 2. */
export const meanChipShare = (step: Mm, diameter: Mm): number =>
  (2 * Math.min(step, diameter)) / (diameter * engagementAngle(step, diameter));

/** Speed of the rim in m/s: pi D n / 60000. */
export const rimSpeed = (diameter: Mm, rpm: Rpm): number => (Math.PI * diameter * rpm) / 60000;

/** Feed from chip: z fz n / 60, mm/s. */
export const feedFrom = (perTooth: Mm, flutes: number, rpm: Rpm): MmPerSecond => (perTooth * flutes * rpm) / 60;

/** How many teeth cut at once on average. */
export const teethInCut = (step: Mm, diameter: Mm, flutes: number): number => (flutes * engagementAngle(step, diameter)) / (2 * Math.PI);

/** Bend of a round bar held at one end: F L^3 / (3 E I), I = pi d^4 / 64 (Euler-Bernoulli). */
export const barBend = (force: Newton, length: Mm, diameter: Mm, modulus: MegaPascal): Mm =>
  (force * length ** 3) / (3 * modulus * ((Math.PI * diameter ** 4) / 64));

/** Fluted parts bend like a bar of 0.80 of their diameter (Kops and Vo, CIRP Annals 1990). */
export const FLUTED_SHARE = 0.8;

/** Diameter of a tapered cutter's flutes at a height above the tip. */
function flutesAt(cutter: Cutter, z: Mm): Mm {
  if (cutter.shape !== "taper" && cutter.shape !== "vee") return cutter.diameter;
  return Math.min(cutter.diameter, cutter.tipDiameter + 2 * z * Math.tan(cutter.tipAngle / 2));
}

/** Least diameter that the beam of a pointed tip is reckoned with, as a share of the cutter's: a point carries no load. From memory. */
const LEAST_TIP = 0.1;

/**
 * Bend at the tip for 1 N across the axis there, mm/N: integral of z^2 / (E I(z)) from the tip to the holder (Euler-Bernoulli),
 * I = pi d^4 / 64; flutes count with 0.8 of their diameter at z, the shank with all of its own. Simpson's rule, exact for parts
 * of one diameter.
 */
export function cutterCompliance(cutter: Cutter): number {
  const reach = Math.max(cutter.reach, cutter.fluteLength);
  const flute = Math.min(cutter.fluteLength, reach);
  const cone = Math.min(flute, coneLength(cutter));
  const fluted = (z: Mm): Mm => FLUTED_SHARE * Math.max(LEAST_TIP * cutter.diameter, flutesAt(cutter, z));
  const parts: readonly (readonly [Mm, Mm, (z: Mm) => Mm, number])[] = [
    [0, cone, fluted, 64],
    [cone, flute, () => FLUTED_SHARE * cutter.diameter, 2],
    [flute, reach, () => cutter.shankDiameter, 2],
  ];
  let sum = 0;
  for (const [from, to, d, n] of parts) {
    if (!(to > from)) continue;
    const h = (to - from) / n;
    for (let k = 0; k <= n; k++) {
      const z = from + h * k;
      const weight = k === 0 || k === n ? 1 : k % 2 === 1 ? 4 : 2;
      sum += (((weight * h) / 3) * z * z) / d(Math.min(z, to)) ** 4;
    }
  }
  return (64 * sum) / (Math.PI * cutter.modulus);
}

const coneLength = (c: Cutter): Mm =>
  (c.shape === "taper" || c.shape === "vee") && c.tipAngle > 0 ? (c.diameter - c.tipDiameter) / (2 * Math.tan(c.tipAngle / 2)) : 0;

/** Bend at the tip under a force there. */
export const cutterBend = (cutter: Cutter, force: Newton): Mm => force * cutterCompliance(cutter);

/**
 * What a frame feels of a force that swings between its mean and its peak as teeth pass: the mean, and this share of the swing. Teeth
 * pass some hundreds of times a second, frames of small machines swing some tens of times (from memory), and far above its own
 * pitch a mass on a spring follows with (own / forced)^2: 50 Hz against the 170 turns a second of 10 000 rpm are 0.09.
 */
export const FRAME_FOLLOWS = 0.1;

/** Give of the machine at the cutter under a steady force across (toward its softest side) and along the axis. */
export const machineGive = (
  stiffness: { readonly x: NewtonPerMm; readonly y: NewtonPerMm; readonly z?: NewtonPerMm },
  across: Newton,
  along: Newton = 0,
): Mm => Math.hypot(across / Math.min(stiffness.x, stiffness.y), stiffness.z === undefined ? 0 : along / stiffness.z);

/** A spindle's power at a speed: straight between the points of its curve; without one the moment of the rated power at top speed. */
export function powerAt(spindle: Machine["spindle"], rpm: Rpm): Watt {
  const curve = spindle.curve;
  if (curve === undefined || curve.length === 0) return spindle.power * Math.min(1, rpm / spindle.max);
  const first = curve[0];
  const last = curve[curve.length - 1];
  // beyond its ends a curve keeps its moment below, its power above
  if (rpm <= first.rpm) return (first.power * rpm) / first.rpm;
  if (rpm >= last.rpm) return last.power;
  let k = 1;
  while (curve[k].rpm < rpm) k++;
  const [a, b] = [curve[k - 1], curve[k]];
  return a.power + ((b.power - a.power) * (rpm - a.rpm)) / (b.rpm - a.rpm);
}

/** A spindle's moment at a speed, N mm. */
export const torqueAt = (spindle: Machine["spindle"], rpm: Rpm): number => (powerAt(spindle, rpm) * 60_000) / (2 * Math.PI * rpm);
