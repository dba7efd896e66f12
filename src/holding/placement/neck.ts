import { flatten } from "../../kernel/contour.ts";
import { intersectionOf } from "../../kernel/offset.ts";
import { type Polygon, polygonArea, simplifyPolygon } from "../../kernel/polygon.ts";
import type { Neck } from "../../neck/types.ts";
import { degToRad, type Mm, type Rad } from "../../units/index.ts";
import { SWATH } from "../extent.ts";
import { upOf } from "../where.ts";
import { marginAt, place } from "./solve.ts";
import type { Contact, Piece, Placed, Placement, PlacementProblem, Region } from "./types.ts";

/**
 * The neck's outline stands as a polygon whose edges lie within this of its exact curves (chords of half of it, and vertices left out
 * by the other half); a stated margin is good to as much.
 */
export const OUTLINE_TOLERANCE: Mm = 0.01;
/** How far the grain may run off the neck where the order does not say (common practice, no source). */
export const GRAIN_TURN: Rad = degToRad(3);

/** A neck is turned in its blank by no more than this: beyond it the grain runs out, and a new datum edge is the better way. */
export const MOST_ASKEW: Rad = degToRad(5);

/** Where the neck lies in its blank, in the words of the order: distances of the nut's middle, and its turn. */
export interface InBlank {
  readonly tipFromEnd: Mm;
  readonly centreFromDatum: Mm;
  readonly rotation: Rad;
}

export { upOf };

const ring = (points: readonly { readonly x: Mm; readonly y: Mm }[]): Polygon => {
  const p = Float64Array.from(points.flatMap((q) => [q.x, q.y]));
  if (!(polygonArea(p) < 0)) return p;
  return Float64Array.from([...points].reverse().flatMap((q) => [q.x, q.y]));
};

/** The blank's own outline in its frame: x from the headstock end, y from the datum edge. */
export function blankOutline(neck: Neck): Polygon {
  const { outline, length, width } = neck.order.blank;
  return outline ? ring(outline) : Float64Array.of(0, 0, length, 0, length, width, 0, width);
}

/** The order's blank, its defects and figure, and the neck's outline in two parts, as a problem in the blank's frame. */
export function placementProblem(neck: Neck): PlacementProblem {
  const { blank, holding } = neck.order;
  const up = upOf(neck);
  const flat = simplifyPolygon(flatten(neck.outline, OUTLINE_TOLERANCE / 2), OUTLINE_TOLERANCE / 2);
  const whole = ring(Array.from({ length: flat.length / 2 }, (_, k) => ({ x: flat[2 * k], y: up * flat[2 * k + 1] })));
  const outer: Region = { name: "blank", polygon: blankOutline(neck) };
  const regions = (blank.regions ?? []).map((r, k) => ({
    kind: r.kind,
    name: `${r.kind} ${k + 1}`,
    polygon: ring(r.points),
    ...(r.parts === undefined || r.parts.length > 1 ? {} : { pieces: r.parts }),
  }));
  const apart = regions.some((r) => r.pieces !== undefined);
  const half = (from: Mm, to: Mm): Polygon[] => intersectionOf([whole], [Float64Array.of(from, -500, to, -500, to, 500, from, 500)]);
  const at = neck.places.boardFront;
  const pieces: Piece[] = apart
    ? [
        ...half(-2000, at).map((polygon): Piece => ({ name: "headstock", polygon, need: 0 })),
        ...half(at, 2000).map((polygon): Piece => ({ name: "shaft", polygon, need: 0 })),
      ]
    : [{ name: "neck", polygon: whole, need: 0 }];
  // blocks grip the ends: what they and the outline's cutter take there, counted so that the ordered margin is just met
  const ends = holding.block.grip + SWATH - blank.margin;
  const { length, width } = blank;
  const between: Region[] =
    ends > 0 && length > 2 * ends
      ? [
          {
            name: "block at the end",
            // wide open across, so that only the ends count
            polygon: Float64Array.of(ends, -5 * width, length - ends, -5 * width, length - ends, 6 * width, ends, 6 * width),
          },
        ]
      : [];
  const turn = Math.min(blank.grainTurn ?? GRAIN_TURN, MOST_ASKEW);
  return {
    pieces,
    within: [outer, ...between, ...regions.filter((r) => r.kind === "figure")],
    without: regions.filter((r) => r.kind !== "figure"),
    rotation: { min: -turn, max: turn },
  };
}

/** The other way round: where the neck's frame lies, from the words of the order. */
export const toPlacement = (neck: Neck, at: InBlank): Placement => ({
  rotation: at.rotation,
  shift: { x: at.tipFromEnd - neck.places.tip, y: at.centreFromDatum },
});
export const toInBlank = (neck: Neck, p: Placement): InBlank => ({
  tipFromEnd: p.shift.x + neck.places.tip,
  centreFromDatum: p.shift.y,
  rotation: p.rotation,
});

export interface BlankPlacement extends Placed {
  readonly inBlank: InBlank;
}

/** The best place of the neck in its blank; `along`: along the datum edge. */
export function bestInBlank(neck: Neck, along: boolean): BlankPlacement {
  const problem = placementProblem(neck);
  const placed = place(along ? { ...problem, rotation: { min: 0, max: 0 } } : problem);
  return { ...placed, inBlank: toInBlank(neck, placed) };
}

/** The margin of the neck where it is said to lie. */
export function marginInBlank(neck: Neck, at: InBlank): { readonly margin: Mm; readonly contacts: readonly Contact[] } {
  return marginAt(placementProblem(neck), toPlacement(neck, at));
}
