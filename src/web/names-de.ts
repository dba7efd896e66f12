/* Texts that come from the stages and from the schemas, in German; the English text is the key. */

export const namesDe: { readonly [english: string]: string } = {
  "100 mm across the neck, out of square by": "100 mm quer zum Hals, aus dem Winkel um",
  "fret 12 from the nut": "Bund 12 vom Sattel",
  "note at fret 12": "Ton am Bund 12",
  "a slot cut in one pass, wider by": "eine Nut aus einem Gang, breiter um",
  "every wall, off its place by": "jede Wand, versetzt um",
  "step between the sides along x": "Versatz zwischen den Seiten längs x",
  "step between the sides along y": "Versatz zwischen den Seiten längs y",
  "height of the board side": "Höhe der Griffbrettseite",
  "height of the carve side": "Höhe der Rückseite",
  "glue plane above the bed, board side": "Leimfläche über dem Tisch, Griffbrettseite",
  "glue plane above the bed, carve side": "Leimfläche über dem Tisch, Rückseite",
};
