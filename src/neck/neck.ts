import type { OrderSpec } from "../spec/types.ts";
import type { Mm } from "../units/index.ts";
import { backSurface } from "./carve.ts";
import { checkNeck } from "./check.ts";
import { fretSlots, markerRecesses, nutSeat, rodChannels, screwBores, sideMarkers } from "./features.ts";
import { fretDistance } from "./frets.ts";
import { mirrorNeck } from "./mirror.ts";
import { chainAt, neckOutline } from "./outline.ts";
import { neckPlaces } from "./places.ts";
import { boardEdgeLines, stringLine } from "./strings.ts";
import { topSurface } from "./top.ts";
import { tunerBores, tunerRows } from "./tuners.ts";
import type { Neck } from "./types.ts";

/**
 * The exact geometry of the neck an order describes, with the findings of its design checks (NK rules).
 * Never throws on an order that passed `parseOrder`. Everything is built right-handed; a left-handed neck is its mirror.
 */
export function makeNeck(order: OrderSpec): Neck {
  const neck = rightHanded(order);
  const whole = order.hand === "left" ? mirrorNeck(neck) : neck;
  return { ...whole, findings: checkNeck(whole) };
}

function rightHanded(order: OrderSpec): Neck {
  const places = neckPlaces(order);
  const boardEdges = boardEdgeLines(order, places.boardEnd);
  const rows = tunerRows(order);
  const outline = neckOutline(order, places, boardEdges, rows);
  const top = topSurface(order, places);
  const back = backSurface(order, places, boardEdges);
  const edges = (x: Mm): readonly [Mm, Mm] => {
    if (x > outline.corner && outline.end.kind === "arc") {
      const { centre, radius } = outline.end;
      const half = Math.sqrt(Math.max(0, radius * radius - (x - centre.x) ** 2));
      return [centre.y - half, centre.y + half];
    }
    if (x >= -order.headstock.throat) return boardEdges(x);
    return [chainAt(outline.bass, x), chainAt(outline.treble, x)];
  };
  const inPlan = (x: Mm, y: Mm): boolean => {
    if (x < places.tip || x > places.boardEnd) return false;
    const [lo, hi] = edges(x);
    return y >= lo && y <= hi;
  };
  const rod = order.rod;
  const backZ = (x: Mm, y: Mm): Mm => (inPlan(x, y) ? back.z(x, y) : Number.NaN);
  return {
    order,
    outline: outline.contour,
    board: outline.board,
    places,
    features: {
      frets: fretSlots(order, boardEdges),
      tuners: tunerBores(order, rows),
      nut: nutSeat(order),
      markers: markerRecesses(order, top.z),
      sideMarkers: sideMarkers(order, boardEdges, top.z),
      rod: rodChannels(order),
      screws: screwBores(order, places),
    },
    edges,
    boardEdges,
    top: top.z,
    back: backZ,
    topDistance: top.distance,
    backDistance: back.distance,
    backNormal: back.normal,
    section: back.section,
    boardRadius: top.radiusAt,
    woodUnderRod: (x) => {
      if (rod.kind === "none" || x < rod.from_x || x > rod.to_x) return null;
      // at the channel's corners, where a rounded back is nearest
      const z = back.z(x, rod.width / 2);
      const other = back.z(x, -rod.width / 2);
      const depth = -Math.max(z, other);
      return depth - (rod.from === "back" ? rod.roof + rod.height : rod.depth);
    },
    stringAt: stringLine(order),
    fretAt: (n) => fretDistance(order.scale, n),
    findings: [],
  };
}
