import { compositeSection } from "../materials/beam.ts";
import { woodByName } from "../materials/woods.ts";
import { partsAt } from "../neck/figures/section.ts";
import type { Neck } from "../neck/types.ts";
import type { MachineSpec } from "../spec/types.ts";
import type { Mm, Newton } from "../units/index.ts";
import { apply, inverse } from "./transform.ts";
import type { Side } from "./types.ts";

/*
 * How far the turned piece bows between its supports while its back is cut: each stretch between two supports as a slender beam that
 * rests freely on both, the finished neck's own sections (what is left at the end, the thinnest), the cutter's force in its middle
 * region pressing down. The neighbouring stretches, the waste still on the neck and a crown that touches the bed would all help; none
 * is counted, so the true bow is smaller.
 */

/** Bow that the supports are to keep below. */
export const BOW_LIMIT: Mm = 0.05;
/** Give of a machine under the greatest force that cuts are planned for: forces are chosen so that it gives less (checked again cut by cut). */
const MACHINE_GIVES: Mm = 0.33;
/** Of a modulus when the wood is not in the tables, MPa: a soft hardwood. */
const SOFT = 8000;

/** Sections of the neck are taken so far apart. */
const NODE: Mm = 15;

/** Force that supports are planned for before any cut is: what makes the machine's softest axis give a third of a millimetre. */
export const planningForce = (machine: Pick<MachineSpec, "stiffness">): Newton =>
  MACHINE_GIVES * Math.min(machine.stiffness.x, machine.stiffness.y, machine.stiffness.z);

/** A stretch of the neck along x. */
export interface Stretch {
  readonly from: Mm;
  readonly to: Mm;
}

export interface Bow extends Stretch {
  /** Greatest deflection under the force, and where it stands (neck frame). */
  readonly bow: Mm;
  readonly at: Mm;
}

/** Bending stiffness of the finished neck at x, N mm2; a rod that lies loose is left out. */
export function stiffnessAt(neck: Neck, x: Mm): number {
  const { wood } = neck.order;
  const parts = partsAt(neck, x, woodByName(wood.shaft)?.moe ?? SOFT, woodByName(wood.board)?.moe ?? SOFT).filter((p) => p.area !== 0);
  return compositeSection(parts).bending;
}

/**
 * Deflection (mm) under a force (N) at x on a beam that rests freely at both ends of a stretch, of stiffness `bending` (N mm2):
 * the unit-load integral F m(x)^2 / EI (Gere and Goodno, Mechanics of Materials, "Unit-load method"), by Simpson's rule on either side
 * of the load, exact for a constant stiffness.
 */
export function deflectionUnder(s: Stretch, x: Mm, force: Newton, bending: (x: Mm) => number): Mm {
  const length = s.to - s.from;
  let sum = 0;
  for (const [end, other] of [
    [s.from, s.to],
    [s.to, s.from],
  ]) {
    const reach = Math.abs(x - end);
    if (reach === 0) continue;
    const slope = Math.abs(other - x) / length;
    const n = 8;
    for (let k = 0; k <= n; k++) {
      const u = (reach * k) / n;
      const weight = k === 0 || k === n ? 1 : k % 2 === 1 ? 4 : 2;
      const m = slope * u;
      sum += (((weight * reach) / (3 * n)) * m * m) / bending(end + Math.sign(x - end) * u);
    }
  }
  return force * sum;
}

/** The greatest bow between neighbouring contacts; null where fewer than two carry the neck. */
export function worstBow(neck: Neck, contacts: readonly Stretch[], force: Newton): Bow | null {
  const sorted = [...contacts].sort((a, b) => a.from - b.from);
  const known = new Map<number, number>();
  const node = (k: number): number => {
    const v = known.get(k) ?? stiffnessAt(neck, k * NODE);
    known.set(k, v);
    return v;
  };
  // between two sections the weaker counts: never too stiff where the board or a ramp begins
  const bending = (x: Mm): number => Math.min(node(Math.floor(x / NODE)), node(Math.ceil(x / NODE)));
  let worst: Bow | null = null;
  sorted.slice(1).forEach((next, k) => {
    const s = { from: sorted[k].to, to: next.from };
    if (s.to - s.from < 1) return;
    for (const share of [0.35, 0.45, 0.5, 0.55, 0.65]) {
      const at = s.from + share * (s.to - s.from);
      const bow = deflectionUnder(s, at, force, bending);
      if (worst === null || bow > worst.bow) worst = { ...s, at, bow };
    }
  });
  return worst;
}

/** Where the turned piece rests on supports, along the neck: strips on both sides of one station count once. */
export function contactsOf(side: Pick<Side, "holding" | "neckToProgram">): Stretch[] {
  const inv = inverse(side.neckToProgram);
  const out: Stretch[] = [];
  for (const s of side.holding) {
    if (s.role !== "support" || s.kind !== "box") continue;
    const ends = [apply(inv, s.min[0], s.min[1], 0)[0], apply(inv, s.max[0], s.max[1], 0)[0]];
    const next = { from: Math.min(...ends), to: Math.max(...ends) };
    if (!out.some((o) => Math.abs(o.from - next.from) < 0.5 && Math.abs(o.to - next.to) < 0.5)) out.push(next);
  }
  return out;
}
