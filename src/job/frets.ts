import { centsOfAxisScale, centsOfFretError } from "../materials/intonation.ts";
import { answersOf, type StringAnswer, USUAL_TOLERANCES } from "../neck/figures/index.ts";
import { makeNeck } from "../neck/index.ts";
import type { Finding } from "../units/index.ts";
import { readOrder, type Source } from "./source.ts";

export type { StringAnswer };

export interface FretRow {
  readonly fret: number;
  /** On the centreline. */
  readonly fromNut: number;
  readonly fromLast: number;
  readonly bass: readonly [number, number];
  readonly treble: readonly [number, number];
  readonly slotLength: number;
  /** Cents sharp for each tenth of a millimetre that the slot lies too near the bridge. */
  readonly centsPerTenth: number;
  /** Cents sharp when the axis along the neck moves a tenth of a percent too far, the bridge where it should be. */
  readonly centsPerMille: number;
}

/** The scale of one string, known for every order: 1 is the treble-most. */
export interface StringScale {
  readonly string: number;
  readonly scale: number;
}

/** The fret slots of an order as a table; rows null when the order cannot be read. Strings null when pitches or gauges are not known. */
export function fretTable(source: Source): {
  readonly rows: readonly FretRow[] | null;
  readonly scale: number;
  readonly scales: readonly StringScale[];
  readonly strings: readonly StringAnswer[] | null;
  readonly findings: readonly Finding[];
} {
  const order = readOrder(source);
  if (order.value === null) return { rows: null, scale: Number.NaN, scales: [], strings: null, findings: order.findings };
  const neck = makeNeck(order.value);
  const { scale } = order.value;
  const rows = neck.features.frets.map(({ number, bass, treble }): FretRow => {
    const fromNut = neck.fretAt(number);
    return {
      fret: number,
      fromNut,
      fromLast: fromNut - neck.fretAt(number - 1),
      bass: [bass.x, bass.y],
      treble: [treble.x, treble.y],
      slotLength: Math.hypot(treble.x - bass.x, treble.y - bass.y),
      centsPerTenth: centsOfFretError(scale, number, 0.1),
      centsPerMille: centsOfAxisScale(scale, number, 0.1),
    };
  });
  const scales = Array.from({ length: order.value.strings.count }, (_, i) => ({ string: i + 1, scale: neck.scaleOf(i + 1) }));
  return { rows, scale, scales, strings: answersOf(neck, USUAL_TOLERANCES)?.reverse() ?? null, findings: order.findings };
}
