import type { Polygon } from "../../kernel/polygon.ts";
import type { Mm, Rad } from "../../units/index.ts";

/** A part of what is to be placed: it needs `need` mm more than the smallest margin that is made as large as can be. */
export interface Piece {
  readonly name: string;
  readonly polygon: Polygon;
  readonly need: Mm;
}

/** A region of the blank. `pieces`: names of the pieces it concerns; absent: all. */
export interface Region {
  readonly name: string;
  readonly polygon: Polygon;
  readonly pieces?: readonly string[];
}

export interface PlacementProblem {
  readonly pieces: readonly Piece[];
  /** Pieces lie inside each of these: the blank itself, and figure that a piece shall show. */
  readonly within: readonly Region[];
  /** Pieces lie clear of these: knots, pith, sapwood, checks. */
  readonly without: readonly Region[];
  /** Rotations that the grain allows. */
  readonly rotation: { readonly min: Rad; readonly max: Rad };
  /** The search ends when margin and bound are this close. Default 1e-4. */
  readonly gap?: Mm;
  /** The search also ends after this many cells; the bound then says how much is open. Default 60000. */
  readonly cells?: number;
}

/** Where a piece is as near to a region as the margin says. Both places in the blank's frame. */
export interface Contact {
  readonly piece: string;
  readonly region: string;
  /** Distance less the piece's need. */
  readonly margin: Mm;
  readonly x: Mm;
  readonly y: Mm;
  readonly onRegion: readonly [Mm, Mm];
}

/** x' = cos x - sin y + shift.x, y' = sin x + cos y + shift.y. */
export interface Placement {
  readonly rotation: Rad;
  readonly shift: { readonly x: Mm; readonly y: Mm };
}

export interface Placed extends Placement {
  /**
   * The smallest, over all pieces, of distance less need. Against a blank's outer sides it is signed (negative: so far
   * outside); a piece that overlaps a hollow or a region to keep out of has distance 0 to it.
   */
  readonly margin: Mm;
  /** No placement has more than this: proved. */
  readonly bound: Mm;
  /** True when every piece lies inside, touches nothing it must keep off, and has its need. */
  readonly fits: boolean;
  readonly contacts: readonly Contact[];
  /** Cells looked at, for the curious. */
  readonly cells: number;
}
