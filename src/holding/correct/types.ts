import type { Mm } from "../../units/index.ts";

/** A measurement that makes sense, or a sentence that says what is odd about it and what to do. */
export type Found<T> = { readonly ok: true; readonly value: T } | { readonly ok: false; readonly says: string; readonly tryThis: string };

/** What a correction changes, for the person: before and after. */
export interface Effect {
  readonly what: string;
  readonly unit: "mm" | "cent";
  readonly before: number;
  readonly after: number;
}

/** Distances from the scribed outline to the blank's edges, square across the neck at a station. */
export interface StationReading {
  /** Along the centreline from the nut; negative on the headstock. */
  readonly x: Mm;
  /** To the datum edge, and to the far edge. */
  readonly near: Mm;
  readonly far: Mm;
}

/** An edge of the blank in the neck's frame: y = at + slope x. */
export interface EdgeLine {
  readonly at: Mm;
  readonly slope: number;
}
