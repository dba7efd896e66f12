import { checkConditions, checkCutter } from "../cutting/check.ts";
import { conditionsFor } from "../cutting/conditions.ts";
import { feedsAlong } from "../cutting/feeds-along.ts";
import type { Conditions, Cutter, Machine } from "../cutting/types.ts";
import type { Solid } from "../holding/types.ts";
import { MoveBuilder, type MoveList } from "../kernel/moves.ts";
import type { ForceModel } from "../materials/cutting-force.ts";
import { type Finding, finding, type Mm } from "../units/index.ts";
import { PA } from "./rules.ts";
import { roundPocket } from "./strategies/index.ts";

/*
 * A fit coupon: a row of round recesses in a piece of scrap, each a step wider than the one before, cut exactly as the marker recesses of
 * a neck are. The one that the marker fits says by how much this cutter on this machine cuts too narrow or too wide.
 *
 *      stop                                                    along the machine's long axis of the neck
 *       |[block]   (1)  (2)  (3)  (4)  (5)  (6)  (7)   [block]
 *       +---------------------------------------------------- fence
 *      zero
 */

/** Steps of the row. */
export const COUPON_STEP: Mm = 0.05;
/** Wood left between recesses, and under them. */
const WALL: Mm = 6;
const FLOOR: Mm = 3;
/** Of a block: how far it lies on the wood at each end, its height above it, and the air between it and the first recess. */
const GRIP: Mm = 15;
const BLOCK: Mm = 12;
const AIR: Mm = 25;

export interface CouponAsk {
  readonly cutter: Cutter;
  readonly machine: Machine;
  /** kg/m3 of the scrap. */
  readonly density: number;
  readonly coefficients?: ForceModel;
  /** Diameter of the recess as an order has it: marker and fit. */
  readonly recess: Mm;
  readonly depth: Mm;
  /** First and last allowance. */
  readonly from: Mm;
  readonly to: Mm;
  /** Length, width, thickness of the scrap; absent: as small as can be. */
  readonly scrap?: readonly [Mm, Mm, Mm];
}

export interface CouponRecess {
  /** Counted from the stop, beginning with 1. */
  readonly position: number;
  readonly allowance: Mm;
  readonly diameter: Mm;
  readonly x: Mm;
  readonly y: Mm;
  readonly zFloor: Mm;
}

export interface Coupon {
  readonly scrap: readonly [Mm, Mm, Mm];
  /** In the program's frame: zero where fence and stop meet, on the bed. */
  readonly stock: { readonly min: readonly [Mm, Mm, Mm]; readonly max: readonly [Mm, Mm, Mm] };
  readonly holding: readonly Solid[];
  readonly safeZ: Mm;
  readonly recesses: readonly CouponRecess[];
  readonly conditions: Conditions;
  readonly moves: MoveList;
  readonly findings: readonly Finding[];
}

/** The allowances of a row, each a whole step: what position K stands for. */
export function couponAllowances(from: Mm, to: Mm): Mm[] {
  const n = Math.floor((to - from) / COUPON_STEP + 1e-6) + 1;
  return Array.from({ length: Math.max(0, n) }, (_, k) => Math.round((from + k * COUPON_STEP) * 1000) / 1000);
}

/** Lays out and plans a coupon. Throws a RangeError for numbers that make none, in words for the person who gave them. */
export function planCoupon(ask: CouponAsk): Coupon {
  const { cutter, machine, recess, depth } = ask;
  const allowances = couponAllowances(ask.from, ask.to);
  if (allowances.length < 2) throw new RangeError(`from ${ask.from} to ${ask.to} mm is no row: at least two steps of ${COUPON_STEP} mm`);
  if (allowances.length > 12) throw new RangeError(`${allowances.length} recesses are too many for a coupon: 12 at most`);
  if (cutter.shape !== "flat") throw new RangeError(`cutter ${cutter.number} is no flat cutter, and recesses have flat floors`);
  const widest = recess + allowances[allowances.length - 1]!;
  const narrowest = recess + allowances[0]!;
  if (!(cutter.diameter <= 0.8 * recess))
    throw new RangeError(
      `cutter ${cutter.number} of ${cutter.diameter} mm is too wide for a recess of ${recess} mm: at most ${(0.8 * recess).toFixed(2)} mm`,
    );
  if (!(narrowest > cutter.diameter + 0.01))
    throw new RangeError(`the narrowest recess of ${narrowest.toFixed(2)} mm lets no cutter of ${cutter.diameter} mm in`);
  const pitch = widest + WALL;
  const needs: readonly [Mm, Mm, Mm] = [
    Math.ceil(2 * (GRIP + AIR) + pitch * (allowances.length - 1) + widest),
    Math.ceil(widest + 2 * 10),
    Math.ceil(depth + FLOOR),
  ];
  const scrap = ask.scrap ?? [needs[0], Math.max(needs[1], 30), Math.max(needs[2], 12)];
  (["long", "wide", "thick"] as const).forEach((word, k) => {
    if (scrap[k]! < needs[k]!) throw new RangeError(`the scrap is ${scrap[k]} mm ${word}; this coupon needs ${needs[k]} mm`);
  });
  const [length, width, thick] = scrap;
  const alongX = machine.along === "x";
  const place = (u: Mm, v: Mm): readonly [Mm, Mm] => (alongX ? [u, v] : [v, u]);
  const box = (u0: Mm, u1: Mm, v0: Mm, v1: Mm, z0: Mm, z1: Mm): { min: [Mm, Mm, Mm]; max: [Mm, Mm, Mm] } => ({
    min: [...place(u0, v0), z0],
    max: [...place(u1, v1), z1],
  });
  const block = (name: string, u0: Mm, u1: Mm): Solid => ({
    kind: "box",
    ...box(u0, u1, 0, width, thick, thick + BLOCK),
    name,
    role: "block",
  });
  const holding: Solid[] = [block("block at the stop", -25, GRIP), block("block at the far end", length - GRIP, length + 25)];
  const topOfAll = thick + BLOCK;
  const safeZ = topOfAll + machine.clearance;

  const start = GRIP + AIR + widest / 2;
  const recesses = allowances.map((allowance, k): CouponRecess => {
    const [x, y] = place(start + k * pitch, width / 2);
    return { position: k + 1, allowance, diameter: recess + allowance, x, y, zFloor: thick - depth };
  });
  const step = 0.4 * cutter.diameter;
  const wood = ask.coefficients ? { model: ask.coefficients } : {};
  const conditions = conditionsFor(cutter, machine, ask.density, { step, kind: "slot", depth, wood });
  const b = new MoveBuilder([...place(start, width / 2), safeZ]);
  for (const r of recesses) {
    const { feed, ramp, plunge } = conditions;
    roundPocket(
      b,
      r.x,
      r.y,
      { diameter: r.diameter, zTop: thick, zBottom: r.zFloor },
      { feed, ramp, plunge, safeZ, approachZ: thick + machine.approach, cutterDiameter: cutter.diameter, depth: conditions.depth, step },
    );
  }
  const moves = feedsAlong(b.list(), { acceleration: machine.acceleration, plunge: conditions.plunge });
  const { min, max } = box(0, length, 0, width, 0, thick);
  const findings = [
    ...checkCutter(cutter),
    ...checkConditions(cutter, machine, conditions, { where: "coupon", kind: "slot", depthBelowTop: depth, recess: narrowest }),
    ...tooBig(machine, place(length + 50, width)),
  ];
  return { scrap, stock: { min, max }, holding, safeZ, recesses, conditions, moves, findings };
}

function tooBig(machine: Machine, [x, y]: readonly [Mm, Mm]): Finding[] {
  if (x <= machine.bed.x && y <= machine.bed.y) return [];
  return [
    finding(PA.outsideTravel, {
      where: "coupon",
      value: Math.max(x, y),
      limit: x > machine.bed.x ? machine.bed.x : machine.bed.y,
      unit: "mm",
      says: "The coupon with its blocks does not lie on the bed.",
      tryThis: "Ask for fewer steps.",
    }),
  ];
}
