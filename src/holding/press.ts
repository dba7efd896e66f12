import type { Neck } from "../neck/types.ts";
import type { MachineSpec, PressSpec } from "../spec/types.ts";
import { type Finding, finding, type Mm, type Newton } from "../units/index.ts";
import { planningForce } from "./bow.ts";
import { HO } from "./rules.ts";
import { settingsOf } from "./sections/setting.ts";
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

/**
 * Area of the ground that a side of the piece rests on, mm2: the strips under it where there are any. `ground`: from and to of the bed in the
 * side's frame, where the piece stands out over it.
 */
export function restingOn(
  side: Pick<Side, "holding" | "stock">,
  ground: Pick<Side["stock"], "min" | "max"> = { min: [-Infinity, -Infinity, 0], max: [Infinity, Infinity, 0] },
): number {
  const strips = side.holding.flatMap((s) => (s.role === "support" && s.kind === "box" ? [s] : []));
  const of = ({ min, max }: Pick<Side["stock"], "min" | "max">): number =>
    [0, 1].reduce((area, k) => area * Math.max(0, Math.min(max[k], ground.max[k]) - Math.max(min[k], ground.min[k])), 1);
  return strips.length === 0 ? of(side.stock) : strips.reduce((sum, s) => sum + of(s), 0);
}

/** The bed as a side's frame has it in one of its settings. */
function bedOf(side: Side, machine: MachineSpec, [dx, dy]: readonly [Mm, Mm]): Pick<Side["stock"], "min" | "max"> {
  const [zx, zy] = side.zeroOnBed;
  return { min: [dx - zx, dy - zy, 0], max: [dx + machine.bed.x - zx, dy + machine.bed.y - zy, 0] };
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
    const side = sides[name];
    return settingsOf(side).flatMap(({ says, holding, section }) => {
      const ground = bedOf(side, machine, section?.shift ?? [0, 0]);
      const area = restingOn({ stock: side.stock, holding }, ground);
      const { sideways, upward } = bears(press, area);
      const least = Math.min(sideways, upward);
      if (least >= need) return [];
      const n = (v: number): string => String(Math.round(v));
      const over = section === undefined ? "" : "; what stands out over the bed counts for nothing";
      return [
        finding(HO.press, {
          where: `${says}, holding.press`,
          value: Math.round(least),
          limit: Math.ceil(need),
          unit: "N",
          says: `On the ${says} the ${press.kind} bears ${n(least)} N on ${n(area / 100)} cm2 of ground${over}; twice the greatest force that cuts are planned for is ${n(need)} N.`,
          tryThis:
            name === "carve" && area < restingOn({ stock: side.stock, holding: [] }, ground)
              ? "The piece stands on its strips alone here: hold this side by blocks (holding.press.side board)."
              : "Draw harder, measure the friction, or hold this side by blocks (holding.press.side).",
        }),
      ];
    });
  });
}
