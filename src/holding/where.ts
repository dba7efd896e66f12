import type { Box } from "../kernel/contour.ts";
import type { Neck } from "../neck/types.ts";
import type { Mm } from "../units/index.ts";
import type { InBlank } from "./solids.ts";
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

/** Between the neck's plan and distances in its blank, from where it lies there. */
export function inBlankOf(neck: Neck, { tipFromEnd, centreFromDatum, rotation = 0 }: Holding["placement"]): InBlank {
  const up = upOf(neck);
  const [cos, sin] = [Math.cos(rotation), Math.sin(rotation)];
  const ox = tipFromEnd - neck.places.tip;
  return {
    along: (x, y) => cos * x - sin * up * y + ox,
    across: (x, y) => centreFromDatum + sin * x + cos * up * y,
    x: (along, across) => cos * (along - ox) + sin * (across - centreFromDatum),
    y: (along, across) => up * (cos * (across - centreFromDatum) - sin * (along - ox)),
  };
}

/** Wood between the outline and the datum edge, and between the outline and the far edge, at a distance along the blank. */
export function wasteOf(neck: Neck, { tipFromEnd, centreFromDatum, rotation = 0 }: Holding["placement"]): (along: Mm) => readonly [Mm, Mm] {
  const up = upOf(neck);
  const [cos, sin] = [Math.cos(rotation), Math.sin(rotation)];
  const ox = tipFromEnd - neck.places.tip;
  return (d) => {
    const [lo, hi] = ([0, 1] as const).map((k) => {
      // the edge's place at this distance from the stop: of a neck askew it lies at another x on each edge
      let y = 0;
      for (let n = 0; n < (rotation === 0 ? 1 : 5); n++) {
        const x = (d - ox + sin * up * y) / cos;
        y = neck.edges(Math.min(neck.places.end - 0.01, Math.max(neck.places.tip, x)))[k];
      }
      return centreFromDatum + (sin * (d - ox) + up * y) / cos;
    });
    return [Math.min(lo, hi), neck.order.blank.width - Math.max(lo, hi)];
  };
}
