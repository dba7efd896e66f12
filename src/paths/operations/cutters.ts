import type { Cutter } from "../../cutting/types.ts";
import type { CutterShape } from "../../spec/types.ts";
import { type Finding, finding, type Mm } from "../../units/index.ts";
import { PA } from "../rules.ts";

/** What a cut asks of its cutter. Shapes in order of preference; the largest that fits is taken; between equals the shorter reach (it bends less), then the lower number. */
export interface CutterAsk {
  readonly shapes: readonly CutterShape[];
  readonly least?: Mm;
  readonly most: Mm;
  /** Length of flute that meets wood at the deepest place. */
  readonly flute: Mm;
  /** Depth below what the holder must clear. */
  readonly reach: Mm;
  /** Smallest first instead of largest. */
  readonly small?: boolean;
}

export const pickCutter = (cutters: readonly Cutter[], ask: CutterAsk): Cutter | null => fittingCutters(cutters, ask)[0] ?? null;

/** All that fit, the one to take first. */
export function fittingCutters(cutters: readonly Cutter[], ask: CutterAsk): Cutter[] {
  const fit = cutters.filter(
    (c) =>
      ask.shapes.includes(c.shape) &&
      c.diameter <= ask.most + 1e-9 &&
      c.diameter >= (ask.least ?? 0) - 1e-9 &&
      c.fluteLength >= ask.flute - 1e-9 &&
      c.reach >= ask.reach - 1e-9,
  );
  const order = (a: Cutter, b: Cutter): number =>
    ask.shapes.indexOf(a.shape) - ask.shapes.indexOf(b.shape) ||
    (ask.small ? a.diameter - b.diameter : b.diameter - a.diameter) ||
    a.reach - b.reach ||
    a.number - b.number;
  return fit.sort(order);
}

/** The finding for a cut that no cutter of the shop can make. */
export function noCutter(cut: string, title: string, ask: CutterAsk): Finding {
  const size = ask.least !== undefined ? `${r(ask.least)} to ${r(ask.most)}` : `at most ${r(ask.most)}`;
  return finding(PA.noCutter, {
    where: cut,
    value: null,
    limit: size,
    unit: "mm",
    says: `No ${ask.shapes.join(" or ")} cutter in the shop fits the cut "${title}": it needs a diameter of ${size} mm, flutes of ${r(ask.flute)} mm and a reach of ${r(ask.reach)} mm.`,
    tryThis: "Add such a cutter to the shop, or change the feature.",
  });
}

const r = (v: number): number => Math.round(v * 100) / 100;
