import type { SvgGroup } from "../../sheet/draw/svg.ts";
import type { Window } from "../../sheet/drawings/strips.ts";
import type { Look, Picture } from "./pictures.ts";

/** A state of an order to be drawn; of those that wait only the last is. */
export interface DrawAsk {
  readonly turn: number;
  readonly file: unknown;
  readonly look: Look;
  /** The first of a drag: nothing that was sent before is on the screen any more. */
  readonly afresh: boolean;
  /** Sent when it changes, and holds until then. */
  readonly drawing?: Uint8Array | null;
}

/** A picture whose groups are left out where they are those of the answer before. */
export interface Redrawn extends Omit<Picture, "parts"> {
  readonly open: string;
  readonly groups: readonly (SvgGroup | null)[];
}

export interface DrawAnswer {
  readonly turn: number;
  /** Null: the order cannot be understood. */
  readonly drawn: { readonly window: Window; readonly strips: readonly Redrawn[]; readonly section: Redrawn } | null;
}
