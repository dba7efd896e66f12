import type { OrderSpec } from "../spec/types.ts";
import type { Mm } from "../units/index.ts";
import { backSurface } from "./carve.ts";
import { checkNeck } from "./check.ts";
import { type FretLines, fretLines, outerStrings } from "./fan.ts";
import { barChannels, fretSlots, markerRecesses, nutSeat, rodChannels, screwBores, sideMarkers, tenonOf } from "./features.ts";
import { mirrorNeck } from "./mirror.ts";
import { edgesOf, neckOutline } from "./outline.ts";
import { neckPlaces } from "./places.ts";
import { boardEdgeLines, stringLine } from "./strings.ts";
import { topSurface } from "./top.ts";
import { type Face, headSlots, rollerBores, tunerBores, tunerRows } from "./tuners.ts";
import type { Neck, NeckPlaces, RodChannel } from "./types.ts";

/**
 * The exact geometry of the neck an order describes, with the findings of its design checks (NK rules).
 * Never throws on an order that passed `parseOrder`. Everything is built right-handed; a left-handed neck is its mirror.
 */
export function makeNeck(order: OrderSpec): Neck {
  const { neck, drawingGap } = rightHanded(order);
  const whole = order.hand === "left" ? mirrorNeck(neck) : neck;
  return { ...whole, findings: checkNeck(whole, drawingGap) };
}

function rightHanded(order: OrderSpec): { readonly neck: Neck; readonly drawingGap: Mm } {
  const lines = fretLines(order, outerStrings(order));
  const bare = neckPlaces(order, lines);
  const boardEdges = boardEdgeLines(order, bare.boardEnd);
  const rows = tunerRows(order, bare.rampTop);
  const outline = neckOutline(order, bare, boardEdges, rows);
  const end = Math.max(outline.corners[0].x, outline.corners[1].x, outline.end.kind === "arc" ? bare.boardEnd : Number.NEGATIVE_INFINITY);
  const tip = outline.tip ?? bare.tip;
  const places: NeckPlaces = { ...bare, tip, end };
  const top = topSurface(order, places);
  const back = backSurface(order, places, boardEdges);
  const edges = edgesOf(order, outline, boardEdges);
  const inPlan = (x: Mm, y: Mm): boolean => {
    if (x < places.tip || x > places.end) return false;
    const [lo, hi] = edges(x);
    return y >= lo && y <= hi;
  };
  const backZ = (x: Mm, y: Mm): Mm => (inPlan(x, y) ? back.z(x, y) : Number.NaN);
  const face: Face = { nutX: (s) => nutCrossing(lines, stringLine(order), s), top: top.z, back: back.z, edges };
  const rod = [...rodChannels(order), ...barChannels(order)];
  const neck: Neck = {
    order,
    outline: outline.contour,
    board: outline.board,
    places,
    features: {
      frets: fretSlots(order, boardEdges, lines),
      tuners: tunerBores(order, rows, face),
      nut: nutSeat(order, places.nutSlope),
      markers: markerRecesses(order, top.z, lines),
      sideMarkers: sideMarkers(order, boardEdges, top.z, lines),
      rod,
      screws: screwBores(order, places),
      headSlots: headSlots(order, rows, bare.rampTop),
      rollers: rollerBores(order, rows, face),
      tenon: tenonOf(order, places, back.neckAngle),
    },
    edges,
    boardEdges,
    top: top.z,
    boardTop: top.board,
    back: backZ,
    topDistance: top.distance,
    backDistance: back.distance,
    backNormal: back.normal,
    section: back.section,
    boardRadius: top.radiusAt,
    woodUnderRod: (x) => woodUnder(rod, back.z, x),
    stringAt: stringLine(order),
    fretAt: (n) => lines(n).x0,
    fretSlope: (n) => lines(n).slope,
    scaleOf: (s) => scaleOf(lines, stringLine(order), s),
    neckAngle: back.neckAngle,
    findings: [],
  };
  return { neck, drawingGap: outline.drawingGap };
}

/** x at which string s crosses the line of the nut. */
function nutCrossing(lines: FretLines, at: (s: number, x: Mm) => Mm, s: number, n = 0): Mm {
  const { x0, slope } = lines(n);
  let x = x0;
  for (let k = 0; k < 30; k++) x = x0 + slope * at(s, x);
  return x;
}

function scaleOf(lines: FretLines, at: (s: number, x: Mm) => Mm, s: number): Mm {
  return nutCrossing(lines, at, s, Number.POSITIVE_INFINITY) - nutCrossing(lines, at, s);
}

/** Least wood between any channel's rod or bar and the finished back at x: at the channel's corners, where a rounded back is nearest. */
function woodUnder(channels: readonly RodChannel[], back: (x: Mm, y: Mm) => Mm, x: Mm): Mm | null {
  let least: Mm | null = null;
  for (const c of channels) {
    if (c.id === "rod-access" || x < c.xMin || x > c.xMax) continue;
    const y = c.y ?? 0;
    const depth = -Math.max(back(x, y + c.width / 2), back(x, y - c.width / 2));
    const t = (x - c.xMin) / (c.xMax - c.xMin);
    const floor = -c.zFloor + 4 * (c.sag ?? 0) * t * (1 - t);
    // from the back the rod lies on the floor and grows toward the back; from the face the floor is the deepest place
    const wood = depth - floor - (c.from === "carve" ? c.rodHeight : 0);
    if (least === null || wood < least) least = wood;
  }
  return least;
}
