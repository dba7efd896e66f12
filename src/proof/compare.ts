import type { SideName } from "../holding/types.ts";
import type { HeightMap } from "../kernel/heightmap.ts";
import { sectionZ } from "../neck/carve.ts";
import type { BackSection, Neck } from "../neck/types.ts";
import type { Finding } from "../units/index.ts";
import { type Feature, featuresOf, type SideFrame } from "./place.ts";
import { add, count, figureOf, judge, type Limits, missing, type Tally, tallyOf } from "./tally.ts";
import type { RegionFigure } from "./types.ts";

/** Nothing is compared so close to an edge of the plan or a feature's wall; the walls are measured on their own. */
export const INSET = 0.03;
/** Deepest below the target, mm. */
export const MOST_BELOW = 0.01;
/** Left above the target besides the cut's own cusp, mm. */
export const MOST_ABOVE = 0.02;
/** Floors of seats, recesses and channels. */
const FLOOR_BELOW = 0.02;
/** Floors of fret slots: a flat cutter on a floor that slopes across its width digs in and misses by a hundredth either way. */
export const SLOT_FLOOR = 0.02;
/** Blind ends keep a little in the corner where the cutter ramps in. */
const SLOT_CORNER = 0.04;

export interface Comparison {
  readonly regions: readonly RegionFigure[];
  readonly deviation: Float32Array;
  readonly findings: readonly Finding[];
}

const FLOOR_LIMITS: Limits = { below: FLOOR_BELOW, above: MOST_ABOVE };
const SLOT_LIMITS: Limits = { below: SLOT_FLOOR, above: SLOT_CORNER };

/** Where the slope along the neck turns by more than this between neighbouring cells, the surface has an edge. */
const CREASE = 0.2;

/** What the finished surface of a side is, column by column along the neck. */
interface Target {
  /** Sets the column; false when it lies off the neck. */
  column(x: number): boolean;
  lo: number;
  hi: number;
  /** Height of the target at y of the column, neck frame. */
  z(y: number): number;
  /** The region that all of the column lies in; empty where it depends on the place. */
  whole: string;
  /** Region of a point of the surface, whose height is `want`. */
  region(x: number, y: number, want: number): string;
}

/** A side's stations along the neck are compared in so many parts, each on its own; what comes out does not depend on who does which. */
export const PARTS = 8;

/** Stations worked on together: the cells of a row that share a line or two of the cache. */
const TOGETHER = 32;

/**
 * Compares what is left on a side with the neck, cell by cell inside the plan: normal distance, positive where wood is left.
 * `cusp` is the largest cusp any finishing cut of the side may leave.
 */
export function compareSide(neck: Neck, frame: SideFrame, map: HeightMap, cusp: number, filled: ReadonlySet<string>): Comparison {
  const deviation = new Float32Array(map.nx * map.ny).fill(Number.NaN);
  const parts = Array.from({ length: PARTS }, (_, part) => comparePart(neck, frame, map, cusp, filled, part, deviation));
  return joinParts(neck, frame.side, parts, deviation);
}

/** One of PARTS; writes its own cells of `deviation`, which is NaN elsewhere. */
export function comparePart(
  neck: Neck,
  frame: SideFrame,
  map: HeightMap,
  cusp: number,
  filled: ReadonlySet<string>,
  part: number,
  deviation: Float32Array,
): readonly Tally[] {
  const { nx, ny, cell, x0, y0, z: heights } = map;
  const tallies = new Map<string, Tally>();
  const features = featuresOf(neck, frame.side, filled);
  const board = frame.side === "board";
  const target = board ? boardTarget(neck) : carveTarget(neck);
  const { toNeck, up } = frame;
  const zeroZ = frame.toProgram[11];
  // stations run along the program axis that lies along the neck
  const { from: first, to: end, alongX } = stationsOf(frame, map, part);
  const across = alongX ? ny : nx;
  const cross = alongX ? toNeck[5] : toNeck[4];
  const lastY = (across - 1) * cell * cross;
  const [firstX, firstY] = frame.neckXY(x0, y0);
  const stationStep = (alongX ? toNeck[0] : toNeck[1]) * cell;
  // of a neck that lies askew on the bed x changes across too, and y along it
  const askewX = (alongX ? toNeck[1] : toNeck[0]) * cell;
  const askewY = (alongX ? toNeck[4] : toNeck[5]) * cell;
  const askew = askewX !== 0 || askewY !== 0;
  const limits = { below: MOST_BELOW, above: cusp + MOST_ABOVE };
  const yOf = (i: number, j: number): number => firstY + j * (cell * cross) + (askew ? i * askewY : 0);
  const xOf = (i: number, j: number): number => firstX + i * stationStep + (askew ? j * askewX : 0);

  // target heights of three neighbouring columns, for slopes
  let before = new Float64Array(across).fill(Number.NaN);
  let here = new Float64Array(across).fill(Number.NaN);
  let after = new Float64Array(across).fill(Number.NaN);
  // first and last row of a station that lie on the neck
  const rows = (i: number): readonly [number, number] => {
    if (askew) return [0, across - 1];
    if (!target.column(xOf(i, 0))) return [0, -1];
    const a = (target.lo - firstY) / (cell * cross);
    const b = (target.hi - firstY) / (cell * cross);
    return [Math.max(0, Math.ceil(Math.min(a, b))), Math.min(across - 1, Math.floor(Math.max(a, b)))];
  };
  const dy = cell * cross;
  const fill = (i: number, into: Float64Array): void => {
    into.fill(Number.NaN);
    const [from, to] = rows(i);
    if (!askew) {
      for (let j = from; j <= to; j++) into[j] = target.z(firstY + j * dy);
      return;
    }
    for (let j = from; j <= to; j++) {
      if (!target.column(xOf(i, j))) continue;
      const y = yOf(i, j);
      if (y >= target.lo && y <= target.hi) into[j] = target.z(y);
    }
  };
  // inside the outline by the inset in every direction: where it runs across (the tip), along x counts
  const inside = (x: number): readonly [number, number] => {
    const [beforeLo, beforeHi] = neck.edges(x - INSET);
    const [afterLo, afterHi] = neck.edges(x + INSET);
    return [Math.max(target.lo + INSET, beforeLo, afterLo), Math.min(target.hi - INSET, beforeHi, afterHi)];
  };
  if (!Number.isFinite(lastY)) throw new Error("the map has no extent");
  const got = new Float32Array(TOGETHER * across);
  const out = new Float32Array(TOGETHER * across);
  const slope2 = 2 * cell;
  let tally: Tally | null = null;
  let least = 0;
  let most = -1;
  fill(first - 1, here);
  fill(first, after);
  for (let i = first; i < end; i++) {
    const spare = before;
    before = here;
    here = after;
    after = spare;
    fill(i + 1, after);
    const lane = (i - first) % TOGETHER;
    const lanes = Math.min(TOGETHER, end - i + lane);
    if (lane === 0) {
      // a line of the cache at a time, whichever way the neck lies
      [least, most] = [across, -1];
      for (let l = 0; l < lanes; l++) {
        const [from, to] = rows(i + l);
        least = Math.min(least, from <= to ? from : across);
        most = Math.max(most, to);
      }
      if (alongX)
        for (let j = least; j <= most; j++) for (let l = 0, k = j * nx + i, q = j; l < lanes; l++, k++, q += across) got[q] = heights[k];
      else got.set(heights.subarray(i * nx, (i + lanes) * nx));
      out.fill(Number.NaN);
    }
    let x = xOf(i, 0);
    if (askew ? true : target.column(x)) {
      const [xLeast, xMost] = [Math.min(x, xOf(i, across - 1)), Math.max(x, xOf(i, across - 1))];
      const nearby = features.filter((f) => xMost > f.xMin - INSET && xLeast < f.xMax + INSET);
      const none = nearby.length === 0;
      const nearLo = Math.min(...nearby.map((f) => f.yMin)) - INSET;
      const nearHi = Math.max(...nearby.map((f) => f.yMax)) + INSET;
      const whole = askew ? "" : target.whole;
      let [innerLo, innerHi] = askew ? [0, 0] : inside(x);
      const row = lane * across;
      const [from, to] = rows(i);
      for (let j = from; j <= to; j++) {
        const want = here[j];
        // NaN: off the neck
        if (Number.isNaN(want)) continue;
        const y = askew ? yOf(i, j) : firstY + j * dy;
        if (askew) {
          x = xOf(i, j);
          target.column(x);
          [innerLo, innerHi] = inside(x);
        }
        if (y < innerLo || y > innerHi) continue;
        const z = up * (got[row + j] - zeroZ);
        let region = "";
        let dev = Number.NaN;
        let limit: Limits = limits;
        if (!none && y > nearLo && y < nearHi) {
          const feature = featureAt(nearby, x, y, up);
          if (feature === "edge") continue;
          if (feature !== null) {
            if (feature.floor === null) continue;
            const floor = feature.floor(x, y);
            // a pocket deeper than the surface counts by its floor, one that the surface has swallowed by the surface
            if (board ? floor < want : floor > want) {
              region = feature.region;
              dev = up * (z - floor);
              limit = region === "fret slots" ? SLOT_LIMITS : FLOOR_LIMITS;
            }
          }
        }
        if (region === "") {
          const sx = (after[j] - before[j]) / slope2;
          const sy = j > 0 && j < across - 1 ? (here[j + 1] - here[j - 1]) / slope2 : Number.NaN;
          const g2 = sx * sx + sy * sy;
          // at a crease the slope across it is neither side's
          const crease = Math.abs(after[j] - 2 * want + before[j]) > CREASE * cell;
          dev = g2 < 4 && !crease ? (up * (z - want)) / Math.sqrt(1 + g2) : distance(neck, board, x, y, z, want);
          region = whole === "" ? target.region(x, y, want) : whole;
        }
        out[row + j] = dev;
        if (tally === null || tally.region !== region) tally = tallyOf(tallies, region, limit, x, y);
        count(tally, dev, x, y);
      }
    }
    if (lane === lanes - 1) {
      const from = i - lane;
      if (alongX)
        for (let j = least; j <= most; j++)
          for (let l = 0, k = j * nx + from, q = j; l < lanes; l++, k++, q += across) deviation[k] = out[q];
      else deviation.set(out.subarray(0, lanes * nx), from * nx);
    }
  }
  return [...tallies.values()];
}

/** First station of a part and the one after its last, and whether they run along x. */
function stationsOf(
  frame: SideFrame,
  map: HeightMap,
  part: number,
): { readonly from: number; readonly to: number; readonly alongX: boolean } {
  const alongX = Math.abs(frame.toNeck[0]) > 0.5;
  const stations = alongX ? map.nx : map.ny;
  return { from: Math.floor((stations * part) / PARTS), to: Math.floor((stations * (part + 1)) / PARTS), alongX };
}

/** The cells of one part, taken out of a map's worth of values. */
export function partOf(frame: SideFrame, map: HeightMap, part: number, values: Float32Array): Float32Array {
  const { from, to, alongX } = stationsOf(frame, map, part);
  if (!alongX) return values.slice(from * map.nx, to * map.nx);
  const out = new Float32Array((to - from) * map.ny);
  for (let j = 0; j < map.ny; j++) out.set(values.subarray(j * map.nx + from, j * map.nx + to), j * (to - from));
  return out;
}

/** Puts back what `partOf` took. */
export function putPart(frame: SideFrame, map: HeightMap, part: number, values: Float32Array, cells: Float32Array): void {
  const { from, to, alongX } = stationsOf(frame, map, part);
  if (!alongX) values.set(cells, from * map.nx);
  else for (let j = 0; j < map.ny; j++) values.set(cells.subarray(j * (to - from), (j + 1) * (to - from)), j * map.nx + from);
}

/** What the parts come to; in their order, so that sums do not depend on who was ready first. */
export function joinParts(neck: Neck, side: SideName, parts: readonly (readonly Tally[])[], deviation: Float32Array): Comparison {
  const board = side === "board";
  const tallies = new Map<string, Tally>();
  for (const t of parts.flat()) {
    const all = tallies.get(t.region);
    if (all === undefined) {
      tallies.set(t.region, { ...t, histogram: t.histogram.slice() });
      continue;
    }
    add(all, t);
  }
  const regions: RegionFigure[] = [];
  const findings: Finding[] = [];
  for (const t of tallies.values()) {
    const figure = figureOf(t, side);
    regions.push(figure);
    findings.push(...judge(t, figure));
  }
  regions.sort((a, b) => (a.region < b.region ? -1 : 1));
  for (const region of board ? expectedTop(neck) : ["carve", "heel", "headstock back"]) {
    if (!tallies.has(region)) findings.push(missing(side, region));
  }
  return { regions, deviation, findings };
}

const expectedTop = (neck: Neck): readonly string[] =>
  neck.order.blank.kind === "shaft-alone" ? ["headstock face"] : ["board", "headstock face"];

/** The neck's own distance where the surface is steep; the exact sign where it has none. */
function distance(neck: Neck, board: boolean, x: number, y: number, z: number, want: number): number {
  // without the board the face is the glue plane, which the neck's own distance does not know
  if (board && neck.order.blank.kind === "shaft-alone" && neck.top(x, y) >= 0) return z - want;
  const d = board ? neck.topDistance(x, y, z) : neck.backDistance(x, y, z);
  return Number.isFinite(d) ? d : board ? z - want : want - z;
}

function boardTarget(neck: Neck): Target {
  const p = neck.places;
  const bare = neck.order.blank.kind === "shaft-alone";
  const tilted = neck.order.headstock.kind === "angled" || neck.order.headstock.kind === "scarfed";
  let at = 0;
  return {
    lo: 0,
    hi: 0,
    whole: "",
    column(x) {
      // without the board the neck ends with its shaft
      if (x < p.tip + INSET || x > (bare ? p.shaftEnd : p.end) - INSET) return false;
      at = x;
      [this.lo, this.hi] = neck.edges(x);
      // past the ramp's upper end, at either edge, the board is all there is
      this.whole = !bare && x - Math.max(p.nutSlope * this.lo, p.nutSlope * this.hi) > p.rampTop + INSET ? "board" : "";
      return this.hi > this.lo;
    },
    z: (y) => (bare ? Math.min(0, neck.top(at, y)) : neck.top(at, y)),
    region: (x, y, want) => {
      if (want >= (bare ? 0 : neck.boardTop(x, y))) return "board";
      return !tilted && x - p.nutSlope * y > p.rampFoot ? "ramp" : "headstock face";
    },
  };
}

function carveTarget(neck: Neck): Target {
  const p = neck.places;
  let section: BackSection | null = null;
  let flat = false;
  return {
    lo: 0,
    hi: 0,
    whole: "",
    column(x) {
      if (x < p.tip + INSET || x > p.end - INSET || Math.abs(x - p.shaftEnd) < INSET) return false;
      [this.lo, this.hi] = neck.edges(x);
      section = neck.section(x);
      flat = x > p.shaftEnd;
      this.whole = regionAt(x);
      return this.hi > this.lo;
    },
    z: (y) => (flat || section === null ? 0 : sectionZ(section, y)),
    region: regionAt,
  };
  function regionAt(x: number): string {
    return x > p.shaftEnd
      ? "overhang"
      : x >= p.heelFront
        ? "heel"
        : x > p.carveEnd
          ? "heel transition"
          : x >= p.carveStart
            ? "carve"
            : x > p.headBack
              ? "head transition"
              : "headstock back";
  }
}

/** The feature whose floor a point shows (of several, the deepest), "edge" beside a wall, null on the plain surface. */
function featureAt(nearby: readonly Feature[], x: number, y: number, up: 1 | -1): Feature | "edge" | null {
  let found: Feature | null = null;
  let wall = false;
  for (const f of nearby) {
    const d = f.distance(x, y);
    if (d > INSET) continue;
    if (d > -INSET) {
      wall = true;
      continue;
    }
    if (f.floor === null) return f;
    if (f.inner !== null) {
      const e = f.inner(x, y);
      if (Math.abs(e) <= INSET) return "edge";
      if (e < 0) return { ...f, floor: null };
    }
    if (found === null || found.floor === null || up * (f.floor(x, y) - found.floor(x, y)) < 0) found = f;
  }
  return wall ? "edge" : found;
}
