import { checkConditions, checkCutter } from "../cutting/check.ts";
import { conditionsFor } from "../cutting/conditions.ts";
import { feedsAlong } from "../cutting/feeds-along.ts";
import type { Conditions, Cutter, Machine } from "../cutting/types.ts";
import type { Solid } from "../holding/types.ts";
import { MoveBuilder, type MoveList } from "../kernel/moves.ts";
import type { ForceModel } from "../materials/cutting-force.ts";
import { type Finding, finding, type Mm } from "../units/index.ts";
import { PA } from "./rules.ts";

/*
 * Pieces that are cut to be measured, in a flat sheet held by a block at each end, along the machine's own axes:
 *
 *      pattern: four lines that cross at the corners     slot: one pass, as wide as the cutter cuts
 *        --+--------------+--
 *          |              |                                 ================
 *        --+--------------+--
 */

export interface TestPieceAsk {
  readonly kind: "pattern" | "slot";
  readonly cutter: Cutter;
  readonly machine: Machine;
  /** kg/m3 of the sheet. */
  readonly density: number;
  readonly coefficients?: ForceModel;
  /** Of the pattern, along x and y from line to line. */
  readonly size: readonly [Mm, Mm];
  /** Thickness of the sheet. */
  readonly thick: Mm;
}

export interface TestPiece {
  /** Smallest sheet: along x, along y, thick. */
  readonly sheet: readonly [Mm, Mm, Mm];
  readonly stock: { readonly min: readonly [Mm, Mm, Mm]; readonly max: readonly [Mm, Mm, Mm] };
  readonly holding: readonly Solid[];
  readonly safeZ: Mm;
  /** Middle lines as they come to lie: x, y to x, y. */
  readonly lines: readonly (readonly [Mm, Mm, Mm, Mm])[];
  readonly depth: Mm;
  readonly conditions: Conditions;
  readonly moves: MoveList;
  readonly findings: readonly Finding[];
}

/** How far a block lies on the sheet, the air beside it, its height; wood beside the work; how far lines run past a corner. */
const GRIP: Mm = 15;
const AIR: Mm = 35;
const BLOCK: Mm = 12;
const BESIDE: Mm = 15;
const PAST: Mm = 5;
/** A line is to be seen and felt, not more. */
const SCRIBED: Mm = 0.4;
const SLOT: Mm = 60;

/** Lays out and plans a test piece. Throws a RangeError, in words, for a cutter that leaves nothing to measure. */
export function planTestPiece(ask: TestPieceAsk): TestPiece {
  const { kind, cutter, machine, thick } = ask;
  if (kind === "slot" && cutter.shape !== "flat" && cutter.shape !== "ball" && cutter.shape !== "bull")
    throw new RangeError(`cutter ${cutter.number} is wider above than below: a slot's width says nothing of it`);
  const [w, h] = kind === "pattern" ? ask.size : [SLOT, 0];
  const edge = BESIDE + cutter.diameter / 2 + (kind === "pattern" ? PAST : 0);
  const [x0, y0] = [GRIP + AIR, Math.ceil(edge)];
  const [length, width] = [w + 2 * (GRIP + AIR), h + 2 * Math.ceil(edge)];
  const lines: readonly (readonly [Mm, Mm, Mm, Mm])[] =
    kind === "slot"
      ? [[x0, y0, x0 + w, y0]]
      : [
          [x0 - PAST, y0, x0 + w + PAST, y0],
          [x0 + w, y0 - PAST, x0 + w, y0 + h + PAST],
          [x0 + w + PAST, y0 + h, x0 - PAST, y0 + h],
          [x0, y0 + h + PAST, x0, y0 - PAST],
        ];
  // a ball cuts its full width from half of it down
  const depth = kind === "pattern" ? SCRIBED : Math.min(thick - 3, Math.max(1, cutter.shape === "flat" ? 1.5 : 0.6 * cutter.diameter));
  if (!(depth > 0 && depth <= thick - 3)) throw new RangeError(`a sheet ${thick} mm thick is too thin for this: 3 mm stay under the cut`);
  const wood = ask.coefficients ? { model: ask.coefficients } : {};
  const conditions = conditionsFor(cutter, machine, ask.density, { step: cutter.diameter, kind: "slot", depth, wood });
  const block = (name: string, a: Mm, b: Mm): Solid => ({
    kind: "box",
    min: [a, 0, thick],
    max: [b, width, thick + BLOCK],
    name,
    role: "block",
  });
  const safeZ = thick + BLOCK + machine.clearance;
  const b = new MoveBuilder([lines[0]![0], lines[0]![1], safeZ]);
  for (const [ax, ay, bx, by] of lines) {
    b.rapid(ax, ay, safeZ);
    b.rapid(ax, ay, thick + machine.approach);
    b.lineTo(ax, ay, thick - depth, conditions.plunge);
    b.lineTo(bx, by, thick - depth, conditions.feed);
    b.rapid(bx, by, safeZ);
  }
  const over = Math.max(length + 50 - machine.bed.x, width - machine.bed.y);
  return {
    sheet: [length, width, thick],
    stock: { min: [0, 0, 0], max: [length, width, thick] },
    holding: [block("block at the stop", -25, GRIP), block("block at the far end", length - GRIP, length + 25)],
    safeZ,
    lines,
    depth,
    conditions,
    moves: feedsAlong(b.list(), { acceleration: machine.acceleration, plunge: conditions.plunge }),
    findings: [
      ...checkCutter(cutter),
      ...checkConditions(cutter, machine, conditions, { where: kind, kind: "slot", depthBelowTop: depth }),
      ...(over <= 0
        ? []
        : [
            finding(PA.outsideTravel, {
              where: kind,
              value: Math.max(length + 50, width),
              limit: length + 50 > machine.bed.x ? machine.bed.x : machine.bed.y,
              unit: "mm",
              says: "The test piece with its blocks does not lie on the bed.",
              tryThis: "Ask for a smaller pattern (--size).",
            }),
          ]),
    ],
  };
}
