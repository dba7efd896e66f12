import type { Mm } from "../units/index.ts";

/** Distance of fret n from the nut on a string of length `scale`: d = L (1 - 2^(-n/12)), twelve-tone equal temperament. */
export function fretDistance(scale: Mm, n: number): Mm {
  return scale * (1 - 2 ** (-n / 12));
}

/** Distance from fret n-1 to fret n: the string left at fret n-1 divided by 1/(1 - 2^(-1/12)) = 17.8171537... */
export function fretSpace(scale: Mm, n: number): Mm {
  return scale * 2 ** (-(n - 1) / 12) * (1 - 2 ** (-1 / 12));
}
