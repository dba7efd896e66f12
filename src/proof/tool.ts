import { profileOf } from "../cutting/shape.ts";
import type { Cutter } from "../cutting/types.ts";
import type { Profile } from "../kernel/profile.ts";

/** A stretch of the tool above its flutes: radius, from and to heights above the tip. */
export interface Collar {
  readonly part: "shank" | "holder";
  readonly radius: number;
  readonly from: number;
  readonly to: number;
}

/** A cutter in its holder, as the proof needs it. */
export interface Tool {
  readonly cutter: Cutter;
  readonly profile: Profile;
  readonly radius: number;
  readonly collars: readonly Collar[];
  /** Largest radius of all. */
  readonly widest: number;
  /** Heights of the profile at radii radius * k / RINGS. */
  readonly rings: Float64Array;
}

export const RINGS = 16;

export function toolOf(cutter: Cutter, heightAt: (p: Profile, r: number) => number): Tool {
  const profile = profileOf(cutter);
  const collars: Collar[] = [{ part: "shank", radius: cutter.shankDiameter / 2, from: cutter.fluteLength, to: cutter.reach }];
  let at = cutter.reach;
  for (const h of cutter.holder) {
    collars.push({ part: "holder", radius: h.diameter / 2, from: at, to: at + h.length });
    at += h.length;
  }
  // above what is described, the spindle: as wide as the last piece of the holder
  const last = collars[collars.length - 1];
  collars.push({ part: "holder", radius: last.radius, from: at, to: Number.POSITIVE_INFINITY });
  const rings = Float64Array.from({ length: RINGS + 1 }, (_, k) => heightAt(profile, (profile.radius * k) / RINGS));
  return { cutter, profile, radius: profile.radius, collars, widest: Math.max(profile.radius, ...collars.map((c) => c.radius)), rings };
}

/** Largest radius of the tool between two heights above its tip; 0 when that lies wholly below the tip. */
export function widestBetween(tool: Tool, low: number, high: number): number {
  if (high <= 0) return 0;
  let r = 0;
  // the cutting part: its radius grows with height, to the full one at the top of the profile
  if (low < tool.cutter.fluteLength) {
    const h = Math.min(high, tool.cutter.fluteLength);
    const { rings } = tool;
    let k = RINGS;
    while (k > 0 && rings[k] > h) k--;
    // the next ring out, so that the answer is never too small
    r = (tool.radius * Math.min(RINGS, k + (rings[k] < h || rings[0] < h ? 1 : 0))) / RINGS;
    if (h >= rings[RINGS]) r = tool.radius;
  }
  for (const c of tool.collars) if (high > c.from && low < c.to && c.radius > r) r = c.radius;
  return r;
}
