import { apply, inverse } from "../holding/transform.ts";
import type { SideName, Transform } from "../holding/types.ts";
import { TENON_CORNER, tenonUnder } from "../neck/features.ts";
import { fillerTop } from "../neck/filler.ts";
import type { Neck, RodChannel } from "../neck/types.ts";
import type { ProofSide } from "./types.ts";

/** A side with both ways between the neck's frame and its program's. */
export interface SideFrame {
  readonly side: SideName;
  readonly toProgram: Transform;
  readonly toNeck: Transform;
  /** +1: program z grows with neck z (board side); -1: the back faces up. */
  readonly up: 1 | -1;
  /** Program z of a height in the neck's frame, and back. */
  readonly z: (neckZ: number) => number;
  readonly neckZ: (z: number) => number;
  readonly xy: (x: number, y: number) => readonly [number, number];
  readonly neckXY: (x: number, y: number) => readonly [number, number];
}

export function frameOf(side: ProofSide): SideFrame {
  const t = side.neckToProgram;
  const back = inverse(t);
  const up = t[10] > 0 ? 1 : -1;
  return {
    side: side.name,
    toProgram: t,
    toNeck: back,
    up,
    z: (z) => up * z + t[11],
    neckZ: (z) => up * (z - t[11]),
    xy: (x, y) => [t[0] * x + t[1] * y + t[3], t[4] * x + t[5] * y + t[7]],
    neckXY: (x, y) => {
      const p = apply(back, x, y, 0);
      return [p[0], p[1]];
    },
  };
}

/** A footprint on the plan of the neck: signed distance to its edge, negative inside, neck frame. */
export type Footprint2 = (x: number, y: number) => number;

/** Everything within r of the straight line from a to b. */
export function stadium(ax: number, ay: number, bx: number, by: number, r: number): Footprint2 {
  const dx = bx - ax;
  const dy = by - ay;
  const l2 = dx * dx + dy * dy;
  return (x, y) => {
    const t = l2 > 0 ? Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / l2)) : 0;
    return Math.hypot(x - ax - t * dx, y - ay - t * dy) - r;
  };
}

/** A rectangle; outside it the greater of the distances along the axes, never more than the true one. */
const box =
  (x0: number, y0: number, x1: number, y1: number): Footprint2 =>
  (x, y) =>
    Math.max(x0 - x, x - x1, y0 - y, y - y1);

/** What a cutter of radius r leaves in the corner at (x0, half) between a shoulder and a side, beyond them; `sign`: on which side of y = 0. */
const corner =
  (x0: number, half: number, r: number, sign: number): Footprint2 =>
  (x, y) => {
    const [u, v] = [x - x0, sign * y - half];
    return Math.max(-u, u - r, -v, v - r, r - Math.hypot(u - r, v - r));
  };

/** A feature of one side as the comparison sees it. */
export interface Feature {
  readonly id: string;
  readonly region: string;
  readonly xMin: number;
  readonly xMax: number;
  /** Nothing of it lies beyond these; infinite where it runs across the whole neck. */
  readonly yMin: number;
  readonly yMax: number;
  readonly distance: Footprint2;
  /** Height of its floor in the neck's frame; null where nothing is compared inside. */
  readonly floor: ((x: number, y: number) => number) | null;
  /** Further edges inside the footprint, beside which nothing is compared. */
  readonly inner: Footprint2 | null;
}

/** A channel's floor at x: flat, or a parabola `sag` further from the glue plane midway. */
export function channelFloor(
  c: { readonly zFloor: number; readonly sag?: number; readonly xMin: number; readonly xMax: number },
  x: number,
): number {
  const sag = c.sag ?? 0;
  if (sag === 0) return c.zFloor;
  const t = (x - c.xMin) / (c.xMax - c.xMin);
  return c.zFloor - 4 * sag * t * (1 - t);
}

/** Features cut from a side, without those that a hand step has filled. */
export function featuresOf(neck: Neck, side: SideName, filled: ReadonlySet<string>): Feature[] {
  const f = neck.features;
  const bare = neck.order.blank.kind === "shaft-alone";
  const out: Feature[] = [];
  const add = (
    id: string,
    region: string,
    xMin: number,
    xMax: number,
    distance: Footprint2,
    floor: Feature["floor"],
    inner: Footprint2 | null = null,
    [yMin, yMax]: readonly [number, number] = [-Infinity, Infinity],
  ): void => {
    if (!filled.has(id)) out.push({ id, region, xMin, xMax, yMin, yMax, distance, floor, inner });
  };
  const about = (y: number, r: number): readonly [number, number] => [y - r, y + r];
  if (side === "board" && !bare) {
    for (const s of f.frets) {
      const L = Math.hypot(s.treble.x - s.bass.x, s.treble.y - s.bass.y);
      const [ux, uy] = [(s.treble.x - s.bass.x) / L, (s.treble.y - s.bass.y) / L];
      // a through slot runs out past the edges; a blind one's round ends reach exactly to its ends
      const over = s.ends === "through" ? 5 : -s.kerf / 2;
      const [ax, ay, bx, by] = [s.bass.x - ux * over, s.bass.y - uy * over, s.treble.x + ux * over, s.treble.y + uy * over];
      const d = stadium(ax, ay, bx, by, s.kerf / 2);
      add(s.id, "fret slots", Math.min(ax, bx) - s.kerf, Math.max(ax, bx) + s.kerf, d, (x, y) => neck.boardTop(x, y) - s.depth);
    }
    const { nut } = f;
    const lean = Math.hypot(1, nut.slope);
    const reach = Math.abs(nut.slope) * 60;
    add(
      nut.id,
      "nut seat",
      nut.xMin - reach,
      nut.xMax + reach,
      (x, y) => Math.max(nut.xMin - x + nut.slope * y, x - nut.slope * y - nut.xMax) / lean,
      () => nut.zFloor,
    );
    for (const m of f.markers) {
      const d = stadium(m.x, m.y, m.x, m.y, m.diameter / 2);
      add(m.id, "marker recesses", m.x - m.diameter, m.x + m.diameter, d, () => m.zFloor, null, about(m.y, m.diameter / 2));
    }
  }
  if (side === "board") {
    for (const t of f.tuners) {
      const wide = Math.max(...t.steps.map((s) => s.diameter));
      const first = t.steps[0];
      // bored by hand: the wood there goes, whatever spots mark it
      const byHand = t.tilt !== undefined && t.tilt !== 0;
      const inner = t.steps.length > 1 ? stadium(t.x, t.y, t.x, t.y, t.steps[1].diameter / 2) : null;
      add(
        t.id,
        "tuner bores",
        t.x - wide,
        t.x + wide,
        stadium(t.x, t.y, t.x, t.y, wide / 2),
        t.steps.length > 1 && !byHand ? () => first.zBottom : null,
        byHand ? null : inner,
        about(t.y, wide / 2),
      );
    }
  } else {
    for (const s of f.screws)
      add(
        s.id,
        "screw bores",
        s.x - s.diameter,
        s.x + s.diameter,
        stadium(s.x, s.y, s.x, s.y, s.diameter / 2),
        null,
        null,
        about(s.y, s.diameter / 2),
      );
  }
  const { tenon } = f;
  if (side === "carve" && tenon !== null) {
    const half = tenon.width / 2;
    // the shaft's end is open; beside the tenon all goes down to the glue plane
    add(tenon.id, "tenon", tenon.xMin - 1, tenon.xMax + 1, box(tenon.xMin, -half, tenon.xMax + 9, half), (x) => tenonUnder(tenon, x));
    for (const [name, y0, y1] of [
      ["tenon-cheek-minus", -999, -half],
      ["tenon-cheek-plus", half, 999],
    ] as const) {
      const cheek = box(tenon.xMin, y0, tenon.xMax + 9, y1);
      const inCorner = corner(tenon.xMin, half, TENON_CORNER, y1 > 0 ? 1 : -1);
      const footprint: Footprint2 = (x, y) => Math.max(cheek(x, y), -inCorner(x, y));
      add(name, "tenon's cheeks", tenon.xMin - 1, tenon.xMax + 1, footprint, () => 0);
      // pared square by hand
      add(`${name}-corner`, "tenon's cheeks", tenon.xMin - 1, tenon.xMin + 5, inCorner, null);
    }
  }
  for (const c of f.rod) {
    if (c.from !== side) continue;
    const r = c.width / 2;
    const y = c.y ?? 0;
    const distance = stadium(c.xMin + r, y, c.xMax - r, y, r);
    add(c.id, "rod channel", c.xMin - 1, c.xMax + 1, distance, (x) => channelFloor(c, x), null, about(y, r));
  }
  for (const h of f.headSlots ?? []) {
    const r = h.width / 2;
    add(h.id, "headstock slots", h.xMin - 1, h.xMax + 1, stadium(h.xMin + r, h.y, h.xMax - r, h.y, r), null, null, about(h.y, r));
  }
  return out;
}

/** A filled region with the box around it, neck frame. */
export interface FillRegion {
  readonly distance: Footprint2;
  /** Height of what fills it, neck frame; absent: as high as the whole blank. */
  readonly top?: number;
  readonly xMin: number;
  readonly xMax: number;
  readonly yMin: number;
  readonly yMax: number;
}

/**
 * What a hand step fills, by feature id; null when the neck has no such feature. A strip ends where another opening of the
 * same side begins that stays open (the rod's access).
 */
export function fillRegion(neck: Neck, id: string, filled: readonly string[]): FillRegion | null {
  const box = (x0: number, x1: number, y: number, r: number, distance: Footprint2): FillRegion => ({
    distance,
    xMin: x0 - r,
    xMax: x1 + r,
    yMin: y - r,
    yMax: y + r,
  });
  const m = neck.features.markers.find((f) => f.id === id);
  if (m !== undefined) return box(m.x, m.x, m.y, m.diameter / 2, stadium(m.x, m.y, m.x, m.y, m.diameter / 2));
  const channel = (c: RodChannel): FillRegion => {
    const r = c.width / 2;
    const y = c.y ?? 0;
    const top = c.from === "carve" ? fillerTop(neck) : null;
    return { ...box(c.xMin + r, c.xMax - r, y, r, stadium(c.xMin + r, y, c.xMax - r, y, r)), ...(top === null ? {} : { top }) };
  };
  const c = neck.features.rod.find((f) => f.id === id);
  if (c === undefined) return null;
  const own = channel(c);
  const open = neck.features.rod.filter((o) => o.from === c.from && o.id !== id && !filled.includes(o.id)).map((o) => channel(o).distance);
  if (open.length === 0) return own;
  return { ...own, distance: (x, y) => open.reduce((d, o) => Math.max(d, -o(x, y)), own.distance(x, y)) };
}

/** The box, in the side's program frame, around a box of the neck's: all four corners, since a neck may lie askew on the bed. */
export function boxIn(
  { xy }: Pick<SideFrame, "xy">,
  b: { readonly xMin: number; readonly yMin: number; readonly xMax: number; readonly yMax: number },
): { readonly xMin: number; readonly yMin: number; readonly xMax: number; readonly yMax: number } {
  const [p, q, r, s] = [xy(b.xMin, b.yMin), xy(b.xMax, b.yMin), xy(b.xMax, b.yMax), xy(b.xMin, b.yMax)];
  return {
    xMin: Math.min(p[0], q[0], r[0], s[0]),
    yMin: Math.min(p[1], q[1], r[1], s[1]),
    xMax: Math.max(p[0], q[0], r[0], s[0]),
    yMax: Math.max(p[1], q[1], r[1], s[1]),
  };
}

/** A filled region as a box and a distance in the side's program frame. */
export function auditedFill(
  frame: SideFrame,
  region: FillRegion,
): {
  readonly box: { readonly xMin: number; readonly yMin: number; readonly xMax: number; readonly yMax: number };
  readonly distance: Footprint2;
  readonly top?: number;
} {
  const top = region.top === undefined ? {} : { top: frame.z(region.top) };
  return { box: boxIn(frame, region), distance: (x, y) => region.distance(...frame.neckXY(x, y)), ...top };
}
