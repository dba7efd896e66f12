import type { Mm } from "../units/index.ts";
import type { Side, Solid } from "./types.ts";

/** Width beside the outline that cutters may sweep. */
export const SWATH: Mm = 10;

/** Air between anything that holds the piece and anything that turns: cutter, shank, holder. Common practice, no source. */
export const CLEAR: Mm = 2;

export interface Extent {
  readonly minX: Mm;
  readonly minY: Mm;
  readonly maxX: Mm;
  readonly maxY: Mm;
}

/** Ground plan of the stock and all that holds it. */
export function extent(stock: Side["stock"], holding: readonly Solid[]): Extent {
  let [minX, minY] = stock.min;
  let [maxX, maxY] = stock.max;
  const add = (x: Mm, y: Mm): void => {
    minX = Math.min(minX, x);
    maxX = Math.max(maxX, x);
    minY = Math.min(minY, y);
    maxY = Math.max(maxY, y);
  };
  for (const s of holding) {
    if (s.kind === "box") {
      add(s.min[0], s.min[1]);
      add(s.max[0], s.max[1]);
    } else if (s.kind === "cylinder") {
      add(s.x - s.diameter / 2, s.y - s.diameter / 2);
      add(s.x + s.diameter / 2, s.y + s.diameter / 2);
    } else for (const [x, y] of s.points) add(x, y);
  }
  return { minX, minY, maxX, maxY };
}
