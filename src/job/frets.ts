import { makeNeck } from "../neck/index.ts";
import type { Finding } from "../units/index.ts";
import { readOrder, type Source } from "./source.ts";

export interface FretRow {
  readonly fret: number;
  /** On the centreline. */
  readonly fromNut: number;
  readonly fromLast: number;
  readonly bass: readonly [number, number];
  readonly treble: readonly [number, number];
  readonly slotLength: number;
}

/** The fret slots of an order as a table; rows null when the order cannot be read. */
export function fretTable(source: Source): {
  readonly rows: readonly FretRow[] | null;
  readonly scale: number;
  readonly findings: readonly Finding[];
} {
  const order = readOrder(source);
  if (order.value === null) return { rows: null, scale: Number.NaN, findings: order.findings };
  const neck = makeNeck(order.value);
  const rows = neck.features.frets.map(({ number, bass, treble }): FretRow => {
    const fromNut = neck.fretAt(number);
    return {
      fret: number,
      fromNut,
      fromLast: fromNut - neck.fretAt(number - 1),
      bass: [bass.x, bass.y],
      treble: [treble.x, treble.y],
      slotLength: Math.hypot(treble.x - bass.x, treble.y - bass.y),
    };
  });
  return { rows, scale: order.value.scale, findings: order.findings };
}
