import { clockLimits } from "../cutting/clock-limits.ts";
import { showsOf } from "../cutting/conditions.ts";
import type { Conditions } from "../cutting/types.ts";
import { secondsOf } from "../kernel/clock.ts";
import { MoveKind, type MoveList, moveLength } from "../kernel/moves.ts";
import { DEFAULT_FORCE, forceSays } from "../materials/cutting-force.ts";
import type { Cut } from "../paths/types.ts";
import type { CutterSpec, ShopSpec } from "../spec/types.ts";
import type { Mm, Seconds } from "../units/index.ts";
import type { ReportInput } from "./input.ts";

/** One cut as tables show it. */
export interface CutRow {
  readonly cut: Cut;
  readonly conditions: Conditions;
  /** By the clock, each cut alone, from rest to rest. */
  readonly seconds: Seconds;
  /** Length in feed below the blank's face: an upper bound of what the cutter goes in wood. */
  readonly inWood: Mm;
}

type Needs = Pick<ReportInput, "plan" | "shop" | "holding">;

/** Time and length of every cut, in the order of work. */
export function cutRows({ plan, shop, holding }: Needs): CutRow[] {
  const limits = clockLimits(shop.machine);
  return plan.cuts.map((cut) => ({
    cut,
    conditions: cut.conditions,
    seconds: secondsOf(cut.moves, limits),
    inWood: lengthBelow(cut.moves, holding.sides[cut.side].stock.max[2]),
  }));
}

/** Length in feed of moves that reach below a height. */
export function lengthBelow(m: MoveList, top: Mm): Mm {
  const { kind, z } = m;
  let sum = 0;
  let pz = m.start[2];
  for (let k = 0; k < m.count; k++) {
    if ((kind[k] === MoveKind.line || kind[k] === MoveKind.arc) && Math.min(pz, z[k]) < top - 1e-9) sum += moveLength(m, k);
    pz = z[k];
  }
  return sum;
}

export interface CutterUse {
  readonly cutter: CutterSpec;
  readonly inWood: Mm;
  /** Share of its life, null when the shop does not say how long it lives. */
  readonly life: number | null;
}

/** What each cutter cuts for this neck, in the order of their numbers. */
export function cutterUse(rows: readonly CutRow[], shop: ShopSpec): CutterUse[] {
  return shop.cutters
    .filter((c) => rows.some((r) => r.cut.cutter === c.number))
    .sort((a, b) => a.number - b.number)
    .map((cutter) => {
      const inWood = rows.reduce((s, r) => s + (r.cut.cutter === cutter.number ? r.inWood : 0), 0);
      return { cutter, inWood, life: cutter.life === undefined ? null : inWood / cutter.life };
    });
}

export interface Cost {
  readonly currency: string;
  readonly machine: number | null;
  readonly cutters: number | null;
  readonly total: number;
  /** In words: from what, and what is not in it. */
  readonly says: string;
}

/** What the shop's rates make of the programs and the cutters' wear; null when it states none. */
export function costOf(programs: readonly { readonly seconds: Seconds }[], use: readonly CutterUse[], shop: ShopSpec): Cost | null {
  const { costs } = shop;
  if (costs === undefined) return null;
  const seconds = programs.reduce((s, p) => s + p.seconds + (costs.cutterChange ?? 0), 0);
  const machine = costs.machineHour === undefined ? null : (costs.machineHour * seconds) / 3600;
  const priced = use.filter((u) => u.life !== null && u.cutter.price !== undefined);
  const cutters = priced.length === 0 ? null : priced.reduce((s, u) => s + (u.life ?? 0) * (u.cutter.price ?? 0), 0);
  if (machine === null && cutters === null) return null;
  const money = (v: number): string => `${v.toFixed(2)} ${costs.currency}`;
  const without = use.filter((u) => u.life === null || u.cutter.price === undefined).map((u) => `T${u.cutter.number}`);
  const parts = [
    ...(machine === null
      ? []
      : [`${money(machine)} for the machine's time, ${costs.cutterChange ?? 0} s for each change of cutter included`]),
    ...(cutters === null ? [] : [`${money(cutters)} for the cutters' wear`]),
  ];
  const left = cutters === null || without.length === 0 ? "" : ` (without ${without.join(", ")})`;
  return {
    currency: costs.currency,
    machine,
    cutters,
    total: (machine ?? 0) + (cutters ?? 0),
    says: `About ${money((machine ?? 0) + (cutters ?? 0))}: ${parts.join("; ")}${left}. Wood, hardware and hand work are not in it.`,
  };
}

/** Where the forces come from, for the foot of a table. */
export const forcesSay = (shop: ShopSpec): string => forceSays(shop.coefficients ?? DEFAULT_FORCE);

/** Heads and cells of the table of cuts: what each cut asks of cutter and machine, and what bound it. */
export const CUT_HEADS: readonly string[] = [
  "cut",
  "cutter",
  "depth",
  "step",
  "rpm",
  "feed",
  "chip",
  "force",
  "bend",
  "power",
  "time",
  "limited by",
];
export function cutCells(r: CutRow, time: (s: Seconds) => string): string[] {
  const c = r.conditions;
  return [
    r.cut.id,
    `T${r.cut.cutter}`,
    c.depth.toFixed(2),
    c.step.toFixed(2),
    String(c.rpm),
    (c.feed * 60).toFixed(0),
    c.chip.toFixed(4),
    c.force.toFixed(1),
    showsOf(c).toFixed(3),
    c.power.toFixed(0),
    time(r.seconds),
    c.limitedBy,
  ];
}
export const CUT_UNITS =
  "Depth, step, chip and bend in mm, feed in mm/min, force in N (the largest across the cutter), power in W. Bend is what shows on a finished surface, otherwise all of it.";

/** A share of a cutter's life: 8 %, under 1 %. */
export const lifeText = (share: number): string => (share < 0.01 ? "under 1 %" : `${(100 * share).toFixed(0)} %`);
