import type { Mm } from "../units/index.ts";
import { isTilted } from "./places.ts";
import type { Neck } from "./types.ts";

/** A filler strip stands this far over what roughing has left, before it is levelled. Common practice, no source: "a little proud". */
const PROUD: Mm = 2;

/**
 * A tilted headstock makes the blank far thicker than the shaft, so that channels cut from the back are cut after roughing, and their
 * filler strips are as high as the roughed back asks: the height of their upper faces (neck frame, below the glue plane), level all along.
 * Null where the strips are glued into the whole blank.
 */
export function fillerTop(neck: Neck): Mm | null {
  const channels = neck.features.rod.filter((c) => c.from === "carve");
  if (!isTilted(neck.order) || channels.length === 0) return null;
  let lowest = 0;
  for (const c of channels) for (let x = c.xMin; x <= c.xMax; x += 1) lowest = Math.min(lowest, neck.back(x, c.y ?? 0));
  return lowest - neck.order.cutting.roughLeave - PROUD;
}
