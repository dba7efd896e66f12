import type { OrderSpec } from "../spec/types.ts";
import type { Mm } from "../units/index.ts";
import { crossEdge, type FretLines } from "./fan.ts";
import type { FretSlot, MarkerRecess, NeckPlaces, NutSeat, RodChannel, ScrewBore, SideMarker, Tenon } from "./types.ts";

type Edges = (x: Mm) => readonly [Mm, Mm];
type Top = (x: Mm, y: Mm) => Mm;

/** Slots of all frets (or inlaid lines), a zero fret first; through, or short of the edges or of the binding. */
export function fretSlots(order: OrderSpec, edges: Edges, lines: FretLines): FretSlot[] {
  const f = order.frets;
  if (f.kind === "none") return [];
  const ends = f.ends === "blind" || order.board.binding ? "blind" : "through";
  const inset = Math.max(f.ends === "blind" ? f.blindMargin : 0, order.board.binding ?? 0);
  const first = order.nut.zeroFret !== undefined ? 0 : 1;
  return Array.from({ length: f.count - first + 1 }, (_, i) => {
    const number = first + i;
    const line = lines(number);
    const bass = crossEdge(line, (x) => edges(x)[0] + inset);
    const treble = crossEdge(line, (x) => edges(x)[1] - inset);
    return { id: `fret-${number}`, number, bass, treble, kerf: f.kerf, depth: f.depth, ends };
  });
}

/** seat: the groove in front of the land. shelf: everything from the board's end to the ramp. Along the nut's line. */
export function nutSeat(order: OrderSpec, slope: number): NutSeat {
  const { kind, width, land, floor, zeroFret = 0 } = order.nut;
  const along = Math.hypot(1, slope);
  const xMax = kind === "seat" ? -zeroFret * along : 0;
  return { id: "nut-seat", kind, xMin: -(zeroFret + (kind === "seat" ? width : width + land)) * along, xMax, zFloor: floor, slope };
}

/** Midway between fret n-1 and fret n, at height y across. */
function markerPlace(lines: FretLines, fret: number, y: Mm): { x: Mm; y: Mm } {
  const a = lines(fret - 1);
  const b = lines(fret);
  return { x: (a.x0 + b.x0) / 2 + ((a.slope + b.slope) / 2) * y, y };
}

export function markerRecesses(order: OrderSpec, top: Top, lines: FretLines): MarkerRecess[] {
  const { face } = order.markers;
  const out: MarkerRecess[] = [];
  for (const fret of [...face.frets].sort((a, b) => a - b)) {
    const twice = face.doubleAt.includes(fret);
    const ys = twice ? [-face.spread / 2, face.spread / 2] : [0];
    ys.forEach((across, i) => {
      const { x, y } = markerPlace(lines, fret, across);
      const id = `marker-${fret}${twice ? "ab"[i] : ""}`;
      out.push({ id, fret, x, y, diameter: face.diameter + face.fit, zFloor: top(x, y) - face.depth });
    });
  }
  return out;
}

export function sideMarkers(order: OrderSpec, edges: Edges, top: Top, lines: FretLines): SideMarker[] {
  const { side } = order.markers;
  const out: SideMarker[] = [];
  for (const fret of [...side.frets].sort((a, b) => a - b)) {
    const twice = order.markers.face.doubleAt.includes(fret);
    const end = side.edge === "bass" ? 0 : 1;
    const middle = markerPlace(lines, fret, 0).x;
    const mid = markerPlace(lines, fret, edges(middle)[end]).x;
    const xs = twice ? [mid - side.diameter * 1.5, mid + side.diameter * 1.5] : [mid];
    xs.forEach((x, i) => {
      const y = edges(x)[end];
      out.push({ id: `side-${fret}${twice ? "ab"[i] : ""}`, fret, x, y, z: top(x, y) / 2, diameter: side.diameter, depth: side.depth });
    });
  }
  return out;
}

/** The channel and, when asked, the wider pocket at one end of it (floor level with the channel when cut from the back). */
export function rodChannels(order: OrderSpec): RodChannel[] {
  const rod = order.rod;
  if (rod.kind === "none") return [];
  const from = rod.from === "back" ? ("carve" as const) : ("board" as const);
  const zFloor = rod.from === "back" ? -rod.roof : -rod.depth;
  const out: RodChannel[] = [
    {
      id: "rod-channel",
      from,
      xMin: rod.from_x,
      xMax: rod.to_x,
      width: rod.width,
      zFloor,
      rodHeight: rod.height,
      ...(rod.action === "single" && rod.sag ? { sag: rod.sag } : {}),
    },
  ];
  if (rod.access) {
    const { end, length, width, depth } = rod.access;
    const overlap = rod.width / 2;
    const xMin = end === "head" ? rod.from_x - length + overlap : rod.to_x - overlap;
    out.push({ id: "rod-access", from, xMin, xMax: xMin + length, width, zFloor: rod.from === "back" ? zFloor : -depth, rodHeight: 0 });
  }
  return out;
}

/** Channels for stiffening bars: from the face when they have no roof, else from the back. */
export function barChannels(order: OrderSpec): RodChannel[] {
  const { bars } = order;
  if (!bars) return [];
  const from = bars.roof > 0 ? ("carve" as const) : ("board" as const);
  const zFloor = bars.roof > 0 ? -bars.roof : -bars.height;
  const ys = bars.count === 1 ? [0] : [-bars.offset, bars.offset];
  return ys.map((y, i) => ({
    id: i === 0 ? ("bar-channel-1" as const) : ("bar-channel-2" as const),
    from,
    y,
    xMin: bars.from_x,
    xMax: bars.to_x,
    width: bars.width,
    zFloor,
    rodHeight: bars.height,
  }));
}

/** The tenon of a set neck, from the order and the neck's angle. */
export function tenonOf(order: OrderSpec, places: Pick<NeckPlaces, "shaftEnd">, angle: number): Tenon | null {
  const { tenon, kind } = order.heel;
  if (kind !== "set" || !tenon) return null;
  return { id: "tenon", xMin: places.shaftEnd - tenon.length, xMax: places.shaftEnd, width: tenon.width, depth: tenon.depth, angle };
}

/** Largest radius that may stay in the corners between a tenon's sides and its shoulder, to be pared square by hand: a router leaves one. */
export const TENON_CORNER: Mm = 4;

/** Height of a tenon's underside at x. */
export const tenonUnder = (t: Tenon, x: Mm): Mm => -t.depth + (x - t.xMin) * Math.tan(t.angle);

/** 2: on the centreline; 3: two toward the body's end, one toward the nut; 4: a rectangle. */
export function screwBores(order: OrderSpec, places: Pick<NeckPlaces, "shaftEnd">): ScrewBore[] {
  if (order.heel.kind === "set") return [];
  const { count, along, across, fromEnd, bore, depth } = order.heel.screws;
  const far = places.shaftEnd - fromEnd;
  const near = far - along;
  const half = across / 2;
  const at: (readonly [Mm, Mm])[] =
    count === 4
      ? [
          [near, -half],
          [near, half],
          [far, -half],
          [far, half],
        ]
      : count === 3
        ? [
            [near, 0],
            [far, -half],
            [far, half],
          ]
        : count === 2
          ? [
              [near, 0],
              [far, 0],
            ]
          : [];
  const zFrom = -(order.heel.thickness - order.board.thickness);
  return at.map(([x, y], i) => ({ id: `heel-screw-${i + 1}`, x, y, diameter: bore, zFrom, zTo: zFrom + depth }));
}
