import { Clearer, type Grid, type Stretch, signedField } from "../../kernel/clearing/index.ts";
import type { MoveBuilder } from "../../kernel/moves.ts";
import type { Polygon } from "../../kernel/polygon.ts";
import type { Mm, MmPerSecond, Rad } from "../../units/index.ts";
import { above0, checkMotion, follow, goAbove, type Motion, type Path, RAMP_ANGLE, retract } from "./common.ts";
import { thinPath } from "./thin.ts";

/*
 * Clears down to a height field in slabs, none of which ever meets more of the cutter's rim than asked:
 *
 *   top  ~~~~~~~~~~~~~~~~~~~~~~~~~~   first where the tip may go down to the slab's floor, then in low steps up the slopes
 *   1    ======_ 4       _======     (2, 3, 4), each beside what is free already: the wood there is high, but narrow
 *   2    =====\_ 3  2   /=====
 *   floor ====\_____1__/            the tip goes along max(floor of the slab, cl(x, y))
 */
export interface ClearOptions extends Motion {
  readonly cutterDiameter: Mm;
  /** Height of the wood before the first slab. */
  readonly top: Mm;
  /** Most depth of a slab. */
  readonly depth: Mm;
  /** Never lower than this. */
  readonly floor: Mm;
  /** Most of the rim that may stand in wood. */
  readonly limit: Rad;
  /** Where there is wood, grown by how far its edge may lie from where the order says. */
  readonly wood: readonly Polygon[];
  /** Steps up a slope; default 0.8 mm. */
  readonly rise?: Mm;
  /** Steepest helix; default 5 degrees. */
  readonly rampAngle?: Rad;
  /** On ways over cleared ground. */
  readonly linkFeed?: MmPerSecond;
  /** Ways over cleared ground longer than this are lifted over; default 150 mm. */
  readonly maxLink?: Mm;
}

export interface Cleared {
  /** Within reach of the cutter and left standing in some slab, mm2: corners too sharp, lanes too narrow for the limit. */
  readonly left: number;
}

/** Ways over cleared ground stay this far off the floor. */
const LINK_GAP: Mm = 0.2;
/** Most of the limit's wood that the full width of a helix may meet, by its pitch. */
const HELIX_SHARE = 0.7;
const STEEPEST_WALL = 4;
/**
 * Every slab keeps so many cells further from the region's edge than the one above: what that one has left there thinner than a
 * cell is not seen as standing, and is out of this one's reach.
 */
const DRAFT = 1;
/** Cell of the planner's map, as a share of the cutter's radius. */
const CELL = 1 / 12;

/** How much narrower the floor of `total` deep is than the region, on every side. */
export const narrowing = (cutterDiameter: Mm, total: Mm, depth: Mm): Mm =>
  (DRAFT * CELL * cutterDiameter * (slabsOf(total, depth) - 1)) / 2;

const slabsOf = (total: Mm, depth: Mm): number => Math.max(1, Math.ceil(total / depth - 1e-9));

/**
 * Clears a region. `region`: where the cutter's centre may go; `cl(x, y)`: lowest height of the tip there. Rapids end above
 * all wood.
 */
export function clear(b: MoveBuilder, region: readonly Polygon[], cl: (x: Mm, y: Mm) => Mm, o: ClearOptions): Cleared {
  checkMotion(o);
  for (const k of ["depth", "cutterDiameter", "limit"] as const) above0(k, o[k]);
  const radius = o.cutterDiameter / 2;
  const rise = o.rise ?? 0.8;
  retract(b, o);
  if (region.length === 0) return { left: 0 };
  const options = { radius, limit: o.limit, longestLink: o.maxLink ?? 150, cell: CELL * radius };
  const first = new Clearer(region, o.wood, options);
  const { grid } = first;
  const draft = DRAFT * grid.cell;
  const near = signedField(grid, region, 2.5 * grid.cell);
  const low = heights(grid, near, cl, o.floor);
  let lowest = Infinity;
  for (const z of low) if (z < lowest) lowest = z;
  if (!(lowest < o.top - 0.02)) return { left: 0 };
  const slabs = slabsOf(o.top - lowest, o.depth);
  const inside = slabs === 1 ? near : signedField(grid, region, (DRAFT * slabs + 2.5) * grid.cell);
  let above: Clearer | null = null;
  let left = 0;
  let standing: Float32Array | null = null;
  for (let k = 1; k <= slabs; k++) {
    const zAbove = o.top - ((o.top - lowest) * (k - 1)) / slabs;
    const zFloor = k === slabs ? lowest : o.top - ((o.top - lowest) * k) / slabs;
    const from = b.count > 0 ? { x: b.px, y: b.py } : undefined;
    const slab = new Clearer(region, o.wood, from ? { ...options, from } : options, first);
    // what the slabs above have left stands higher than this slab: nothing goes near it
    const own: Float32Array | null = above === null ? null : above.clearOfLeft();
    if (own !== null && standing !== null) for (let p = 0; p < own.length; p++) own[p] = Math.min(own[p], standing[p]);
    standing = own ?? standing;
    const steps = Math.max(1, Math.ceil((zAbove - zFloor) / rise - 1e-9));
    for (let s = 0; s <= steps; s++) {
      const z = s === steps ? zAbove - 0.05 : zFloor + ((zAbove - zFloor) * s) / steps;
      const allowed = new Float32Array(inside.length);
      let some = 0;
      for (let p = 0; p < allowed.length; p++) {
        allowed[p] = Math.min(inside[p] - draft * (k - 1), z + 1e-6 - low[p], standing === null ? 1 : standing[p]);
        if (inside[p] >= 0 && low[p] <= z && (s === 0 || low[p] > z - (zAbove - zFloor) / steps)) some++;
      }
      if (some === 0) continue;
      const done = slab.clear(allowed);
      if (s === steps || s === 0) left = Math.max(left, done.left);
      for (const stretch of done.stretches) put(b, stretch, (x, y) => Math.max(zFloor, cl(x, y)), above, zAbove, o);
    }
    above = slab;
  }
  retract(b, o);
  return { left };
}

/** Lowest heights of the tip at the grid's cells, walls widened by a cell so that nothing between cells lies higher. */
function heights(grid: Grid, inside: Float32Array, cl: (x: Mm, y: Mm) => Mm, floor: Mm): Float32Array {
  const { nx, ny, x0, y0, cell } = grid;
  const raw = new Float32Array(nx * ny).fill(1e9);
  for (let p = 0; p < raw.length; p++)
    if (inside[p] > -1.5 * cell) raw[p] = Math.max(floor, cl(x0 + (p % nx) * cell, y0 + Math.floor(p / nx) * cell));
  const out = raw.slice();
  const steep = STEEPEST_WALL * cell;
  for (let j = 1; j < ny - 1; j++)
    for (let i = 1; i < nx - 1; i++) {
      const p = j * nx + i;
      for (const q of [p - 1, p + 1, p - nx, p + nx]) if (raw[q] < 1e9 && raw[q] - raw[p] > steep) out[p] = Math.max(out[p], raw[q]);
    }
  return out;
}

/** Onto cleared ground: by rapid to above all wood, on at the feed for plunging. Beside the cutter a sliver thinner than the map's cell may stand. */
function sink(b: MoveBuilder, x: Mm, y: Mm, z: Mm, o: ClearOptions): void {
  goAbove(b, x, y, o);
  if (b.pz > z) b.lineTo(x, y, z, o.plunge);
}

/** One stretch as moves; `height`: the tip's height there. */
function put(b: MoveBuilder, s: Stretch, height: (x: Mm, y: Mm) => Mm, above: Clearer | null, zAbove: Mm, o: ClearOptions): void {
  if (s.kind === "helix") {
    let z = -Infinity;
    for (let k = 0; k < 16; k++)
      z = Math.max(z, height(s.x + s.radius * Math.cos((k * Math.PI) / 8), s.y + s.radius * Math.sin((k * Math.PI) / 8)));
    // what the slab above has left standing here is sunk through from the wood's top
    const zFrom = above === null || above.holdsWithin(s.x, s.y, s.radius) ? o.top : zAbove;
    const share = (o.depth * o.limit * HELIX_SHARE) / Math.PI;
    const pitch = Math.max(0.02, Math.min(share, 2 * Math.PI * s.radius * Math.tan(o.rampAngle ?? RAMP_ANGLE)));
    const turns = Math.max(1, Math.ceil((zFrom - z) / pitch));
    sink(b, s.x + s.radius, s.y, zFrom, o);
    for (let k = 1; k <= turns; k++) {
      const zk = zFrom + ((z - zFrom) * k) / turns;
      b.arcTo(s.x + s.radius, s.y, zk, s.x, s.y, zk, 2 * Math.PI, o.ramp);
    }
    b.arcTo(s.x + s.radius, s.y, z, s.x, s.y, z, 2 * Math.PI, o.ramp);
    return;
  }
  const n = s.xy.length / 2;
  const p = new Float64Array(3 * n);
  for (let k = 0; k < n; k++) {
    p[3 * k] = s.xy[2 * k];
    p[3 * k + 1] = s.xy[2 * k + 1];
    p[3 * k + 2] = height(p[3 * k], p[3 * k + 1]);
  }
  if (s.kind === "link") {
    const z = highest(p, height) + LINK_GAP;
    if (b.pz < z) b.lineTo(b.px, b.py, z, o.feed);
    for (let k = 3; k < p.length; k += 3) b.lineTo(p[k], p[k + 1], z, o.linkFeed ?? o.feed);
    return;
  }
  const away = Math.hypot(b.px - p[0], b.py - p[1]) > 1e-6;
  if (away || b.pz >= o.approachZ) sink(b, p[0], p[1], p[2], o);
  else if (b.pz > p[2]) b.lineTo(p[0], p[1], p[2], o.plunge);
  follow(b, thinPath(p, { vertical: 0.005, lateral: 0.003 }), o.feed);
}

/** Highest place of the tip along a path, looked at every millimetre. */
function highest(p: Path, height: (x: Mm, y: Mm) => Mm): Mm {
  let z = p[2];
  for (let k = 3; k < p.length; k += 3) {
    const L = Math.hypot(p[k] - p[k - 3], p[k + 1] - p[k - 2]);
    const n = Math.max(1, Math.ceil(L));
    for (let i = 1; i <= n; i++)
      z = Math.max(z, height(p[k - 3] + ((p[k] - p[k - 3]) * i) / n, p[k - 2] + ((p[k + 1] - p[k - 2]) * i) / n));
  }
  return z;
}
