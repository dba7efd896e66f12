import { type Finding, finding, type Mm } from "../units/index.ts";
import { bendLimit, type CutKind, LEAST_DEPTH, showsOf } from "./conditions.ts";
import { POWER_SHARE, powerAt } from "./force.ts";
import {
  ABOVE_MARKED_SPEED,
  BENDS,
  BEYOND_FLUTES,
  BEYOND_REACH,
  IMPOSSIBLE_SHAPE,
  RUBS,
  THICK_CHIP,
  TOO_MUCH_POWER,
  TOO_SHALLOW,
  TOO_WIDE,
} from "./rules.ts";
import { whatIsWrong } from "./shape.ts";
import type { Conditions, Cutter, Machine } from "./types.ts";

const round = (v: number, digits: number): number => Number(v.toFixed(digits));

/** A cutter's own data: can the shape exist. */
export function checkCutter(cutter: Cutter): Finding[] {
  const wrong = whatIsWrong(cutter);
  if (wrong === null) return [];
  return [
    finding(IMPOSSIBLE_SHAPE, {
      where: `cutter ${cutter.number} "${cutter.name}"`,
      value: wrong.value,
      limit: wrong.limit,
      unit: wrong.unit,
      says: `Cutter ${cutter.number} "${cutter.name}": ${wrong.says}.`,
      tryThis: "Correct the cutter in the shop file.",
    }),
  ];
}

/** Chip ranges are known to no better than a hundredth, and feeds are whole mm/min. */
export const CHIP_SLACK = 0.01;

/** What one cut asks of its cutter, for the checks. */
export interface CutCheck {
  /** The cut's id or its place in words. */
  readonly where: string;
  readonly kind: CutKind;
  /** Deepest place below the top of the wood that stands beside the cutter. */
  readonly depthBelowTop?: Mm;
  /** Width of the recess, slot or bore. */
  readonly recess?: Mm;
  /** Most bend; absent: that of the kind. */
  readonly bend?: Mm;
}

/** Everything wrong with a cut's conditions: computed from the conditions, cutter and machine alone. */
export function checkConditions(cutter: Cutter, machine: Machine, c: Conditions, cut: CutCheck): Finding[] {
  const out: Finding[] = [];
  const where = cut.where;
  const name = `cutter ${cutter.number} "${cutter.name}"`;
  if (c.chip < cutter.chip.min * (1 - CHIP_SLACK))
    out.push(
      finding(RUBS, {
        where,
        value: round(c.chip, 4),
        limit: cutter.chip.min,
        unit: "mm",
        says: `The chip of ${round(c.chip, 4)} mm is thinner than ${name} needs.`,
        tryThis: "Take a cutter with fewer flutes or a slower spindle, or accept a wider step.",
      }),
    );
  if (c.chip > cutter.chip.max * (1 + CHIP_SLACK))
    out.push(
      finding(THICK_CHIP, {
        where,
        value: round(c.chip, 4),
        limit: cutter.chip.max,
        unit: "mm",
        says: `The chip of ${round(c.chip, 4)} mm is thicker than ${name} bears.`,
        tryThis: "Feed slower or turn faster.",
      }),
    );
  const depth = Math.max(c.depth, cut.depthBelowTop ?? 0);
  if (depth > cutter.fluteLength + 1e-9)
    out.push(
      finding(BEYOND_FLUTES, {
        where,
        value: round(depth, 3),
        limit: cutter.fluteLength,
        unit: "mm",
        says: `The cut goes ${round(depth, 3)} mm deep, beyond the flutes of ${name}.`,
        tryThis: "Take a cutter with longer flutes.",
      }),
    );
  if (depth > cutter.reach + 1e-9)
    out.push(
      finding(BEYOND_REACH, {
        where,
        value: round(depth, 3),
        limit: cutter.reach,
        unit: "mm",
        says: `The cut goes ${round(depth, 3)} mm deep, and the holder of ${name} would meet the wood.`,
        tryThis: "Let the cutter stand out farther, or take a longer one.",
      }),
    );
  if (c.rpm > cutter.maxRpm || machine.spindle.min > cutter.maxRpm)
    out.push(
      finding(ABOVE_MARKED_SPEED, {
        where,
        value: Math.max(c.rpm, machine.spindle.min),
        limit: cutter.maxRpm,
        unit: "rpm",
        says: `The spindle turns at ${Math.max(c.rpm, machine.spindle.min)} rpm at least, more than is marked on ${name}.`,
        tryThis: "Take a cutter that is marked for this speed, or a slower spindle.",
      }),
    );
  if (cut.recess !== undefined && cutter.diameter > cut.recess + 0.001)
    out.push(
      finding(TOO_WIDE, {
        where,
        value: cutter.diameter,
        limit: cut.recess,
        unit: "mm",
        says: `A recess of ${round(cut.recess, 3)} mm is too narrow for ${name}.`,
        tryThis: `Take a cutter of at most ${round(cut.recess, 3)} mm.`,
      }),
    );
  const bendMost = cut.bend ?? bendLimit(cut.kind, machine);
  const shows = showsOf(c);
  if (shows > bendMost * 1.001)
    out.push(
      finding(BENDS, {
        where,
        value: round(shows, 4),
        limit: bendMost,
        unit: "mm",
        says: `Cutter and machine give way by ${round(c.bend, 3)} mm under ${round(c.force, 1)} N${shows < c.bend * 0.999 ? `; ${round(shows, 3)} mm of it show on the surface` : ""}.`,
        tryThis: "Leave less for this pass, let the cutter stand out less, or take a thicker one.",
      }),
    );
  if (c.depth < LEAST_DEPTH - 1e-9)
    out.push(
      finding(TOO_SHALLOW, {
        where,
        value: round(c.depth, 4),
        limit: LEAST_DEPTH,
        unit: "mm",
        says: `A pass of ${round(c.depth, 4)} mm with ${name} is no cut.`,
        tryThis: "Take another cutter for this cut.",
      }),
    );
  const power = powerAt(machine.spindle, c.rpm);
  if (c.power > POWER_SHARE * power * 1.001)
    out.push(
      finding(TOO_MUCH_POWER, {
        where,
        value: Math.round(c.power),
        limit: Math.round(POWER_SHARE * power),
        unit: "W",
        says: `The cut takes ${Math.round(c.power)} W of a spindle that has ${Math.round(power)} W at ${c.rpm} rpm.`,
        tryThis: "Take a smaller step or depth.",
      }),
    );
  return out;
}
