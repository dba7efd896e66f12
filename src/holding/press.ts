import type { Neck } from "../neck/types.ts";
import type { MachineSpec, PressSpec } from "../spec/types.ts";
import { type Finding, finding, type Mm, type Newton } from "../units/index.ts";
import { planningForce } from "./bow.ts";
import { HO } from "./rules.ts";
import type { Side, SideName } from "./types.ts";

/*
 * A side that is held from below: vacuum presses the piece onto its ground and friction holds it sideways, tape holds by what it bears in
 * shear. What the piece rests on is its whole face where that is flat, and its strips alone where a radiused board stands on them.
 */

/** A hold is twice what pulls at it; common practice, no source. */
export const HOLDS_TWICE = 2;

/** What holds a side from below; undefined where blocks do. */
export function pressOf(neck: Pick<Neck, "order">, side: SideName): PressSpec | undefined {
  const { press } = neck.order.holding;
  return press === undefined || (press.side !== undefined && press.side !== side) ? undefined : press;
}

/** Area of the ground that a side of the piece rests on, mm2: the strips under it where there are any. */
export function restingOn(side: Pick<Side, "holding" | "stock">): number {
  const strips = side.holding.flatMap((s) => (s.role === "support" && s.kind === "box" ? [s] : []));
  const { min, max } = side.stock;
  const of = (lo: readonly Mm[], hi: readonly Mm[]): number => (hi[0] - lo[0]) * (hi[1] - lo[1]);
  return strips.length === 0 ? of(min, max) : strips.reduce((sum, s) => sum + of(s.min, s.max), 0);
}

/** What the hold bears, sideways and upward. */
export function bears(press: PressSpec, area: number): { readonly sideways: Newton; readonly upward: Newton } {
  // 1 kPa is a thousandth of a newton on a square millimetre
  const whole = (press.kPa * area) / 1000;
  return { sideways: press.kind === "vacuum" ? press.friction * whole : whole, upward: whole };
}

/** From the finished sides and the force that cuts are planned to stay below. */
export function checkPress(neck: Neck, machine: MachineSpec, sides: Readonly<Record<SideName, Side>>): Finding[] {
  const need = HOLDS_TWICE * planningForce(machine);
  return (["board", "carve"] as const).flatMap((name) => {
    const press = pressOf(neck, name);
    if (press === undefined) return [];
    const area = restingOn(sides[name]);
    const { sideways, upward } = bears(press, area);
    const least = Math.min(sideways, upward);
    if (least >= need) return [];
    const n = (v: number): string => String(Math.round(v));
    return [
      finding(HO.press, {
        where: `${name} side, holding.press`,
        value: Math.round(least),
        limit: Math.ceil(need),
        unit: "N",
        says: `On the ${name} side the ${press.kind} bears ${n(least)} N on ${n(area / 100)} cm2 of ground; twice the greatest force that cuts are planned for is ${n(need)} N.`,
        tryThis:
          name === "carve" && area < restingOn({ ...sides.carve, holding: [] })
            ? "The piece stands on its strips alone here: hold this side by blocks (holding.press.side board)."
            : "Draw harder, measure the friction, or hold this side by blocks (holding.press.side).",
      }),
    ];
  });
}
