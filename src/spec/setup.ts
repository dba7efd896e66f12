import type { Mm } from "../units/index.ts";
import type { OrderSpec } from "./types.ts";

/*
 * What the figures take where an order is silent about the strings' heights and the air. Common practice among makers, without a source.
 */

export interface Setup {
  readonly nut: Mm;
  readonly twelfth: Mm;
  readonly relief: Mm;
  readonly finger: Mm;
}

export interface Air {
  /** Degrees Celsius. */
  readonly temperature: number;
  /** Percent. */
  readonly humidity: number;
}

const USUAL: Readonly<Record<OrderSpec["instrument"], Setup>> = {
  guitar: { nut: 0.4, twelfth: 1.9, relief: 0.2, finger: 10 },
  bass: { nut: 0.5, twelfth: 2.2, relief: 0.3, finger: 10 },
  ukulele: { nut: 0.5, twelfth: 2.5, relief: 0.1, finger: 10 },
  other: { nut: 0.4, twelfth: 1.9, relief: 0.2, finger: 10 },
};

/** The order's set-up, complete. Over a zero fret strings lie on a fret at x = 0. */
export function setupOf(order: OrderSpec): Setup {
  const usual = USUAL[order.instrument];
  const given = order.setup ?? {};
  return {
    nut: given.nut ?? (order.nut.zeroFret === undefined ? usual.nut : 0),
    twelfth: given.twelfth ?? order.heel.setUp?.action ?? usual.twelfth,
    relief: given.relief ?? usual.relief,
    finger: given.finger ?? usual.finger,
  };
}

/** The air of shop and home, complete; `swing` in percent of relative humidity to either side. */
export function climateOf(order: OrderSpec): { readonly shop: Air; readonly home: Air & { readonly swing: number } } {
  return {
    shop: { temperature: 20, humidity: 45, ...order.climate?.shop },
    home: { temperature: 21, humidity: 45, swing: 10, ...order.climate?.home },
  };
}
