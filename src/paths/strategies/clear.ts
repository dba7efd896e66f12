import { Clearer, type Grid, holdsWithin, type Stretch, signedField } from "../../kernel/clearing/index.ts";
import type { MoveBuilder } from "../../kernel/moves.ts";
import type { Polygon } from "../../kernel/polygon.ts";
import type { Mm, Mm2, MmPerSecond, Rad } from "../../units/index.ts";
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
  /** Gives all the slabs, planned here or elsewhere; default: here, one after the other. */
  readonly slabs?: (ahead: SlabsAhead) => readonly Slab[];
}

/** One slab of a clearing, planned: plain data, so that it may come from another thread. */
export interface Slab {
  /** In order; see Clearing. */
  readonly stretches: readonly Stretch[];
  /** Within reach of the cutter and left standing, mm2. */
  readonly left: Mm2;
  /** How far every cell of the planner's map lies outside the discs about what is left, mm; null where nothing is. */
  readonly clear: Float32Array | null;
  /** Cells of that map which still hold something: not 0. */
  readonly holds: Uint8Array;
}

/** The slabs of a clearing before they are planned. All but the first, number 1, need the first alone, and not each other. */
export interface SlabsAhead {
  /** Of what they are planned for: the same clearing has the same. */
  readonly key: string;
  readonly count: number;
  plan(k: number, first: Slab | null): Slab;
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
  retract(b, o);
  if (region.length === 0) return { left: 0 };
  const work = prepare(region, cl, o, b.count > 0 ? { x: b.px, y: b.py } : undefined);
  if (work === null) return { left: 0 };
  const { grid, count } = work;
  const slabs = o.slabs?.(work) ?? inTurn(work);
  if (slabs.length !== count) throw new Error(`${slabs.length} slabs are there of ${count}`);
  let left = 0;
  // what the slabs above have left stands higher than a slab: nothing may go near it
  let standing: Float32Array | null = null;
  let above: Slab | null = null;
  for (let k = 1; k <= count; k++) {
    let slab = slabs[k - 1];
    if (above !== null) standing = lesser(standing, above.clear);
    if (k > 2 && standing !== null && !work.keepsOff(k, slabs[0], standing)) slab = work.again(k, standing);
    left = Math.max(left, slab.left);
    const [zAbove, zFloor] = work.heights(k);
    for (const stretch of slab.stretches) put(b, stretch, (x, y) => Math.max(zFloor, cl(x, y)), grid, above, zAbove, o);
    above = slab;
  }
  retract(b, o);
  return { left };
}

/** All slabs here, one after the other. */
export const inTurn = (work: SlabsAhead): Slab[] => {
  const first = work.plan(1, null);
  return [first, ...Array.from({ length: work.count - 1 }, (_, k) => work.plan(k + 2, first))];
};

/** The less of two fields, cell by cell; null is no field. */
function lesser(a: Float32Array | null, b: Float32Array | null): Float32Array | null {
  if (a === null || b === null) return a ?? b;
  return a.map((v, p) => Math.min(v, b[p]));
}

interface Work extends SlabsAhead {
  readonly grid: Grid;
  /** Height of the wood above slab k, and its floor. */
  heights(k: number): readonly [Mm, Mm];
  /** Whether slab k, as `plan` makes it, stays where `standing` (of what the slabs above have left) allows it to be, to a cell. */
  keepsOff(k: number, first: Slab, standing: Float32Array): boolean;
  /** Slab k where `standing` allows it. */
  again(k: number, standing: Float32Array): Slab;
}

/** Everything about a clearing but the passes; null when there is nothing to cut. `from`: where the cutter comes from. */
function prepare(
  region: readonly Polygon[],
  cl: (x: Mm, y: Mm) => Mm,
  o: ClearOptions,
  from: { readonly x: Mm; readonly y: Mm } | undefined,
): Work | null {
  const radius = o.cutterDiameter / 2;
  const rise = o.rise ?? 0.8;
  const options = { radius, limit: o.limit, longestLink: o.maxLink ?? 150, cell: CELL * radius };
  const like = new Clearer(region, o.wood, options);
  const { grid } = like;
  const draft = DRAFT * grid.cell;
  const near = signedField(grid, region, 2.5 * grid.cell);
  const low = heights(grid, near, cl, o.floor);
  let lowest = Infinity;
  for (const z of low) if (z < lowest) lowest = z;
  if (!(lowest < o.top - 0.02)) return null;
  const count = slabsOf(o.top - lowest, o.depth);
  const inside = count === 1 ? near : signedField(grid, region, (DRAFT * count + 2.5) * grid.cell);
  const heightsOf = (k: number): readonly [Mm, Mm] => [
    o.top - ((o.top - lowest) * (k - 1)) / count,
    k === count ? lowest : o.top - ((o.top - lowest) * k) / count,
  ];

  /** Where the centre may be in slab k, at height z, of the region alone. */
  const mayAt = (k: number, p: number, z: Mm): Mm => Math.min(inside[p] - draft * (k - 1), z + 1e-6 - low[p], 1);
  // every slab stays as much further from what the first has left as it stays from the region's edge
  const kept = (first: Slab | null, k: number): Float32Array | null => first?.clear?.map((v) => v - draft * (k - 2)) ?? null;

  const passes = (k: number, standing: Float32Array | null): Slab => {
    const [zAbove, zFloor] = heightsOf(k);
    // every slab but the first begins by a rule of its own, not where another ended: they may be planned at the same time
    const slab = new Clearer(region, o.wood, k === 1 && from ? { ...options, from } : options, like);
    const stretches: Stretch[] = [];
    let left = 0;
    const steps = Math.max(1, Math.ceil((zAbove - zFloor) / rise - 1e-9));
    for (let s = 0; s <= steps; s++) {
      const z = s === steps ? zAbove - 0.05 : zFloor + ((zAbove - zFloor) * s) / steps;
      const allowed = new Float32Array(inside.length);
      let some = 0;
      for (let p = 0; p < allowed.length; p++) {
        allowed[p] = standing === null ? mayAt(k, p, z) : Math.min(mayAt(k, p, z), standing[p]);
        if (inside[p] >= 0 && low[p] <= z && (s === 0 || low[p] > z - (zAbove - zFloor) / steps)) some++;
      }
      if (some === 0) continue;
      const done = slab.clear(allowed);
      if (s === steps || s === 0) left = Math.max(left, done.left);
      stretches.push(...done.stretches);
    }
    return { stretches, left, clear: slab.clearOfLeft(), holds: slab.holding() };
  };

  const { nx, ny, x0, y0 } = grid;
  return {
    grid,
    key: [o.cutterDiameter, o.limit, o.depth, o.top, lowest, rise, options.longestLink, nx, ny, x0, y0].join(" "),
    count,
    heights: heightsOf,
    plan: (k, first) => passes(k, k === 1 ? null : kept(first, k)),
    keepsOff(k, first, standing) {
      const own = kept(first, k);
      const [zAbove] = heightsOf(k);
      for (let p = 0; p < standing.length; p++) {
        const a = Math.min(mayAt(k, p, zAbove - 0.05), own === null ? 1 : own[p]);
        if (a >= 0 && standing[p] < Math.min(a, grid.cell)) return false;
      }
      return true;
    },
    again: passes,
  };
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
function put(b: MoveBuilder, s: Stretch, height: (x: Mm, y: Mm) => Mm, grid: Grid, above: Slab | null, zAbove: Mm, o: ClearOptions): void {
  if (s.kind === "helix") {
    let z = -Infinity;
    for (let k = 0; k < 16; k++)
      z = Math.max(z, height(s.x + s.radius * Math.cos((k * Math.PI) / 8), s.y + s.radius * Math.sin((k * Math.PI) / 8)));
    // what the slab above has left standing here is sunk through from the wood's top
    const zFrom = above === null || holdsWithin(grid, above.holds, s.x, s.y, o.cutterDiameter / 2 + s.radius) ? o.top : zAbove;
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
