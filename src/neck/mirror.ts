import type { Point } from "../kernel/curve.ts";
import { mirroredContour } from "./outline.ts";
import type { Neck } from "./types.ts";

const flip = (p: Point): Point => ({ x: p.x, y: -p.y });

/** The neck mirrored in y: every number of a left-handed neck is that of the right-handed one with y turned round. */
export function mirrorNeck(neck: Neck): Neck {
  const f = neck.features;
  const back = ([lo, hi]: readonly [number, number]): readonly [number, number] => [-hi, -lo];
  return {
    ...neck,
    outline: mirroredContour(neck.outline),
    board: mirroredContour(neck.board),
    features: {
      ...f,
      frets: f.frets.map((s) => ({ ...s, bass: flip(s.bass), treble: flip(s.treble) })),
      tuners: f.tuners.map((t) => ({ ...t, y: -t.y })),
      markers: f.markers.map((m) => ({ ...m, y: -m.y })),
      sideMarkers: f.sideMarkers.map((m) => ({ ...m, y: -m.y })),
      screws: f.screws.map((s) => ({ ...s, y: -s.y })),
      nut: { ...f.nut, slope: -f.nut.slope + 0 },
      rod: f.rod.map((c) => (c.y === undefined ? c : { ...c, y: -c.y + 0 })),
      headSlots: f.headSlots.map((h) => ({ ...h, y: -h.y })),
      rollers: f.rollers.map((r) => ({ ...r, y: -r.y })),
    },
    places: { ...neck.places, nutSlope: -neck.places.nutSlope + 0, endSlope: -neck.places.endSlope + 0 },
    edges: (x) => back(neck.edges(x)),
    boardEdges: (x) => back(neck.boardEdges(x)),
    top: (x, y) => neck.top(x, -y),
    boardTop: (x, y) => neck.boardTop(x, -y),
    back: (x, y) => neck.back(x, -y),
    topDistance: (x, y, z) => neck.topDistance(x, -y, z),
    backDistance: (x, y, z) => neck.backDistance(x, -y, z),
    backNormal: (x, y, z) => {
      const [nx, ny, nz] = neck.backNormal(x, -y, z);
      return [nx, -ny, nz];
    },
    section: (x) => {
      const s = neck.section(x);
      return {
        ...s,
        yMin: -s.yMax,
        yMax: -s.yMin,
        exponentMinus: s.exponentPlus,
        exponentPlus: s.exponentMinus,
        flatSlope: -s.flatSlope + 0,
      };
    },
    stringAt: (s, x) => -neck.stringAt(s, x),
    fretSlope: (n) => -neck.fretSlope(n) + 0,
  };
}
