import { MoveKind, type MoveList } from "./moves.ts";

export interface Box {
  readonly min: readonly [number, number, number];
  readonly max: readonly [number, number, number];
}

/**
 * The box around everything the tip visits, in mm, arcs with their extremes. The start counts unless the first move is a
 * rapid (a rapid may come from anywhere). An empty list gives its start.
 */
export function bounds(moves: MoveList): Box {
  const { count, kind, x, y, z } = moves;
  const lo = [Infinity, Infinity, Infinity];
  const hi = [-Infinity, -Infinity, -Infinity];
  const add = (axis: number, value: number): void => {
    if (value < lo[axis]) lo[axis] = value;
    if (value > hi[axis]) hi[axis] = value;
  };
  const fromStart = count === 0 || kind[0] !== MoveKind.rapid;
  [x, y, z].forEach((places, axis) => {
    let least = lo[axis];
    let most = hi[axis];
    for (let k = 0; k < count; k++) {
      const v = places[k];
      if (v < least) least = v;
      if (v > most) most = v;
    }
    if (fromStart) add(axis, moves.start[axis]);
    add(axis, least);
    add(axis, most);
  });
  for (let k = 0; k < count; k++) {
    if (kind[k] !== MoveKind.arc) continue;
    const [px, py, pz] = k === 0 ? moves.start : [x[k - 1], y[k - 1], z[k - 1]];
    addArc(moves, k, px, py, pz, add);
  }
  return { min: [lo[0], lo[1], lo[2]], max: [hi[0], hi[1], hi[2]] };
}

/** The box around several. */
export function joinBoxes(boxes: readonly Box[]): Box {
  const min: [number, number, number] = [Infinity, Infinity, Infinity];
  const max: [number, number, number] = [-Infinity, -Infinity, -Infinity];
  for (const b of boxes) {
    for (let a = 0; a < 3; a++) {
      min[a] = Math.min(min[a], b.min[a]);
      max[a] = Math.max(max[a], b.max[a]);
    }
  }
  return { min, max };
}

/** The box of arc k of a list that begins at (px, py, pz) in x and y, its ends and extremes: xMin, xMax, yMin, yMax. */
export function arcPlanBox(m: MoveList, k: number, px: number, py: number, pz: number): [number, number, number, number] {
  const box: [number, number, number, number] = [Math.min(px, m.x[k]), Math.max(px, m.x[k]), Math.min(py, m.y[k]), Math.max(py, m.y[k])];
  addArc(m, k, px, py, pz, (axis, value) => {
    if (axis > 1) return;
    if (value < box[2 * axis]) box[2 * axis] = value;
    if (value > box[2 * axis + 1]) box[2 * axis + 1] = value;
  });
  return box;
}

/** Adds the points where an arc stands furthest along each axis of its plane: the quarter points that its sweep passes. */
function addArc(m: MoveList, k: number, px: number, py: number, pz: number, add: (axis: number, value: number) => void): void {
  const plane = m.plane[k];
  const axisU = plane === 0 ? 0 : plane === 1 ? 2 : 1;
  const axisV = plane === 0 ? 1 : plane === 1 ? 0 : 2;
  const from = [px, py, pz];
  const centre = [m.cx[k], m.cy[k], m.cz[k]];
  const du = from[axisU] - centre[axisU];
  const dv = from[axisV] - centre[axisV];
  const r = Math.hypot(du, dv);
  const a0 = Math.atan2(dv, du);
  const a1 = a0 + m.sweep[k];
  const quarter = Math.PI / 2;
  const first = Math.ceil(Math.min(a0, a1) / quarter);
  const last = Math.floor(Math.max(a0, a1) / quarter);
  for (let q = first; q <= last && q < first + 4; q++) {
    const side = ((q % 4) + 4) % 4;
    if (side % 2 === 0) add(axisU, centre[axisU] + (side === 0 ? r : -r));
    else add(axisV, centre[axisV] + (side === 1 ? r : -r));
  }
}
