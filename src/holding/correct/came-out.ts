import type { Neck } from "../../neck/types.ts";
import type { Cents, Mm } from "../../units/index.ts";
import { slip } from "./odd.ts";
import type { Found } from "./types.ts";

/* What came out of the machine, as it was measured: thicknesses and places of frets, held against what was ordered. */

export interface OutReading {
  /** "thickness at fret 5", "fret 12". */
  readonly name: string;
  readonly kind: "thickness" | "fret";
  /** Of a fret: its number. */
  readonly fret?: number;
  readonly ordered: Mm;
  readonly measured: Mm;
}

export interface CameOut extends OutReading {
  readonly off: Mm;
  /** Of a fret: by how much it sounds sharp there. */
  readonly cents?: Cents;
}

/** A reading further off than this is not believed, mm. */
const BELIEVED: Readonly<Record<OutReading["kind"], Mm>> = { thickness: 2, fret: 2.5 };
/** Two readings that fit this much better in each other's place have changed places. */
const EXCHANGED: Mm = 0.5;

/**
 * Cents by which a fret sounds sharp that stands `at` from the nut: the string's rest is S - x and pitch goes with its inverse,
 * 1200 log2((S - x ordered) / (S - x measured)).
 */
export const sharpBy = (scale: Mm, ordered: Mm, at: Mm): Cents => 1200 * Math.log2((scale - ordered) / (scale - at));

const r2 = (v: number): string => String(Math.round(v * 100) / 100);

/** Believes the readings, or says which one is odd and what may have happened. */
export function readCameOut(readings: readonly OutReading[], neck: Pick<Neck, "order" | "fretAt">): Found<readonly CameOut[]> {
  const bad = (says: string, tryThis: string): Found<readonly CameOut[]> => ({ ok: false, says, tryThis });
  for (const r of readings) {
    if (!(Number.isFinite(r.measured) && r.measured > 0))
      return bad(`${r.name} was measured as ${r.measured} mm.`, "A length is above 0: measure it again.");
    const again = readings.find((q) => q !== r && q.name === r.name && q.measured !== r.measured);
    if (again !== undefined)
      return bad(
        `${r.name} is given twice, as ${r2(r.measured)} and as ${r2(again.measured)} mm.`,
        "Give the one that counts, or the mean of both.",
      );
  }
  const fits = (r: OutReading, v: Mm): boolean => Math.abs(v - r.ordered) <= BELIEVED[r.kind];
  for (const [i, a] of readings.entries())
    for (const b of readings.slice(i + 1)) {
      if (a.kind !== b.kind) continue;
      const as = Math.max(Math.abs(a.measured - a.ordered), Math.abs(b.measured - b.ordered));
      const swapped = Math.max(Math.abs(b.measured - a.ordered), Math.abs(a.measured - b.ordered));
      if (as > EXCHANGED && swapped < as / 4)
        return bad(
          `${a.name} (${r2(a.measured)} mm) and ${b.name} (${r2(b.measured)} mm) fit what was ordered only when they change places.`,
          "Were the two written down the wrong way round? Measure both again.",
        );
    }
  for (const r of readings) {
    if (fits(r, r.measured)) continue;
    const guess = slip(r.measured, (v) => fits(r, v));
    const count = neck.order.frets.count;
    const other =
      r.kind === "fret" && guess === null
        ? Array.from({ length: count }, (_, k) => k + 1).find((n) => n !== r.fret && Math.abs(neck.fretAt(n) - r.measured) < 1)
        : undefined;
    return bad(
      `${r.name} was measured as ${r2(r.measured)} mm, where ${r2(r.ordered)} mm was ordered.`,
      guess !== null
        ? `Look at ${r2(r.measured)} again: ${guess}?`
        : other !== undefined
          ? `That is where fret ${other} stands: was another fret measured, or from another edge than the nut's?`
          : "Measure it again. If it is really so, say --sure: it is then written down as it is.",
    );
  }
  return { ok: true, value: readings.map((r) => came(r, neck)) };
}

/** A reading beside what was ordered. */
export function came(r: OutReading, neck: Pick<Neck, "order">): CameOut {
  const off = r.measured - r.ordered;
  return r.kind === "fret" ? { ...r, off, cents: sharpBy(neck.order.scale, r.ordered, r.measured) } : { ...r, off };
}
