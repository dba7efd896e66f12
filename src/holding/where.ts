import type { Box } from "../kernel/contour.ts";
import type { Neck } from "../neck/types.ts";
import type { Holding } from "./types.ts";

/** +1 when the neck's +y points from the datum edge into the blank, -1 when it points at the datum edge. */
export function upOf({ order: { blank, hand } }: Pick<Neck, "order">): 1 | -1 {
  return (blank.datumEdge === "bass") === (hand === "right") ? 1 : -1;
}

/** Where the neck lies in its blank: as the order places it, else with the middle of its outline's box in the blank's middle. */
export function whereInBlank(neck: Neck, box: Box): Holding["placement"] {
  const { blank } = neck.order;
  const up = upOf(neck);
  const rotation = blank.rotation ?? 0;
  if (rotation === 0)
    return {
      tipFromEnd: blank.tipFromEnd ?? (blank.length - (box.xMax - box.xMin)) / 2,
      centreFromDatum: blank.centreFromDatum ?? blank.width / 2 - (up * (box.yMin + box.yMax)) / 2,
    };
  const [cos, sin] = [Math.cos(rotation), Math.sin(rotation)];
  const [x, y] = [(box.xMin + box.xMax) / 2, (up * (box.yMin + box.yMax)) / 2];
  return {
    tipFromEnd: blank.tipFromEnd ?? blank.length / 2 - cos * x + sin * y + neck.places.tip,
    centreFromDatum: blank.centreFromDatum ?? blank.width / 2 - sin * x - cos * y,
    rotation,
  };
}
