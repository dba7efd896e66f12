import type { OrderSpec } from "../spec/types.ts";
import type { Mm } from "../units/index.ts";
import { fretDistance } from "./frets.ts";
import type { FretSlot, MarkerRecess, NeckPlaces, NutSeat, RodChannel, ScrewBore, SideMarker } from "./types.ts";

type Edges = (x: Mm) => readonly [Mm, Mm];
type Top = (x: Mm, y: Mm) => Mm;

export function fretSlots(order: OrderSpec, edges: Edges): FretSlot[] {
  const f = order.frets;
  const inset = f.ends === "blind" ? f.blindMargin : 0;
  return Array.from({ length: f.count }, (_, i) => {
    const x = fretDistance(order.scale, i + 1);
    const [lo, hi] = edges(x);
    return {
      id: `fret-${i + 1}`,
      number: i + 1,
      bass: { x, y: lo + inset },
      treble: { x, y: hi - inset },
      kerf: f.kerf,
      depth: f.depth,
      ends: f.ends,
    };
  });
}

/** seat: the groove in front of the land. shelf: everything from the board's end to the ramp. */
export function nutSeat(order: OrderSpec): NutSeat {
  const { kind, width, land, floor } = order.nut;
  return { id: "nut-seat", kind, xMin: kind === "seat" ? -width : -(width + land), xMax: 0, zFloor: floor };
}

const markerX = (order: OrderSpec, fret: number): Mm => (fretDistance(order.scale, fret - 1) + fretDistance(order.scale, fret)) / 2;

export function markerRecesses(order: OrderSpec, top: Top): MarkerRecess[] {
  const { face } = order.markers;
  const out: MarkerRecess[] = [];
  for (const fret of [...face.frets].sort((a, b) => a - b)) {
    const x = markerX(order, fret);
    const twice = face.doubleAt.includes(fret);
    const ys = twice ? [-face.spread / 2, face.spread / 2] : [0];
    ys.forEach((y, i) => {
      const id = `marker-${fret}${twice ? "ab"[i] : ""}`;
      out.push({ id, fret, x, y, diameter: face.diameter + face.fit, zFloor: top(x, y) - face.depth });
    });
  }
  return out;
}

export function sideMarkers(order: OrderSpec, edges: Edges, top: Top): SideMarker[] {
  const { side } = order.markers;
  const out: SideMarker[] = [];
  for (const fret of [...side.frets].sort((a, b) => a - b)) {
    const twice = order.markers.face.doubleAt.includes(fret);
    const mid = markerX(order, fret);
    const xs = twice ? [mid - side.diameter * 1.5, mid + side.diameter * 1.5] : [mid];
    xs.forEach((x, i) => {
      const y = edges(x)[side.edge === "bass" ? 0 : 1];
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
    { id: "rod-channel", from, xMin: rod.from_x, xMax: rod.to_x, width: rod.width, zFloor, rodHeight: rod.height },
  ];
  if (rod.access) {
    const { end, length, width, depth } = rod.access;
    const overlap = rod.width / 2;
    const xMin = end === "head" ? rod.from_x - length + overlap : rod.to_x - overlap;
    out.push({ id: "rod-access", from, xMin, xMax: xMin + length, width, zFloor: rod.from === "back" ? zFloor : -depth, rodHeight: 0 });
  }
  return out;
}

/** 2: on the centreline; 3: two toward the body's end, one toward the nut; 4: a rectangle. */
export function screwBores(order: OrderSpec, places: NeckPlaces): ScrewBore[] {
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
