import { type Box, type PlankAsk, type PlankBlank, type PlankPlan, planPlank } from "../holding/plank.ts";
import { plankDrawing } from "../sheet/drawings/plank.ts";
import { isStop, type Mm } from "../units/index.ts";
import { svgFiles } from "./draw.ts";
import { InputError } from "./errors.ts";
import { jsonBytes } from "./files.ts";
import { readOrder, type Source } from "./source.ts";
import type { OutFile } from "./write.ts";

/* The blanks of several orders out of one plank. */

export type { Box };

export interface PlankOptions {
  readonly length: Mm;
  readonly width: Mm;
  readonly thickness: Mm;
  readonly kerf: Mm;
  /** Left at each of the blanks' edges for jointing and squaring, mm. */
  readonly over: Mm;
  readonly keepOut: readonly Box[];
}

export interface PlankMade {
  readonly ask: PlankAsk;
  readonly plan: PlankPlan;
  /** Share of the used length that is no blank. */
  readonly waste: number;
  readonly files: readonly OutFile[];
}

/** Reads the orders and lays their blanks out. Throws InputError on orders that cannot be read and planks that are too thin. */
export function makePlank(orders: readonly Source[], o: PlankOptions): PlankMade {
  const blanks = orders.map((source): PlankBlank => {
    const { value, findings } = readOrder(source);
    if (value === null)
      throw new InputError(
        source.path,
        findings.find(isStop)?.says ?? "this order cannot be read",
        "run check on it and mend what it finds",
      );
    const { blank } = value;
    const needs = blank.shaftThickness;
    if (o.thickness < needs)
      throw new InputError(source.path, `its shaft is ${needs} mm thick, the plank ${o.thickness} mm`, "take a thicker plank, or laminate");
    return { name: value.name, length: blank.length + 2 * o.over, width: blank.width + 2 * o.over };
  });
  const wide = blanks.find((b) => b.width > o.width || b.length > o.length);
  if (wide !== undefined)
    throw new InputError(
      "--plank",
      `the blank of ${wide.name} is ${wide.length} x ${wide.width} mm and does not go into ${o.length} x ${o.width}`,
      "take a larger plank",
    );
  const ask: PlankAsk = { length: o.length, width: o.width, kerf: o.kerf, blanks, keepOut: o.keepOut };
  const plan = planPlank(ask);
  const { at } = plan;
  if (at === null) return { ask, plan, waste: Number.NaN, files: [] };
  const waste = 1 - blanks.reduce((sum, b) => sum + b.length * b.width, 0) / (plan.used * o.width);
  const drawing = plankDrawing(ask, { ...plan, at }, Math.min(1, 360 / o.length));
  return {
    ask,
    plan,
    waste,
    files: [
      ...svgFiles([drawing], ""),
      {
        path: "plank.json",
        bytes: jsonBytes({
          format: "neckwright-plank/1",
          units: "mm",
          plank: { length: o.length, width: o.width, thickness: o.thickness },
          kerf: o.kerf,
          over: o.over,
          keepOut: o.keepOut,
          blanks: blanks.map((b, k) => ({ ...b, x: at[k][0], y: at[k][1] })),
          used: plan.used,
          bound: plan.bound,
          proved: plan.proved,
          throughCuts: plan.throughCuts,
          waste,
        }),
      },
    ],
  };
}
