import fc from "fast-check";
import { trueOf } from "../src/holding/correct/machine.ts";
import { pinPlay } from "../src/holding/sections/budget.ts";
import { slopesAt } from "../src/holding/sections/cost.ts";
import type { SectionPlan } from "../src/holding/sections/types.ts";
import type { Holding } from "../src/holding/types.ts";
import { inBlankOf } from "../src/holding/where.ts";
import type { Neck } from "../src/neck/types.ts";
import type { MachineSpec } from "../src/spec/types.ts";
import { between } from "./machine.ts";

/*
 * A machine that is out of scale and out of square and never comes back to quite the same place bores pin seats and index holes, cuts
 * what lies before a seam, and, after the blank is shifted by hand onto the pins, what lies behind it. All in plan, with exact rigid
 * motions; nothing here knows the budget's formulas.
 */

export interface SeamTrials {
  readonly trials: number;
  /** Share of trials in which all stay within the budget's limits. */
  readonly within: number;
  /** By outcome of the budget ("seam-edge-1"): deviation found, and the budget's own. */
  readonly sigma: Readonly<Record<string, { readonly found: number; readonly said: number; readonly worst: number }>>;
}

type P = readonly [number, number];

/** Rigid: turn by a, then shift. */
interface Rigid {
  readonly a: number;
  readonly x: number;
  readonly y: number;
}
const go = (r: Rigid, [x, y]: P): P => [Math.cos(r.a) * x - Math.sin(r.a) * y + r.x, Math.sin(r.a) * x + Math.cos(r.a) * y + r.y];
const back = (r: Rigid, [x, y]: P): P => {
  const [u, v] = [x - r.x, y - r.y];
  return [Math.cos(r.a) * u + Math.sin(r.a) * v, -Math.sin(r.a) * u + Math.cos(r.a) * v];
};

interface Faults {
  readonly axes: { readonly x: number; readonly y: number; readonly square: number };
  /** How the blank lies in section 1, and small draws in -1..1 and (sum of twelve) about normal. */
  readonly lies: Rigid;
  readonly flat: readonly number[];
  readonly normal: readonly number[];
  /** Where the holes of a bed's grid stand against their places, in -1..1. */
  readonly seats: readonly number[];
}

/** About normal with deviation 1: twelve even draws (Irwin and Hall). */
const bell = fc.array(between(0, 1), { minLength: 12, maxLength: 12 }).map((v) => v.reduce((a, b) => a + b, 0) - 6);

/** Out of scale and square by so much: what drops out is let go far, what counts over a grid's holes as far as the budget says. */
const faults = (out: number): fc.Arbitrary<Faults> =>
  fc.record({
    axes: fc.record({ x: between(1 - out, 1 + out), y: between(1 - out, 1 + out), square: between(-out, out) }),
    lies: fc.record({ a: between(-0.005, 0.005), x: between(-2, 2), y: between(-2, 2) }),
    flat: fc.array(between(-1, 1), { minLength: 4, maxLength: 4 }),
    normal: fc.array(bell, { minLength: 24, maxLength: 24 }),
    seats: fc.array(between(-1, 1), { minLength: 4, maxLength: 4 }),
  });
/** Of the budget: half a millimetre a metre of scale and squareness, and where a hole of a grid stands. */
const KNOWN = 0.0005;
const DROPS_OUT = 0.005;
const GRID_TRUE = 0.05;

/** Steps at every seam in `count` trials, each seam from a setting of its own. */
export function seamTrials(neck: Neck, holding: Holding, machine: MachineSpec, count: number, seed: number): SeamTrials {
  const plan = holding.sections as SectionPlan;
  const at = inBlankOf(neck, holding.placement);
  const overGrid = plan.aside !== undefined;
  const play = pinPlay(plan.pins[0].diameter).half;
  const found: Record<string, number[]> = {};
  let within = 0;
  const limits = new Map(plan.budget.map((o) => [o.id, o.limit]));
  for (const f of fc.sample(fc.noBias(faults(overGrid ? KNOWN : DROPS_OUT)), { seed, numRuns: count })) {
    let good = true;
    let drawn = 0;
    const noise = (): number => (machine.repeat / 2) * f.normal[drawn++ % f.normal.length];
    // where the machine really goes when told to go somewhere
    const told = ([x, y]: P): P => {
      const [a, b] = trueOf(f.axes, x, y);
      return [a + noise(), b + noise()];
    };
    const see = (id: string, v: number): void => {
      found[id] = [...(found[id] ?? []), v];
      if (Math.abs(v) > (limits.get(id) ?? 0)) good = false;
    };
    plan.seams.forEach((seam, i) => {
      const [round, slot] = plan.holes.filter((h) => h.section === i + 2);
      const before = plan.shifts[i];
      const after = plan.shifts[i + 1];
      const [asideBefore, asideAfter] = [plan.aside?.[i] ?? 0, plan.aside?.[i + 1] ?? 0];
      drawn = 7 * i;
      // as the blank lies before: holes in the blank's own frame
      const h1 = back(f.lies, told([round.along - before, round.across - asideBefore]));
      const h2 = back(f.lies, told([slot.along - before, slot.across - asideBefore]));
      // seats bored by the same machine, or holes of a bed where they are; each index hole beside its pin by its play
      const [s1, s2] = plan.pins.map((p, k) =>
        overGrid ? ([p.along + GRID_TRUE * f.seats[2 * k], p.across + GRID_TRUE * f.seats[2 * k + 1]] as const) : told([p.along, p.across]),
      );
      const q1: P = [s1[0] + play * f.flat[0], s1[1] + play * f.flat[1]];
      const along2 = s2[0] + play * f.flat[2];
      // the round hole goes to its place; turned until the slot's middle stands `along2` along
      const [dx, dy] = [h2[0] - h1[0], h2[1] - h1[1]];
      const L = Math.hypot(dx, dy);
      const a = Math.acos((along2 - q1[0]) / L) - Math.atan2(dy, dx);
      const turned = go({ a, x: 0, y: 0 }, h1);
      const lies: Rigid = { a, x: q1[0] - turned[0], y: q1[1] - turned[1] };
      const cut = (x: number, y: number): { readonly d: P } => {
        const p: P = [at.along(x, y), at.across(x, y)];
        const was = back(f.lies, told([p[0] - before, p[1] - asideBefore]));
        const is = back(lies, told([p[0] - after, p[1] - asideAfter]));
        return { d: [is[0] - was[0], is[1] - was[1]] };
      };
      const [, edge] = neck.edges(seam.neckX);
      const slope = slopesAt(neck, seam.neckX).edge;
      const e = cut(seam.neckX, edge).d;
      see(`seam-edge-${i + 1}`, e[1] - slope * e[0]);
      const middle = (round.across + slot.across) / 2;
      see(`seam-fret-${i + 1}`, cut(at.x(seam.at, middle), at.y(seam.at, middle)).d[0]);
      const end = plan.seams[i + 1]?.neckX ?? Math.max(neck.places.end, neck.places.shaftEnd) + 10;
      see(`seam-bend-${i + 1}`, cut(end, 0).d[1]);
    });
    if (good) within++;
  }
  const sigma: Record<string, { found: number; said: number; worst: number }> = {};
  for (const [id, v] of Object.entries(found)) {
    const m = v.reduce((s, x) => s + x, 0) / v.length;
    sigma[id] = {
      found: Math.sqrt(v.reduce((s, x) => s + (x - m) ** 2, 0) / (v.length - 1)),
      said: plan.budget.find((o) => o.id === id)?.sigma ?? Number.NaN,
      worst: Math.max(...v.map(Math.abs)),
    };
  }
  return { trials: count, within: within / count, sigma };
}
