import { readdirSync } from "node:fs";
import { join } from "node:path";
import { readOrder } from "../../src/job/source.ts";
import { makeNeck } from "../../src/neck/index.ts";
import { centsDrawing } from "../../src/sheet/drawings/cents.ts";
import { headstockDrawing } from "../../src/sheet/drawings/headstock.ts";
import { planDrawing } from "../../src/sheet/drawings/plan.ts";
import { sectionsDrawing } from "../../src/sheet/drawings/sections.ts";
import { sideDrawing } from "../../src/sheet/drawings/side.ts";
import { svg } from "../../src/sheet/index.ts";
import { orderSource } from "../examples.ts";

/*
 * Every example order is a case; its drawings are kept beside this file as SVG. The same list feeds the test that compares them and
 * `npm run gallery`, which lays them out as pages to look at.
 */

/** One kept drawing of a case. */
export interface Picture {
  /** File name without its ending. */
  readonly id: string;
  readonly title: string;
  readonly svg: string;
}

export interface Case {
  /** Name of the order's file, without its ending. */
  readonly name: string;
  /** The order's own name. */
  readonly title: string;
  readonly pictures: readonly Picture[];
}

/** Names of the cases, in the order of their files. `root` is the project's folder. */
export const caseNames = (root: string): string[] =>
  readdirSync(join(root, "examples"))
    .filter((f) => f.endsWith(".order.json"))
    .map((f) => f.slice(0, -".order.json".length))
    .sort();

/** Draws a case from its order, at half size (sections at full), without a shop. */
export function drawCase(root: string, name: string): Case {
  const path = join(root, "examples", `${name}.order.json`);
  const { value, findings } = readOrder(orderSource(path));
  if (value === null) throw new Error(`${name}: ${findings.map((f) => f.says).join(" ")}`);
  const neck = makeNeck(value);
  const drawings = [
    planDrawing(neck, 0.5),
    sideDrawing(neck, 0.5),
    sectionsDrawing(neck, 1),
    headstockDrawing(neck, 0.5),
    centsDrawing(neck),
  ];
  return { name, title: value.name, pictures: drawings.map((d) => ({ id: d.id, title: d.title, svg: svg(d) })) };
}
