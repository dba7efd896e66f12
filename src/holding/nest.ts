import type { Mm } from "../units/index.ts";

/* Several pieces side by side on one bed. */

export interface Box2 {
  readonly xMin: Mm;
  readonly yMin: Mm;
  readonly xMax: Mm;
  readonly yMax: Mm;
}

/** A piece as it lies on one side, in its own program frame. */
export interface Lying {
  /** Blank and all that holds it. */
  readonly solid: Box2;
  /** All that cutter, shank and holder ever come to. */
  readonly sweep: Box2;
}

export interface Nested {
  /** Where each piece's program zero lies from the bed's corner. */
  readonly at: readonly (readonly [Mm, Mm])[];
  /** Smallest distance of a piece's sweep from what lies beside it. */
  readonly clearance: Mm;
}

const moved = (b: Box2, [dx, dy]: readonly [Mm, Mm]): Box2 => ({
  xMin: b.xMin + dx,
  yMin: b.yMin + dy,
  xMax: b.xMax + dx,
  yMax: b.yMax + dy,
});

/** Free way between two boxes: the larger of both axes' gaps, negative where they overlap. */
export const between = (a: Box2, b: Box2): Mm =>
  Math.max(Math.max(a.xMin, b.xMin) - Math.min(a.xMax, b.xMax), Math.max(a.yMin, b.yMin) - Math.min(a.yMax, b.yMax));

/** What a piece may not come nearer to than the gap: its sweep to the other's wood and blocks, and the other way round. */
export const apart = (a: Lying, b: Lying, at: readonly [Mm, Mm], bt: readonly [Mm, Mm]): Mm =>
  Math.min(between(moved(a.sweep, at), moved(b.solid, bt)), between(moved(a.solid, at), moved(b.sweep, bt)));

/**
 * Puts the pieces in rows across the bed, each as near to those before it as the gap allows, a new row where the bed ends. `along`: the axis
 * that the pieces lie along. null: they do not all go on; `fit` says how many do.
 */
export function nest(
  pieces: readonly Lying[],
  travel: readonly [Mm, Mm],
  bed: readonly [Mm, Mm],
  along: "x" | "y",
  gap: Mm,
): { readonly nested: Nested | null; readonly fit: number } {
  const a = along === "x" ? 0 : 1;
  const c = 1 - a;
  const lo = (b: Box2, k: number): Mm => (k === 0 ? b.xMin : b.yMin);
  const hi = (b: Box2, k: number): Mm => (k === 0 ? b.xMax : b.yMax);
  const at: [Mm, Mm][] = [];
  /** Least place on an axis at which a piece is on the bed and within travel. */
  const least = (p: Lying, k: number): Mm => Math.max(-lo(p.solid, k), -lo(p.sweep, k));
  const onBed = (p: Lying, place: readonly [Mm, Mm]): boolean =>
    [0, 1].every((k) => place[k] + hi(p.solid, k) <= bed[k] + 1e-6 && place[k] + hi(p.sweep, k) <= travel[k] + 1e-6);
  let row: number[] = [];
  let rowEnd = 0;
  let rowFrom = 0;
  const up = (v: Mm): Mm => Math.ceil(v * 10 - 1e-9) / 10 + 0;
  for (const [n, p] of pieces.entries()) {
    const put = (): [Mm, Mm] => {
      const place: [Mm, Mm] = [0, 0];
      place[a] = up(Math.max(least(p, a), rowFrom - Math.min(lo(p.solid, a), lo(p.sweep, a))));
      place[c] = up(
        Math.max(
          least(p, c),
          ...row.map((m) =>
            Math.max(at[m][c] + hi(pieces[m].sweep, c) + gap - lo(p.solid, c), at[m][c] + hi(pieces[m].solid, c) + gap - lo(p.sweep, c)),
          ),
        ),
      );
      return place;
    };
    let place = put();
    if (!onBed(p, place) && row.length > 0) {
      rowFrom = rowEnd + gap;
      row = [];
      place = put();
    }
    if (!onBed(p, place)) return { nested: null, fit: n };
    at.push(place);
    row.push(n);
    rowEnd = Math.max(rowEnd, place[a] + Math.max(hi(p.solid, a), hi(p.sweep, a)));
  }
  let clearance = Number.POSITIVE_INFINITY;
  for (let i = 0; i < pieces.length; i++)
    for (let j = i + 1; j < pieces.length; j++) clearance = Math.min(clearance, apart(pieces[i], pieces[j], at[i], at[j]));
  return { nested: { at, clearance }, fit: pieces.length };
}
