import type { Mm } from "../units/index.ts";
import type { Place } from "./types.ts";

/** Distance of a place from the nut; fret n of scale L stands at L (1 - 2^(-n/12)) (twelve equal steps to the octave). */
export const placeToX = (scale: Mm, at: Place): Mm => (at.kind === "x" ? at.x : scale * (1 - 2 ** (-at.fret / 12)));
