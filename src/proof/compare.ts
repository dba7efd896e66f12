import type { SideName } from "../holding/types.ts";
import { openDeviation, SLOTS, TOGETHER } from "../kernel/deviation.ts";
import type { HeightMap } from "../kernel/heightmap.ts";
import type { Neck } from "../neck/types.ts";
import type { Finding } from "../units/index.ts";
import { Place } from "./compare-place.ts";
import type { SideFrame } from "./place.ts";
import { add, figureOf, judge, missing, type Tally } from "./tally.ts";
import type { RegionFigure } from "./types.ts";

export interface Comparison {
  readonly regions: readonly RegionFigure[];
  readonly deviation: Float32Array;
  readonly findings: readonly Finding[];
}

/** A side's stations along the neck are compared in so many parts, each on its own; what comes out does not depend on who does which. */
export const PARTS = 8;

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
  const lie = lieOf(frame, map, part);
  if (!Number.isFinite(lie.dy * (lie.across - 1))) throw new Error("the map has no extent");
  const place = new Place(neck, frame, map.cell, cusp, filled);
  if (lie.askewX !== 0 || lie.askewY !== 0) compareAskew(place, lie, map, deviation);
  else compareAlong(place, lie, map, deviation);
  return place.found();
}

/** How the cells of a part lie on the neck: stations run along the program's axis that lies along it. */
interface Lie {
  readonly from: number;
  readonly to: number;
  readonly alongX: boolean;
  /** Cells of a station. */
  readonly across: number;
  /** The neck's place of cell (0, 0), and steps from station to station and along one. */
  readonly firstX: number;
  readonly firstY: number;
  readonly dx: number;
  readonly dy: number;
  /** Of a neck that lies askew on the bed x changes along a station too, and y from one to the next. */
  readonly askewX: number;
  readonly askewY: number;
}

function lieOf(frame: SideFrame, map: HeightMap, part: number): Lie {
  const { toNeck } = frame;
  const { cell } = map;
  const stations = stationsOf(frame, map, part);
  const { alongX } = stations;
  const [firstX, firstY] = frame.neckXY(map.x0, map.y0);
  return {
    ...stations,
    across: alongX ? map.ny : map.nx,
    firstX,
    firstY,
    dx: (alongX ? toNeck[0] : toNeck[1]) * cell,
    dy: cell * (alongX ? toNeck[5] : toNeck[4]),
    askewX: (alongX ? toNeck[1] : toNeck[0]) * cell,
    askewY: (alongX ? toNeck[4] : toNeck[5]) * cell,
  };
}

/** A neck that lies along an axis of the program: a column of cells at a time, most of it by the kernel. */
function compareAlong(place: Place, lie: Lie, map: HeightMap, deviation: Float32Array): void {
  const { nx, z: heights } = map;
  const { target, limits } = place;
  const { from: first, to: end, alongX, across, firstX, firstY, dx, dy } = lie;
  const kernel = openDeviation(across, place.scale);
  const { stride, got, out, want, hard } = kernel;
  const slots: string[] = [];
  const slotOf = (region: string): number => {
    const known = slots.indexOf(region);
    if (known >= 0) return known;
    if (slots.length === SLOTS) throw new Error("too many kinds of surface");
    kernel.begin(slots.length, limits.below, limits.above);
    return slots.push(region) - 1;
  };
  const xOf = (i: number): number => firstX + i * dx;
  const yOf = (j: number): number => firstY + j * dy;
  /** The first and the last row whose y lies between two, all rows at the most. */
  const rowsBetween = (lo: number, hi: number): readonly [number, number] => {
    const [p, q] = [(lo - firstY) / dy, (hi - firstY) / dy];
    let a = Math.max(0, Math.min(across, Math.ceil(Math.min(p, q))));
    let b = Math.min(across - 1, Math.max(-1, Math.floor(Math.max(p, q))));
    // by the rows' own y, which rounding may have on the other side
    const within = (j: number): boolean => yOf(j) >= lo && yOf(j) <= hi;
    if (a > 0 && within(a - 1)) a--;
    else if (a <= b && !within(a)) a++;
    if (b < across - 1 && within(b + 1)) b++;
    else if (b >= a && !within(b)) b--;
    return [a, b];
  };
  const rows = (i: number): readonly [number, number] => (target.column(xOf(i)) ? rowsBetween(target.lo, target.hi) : [0, -1]);
  const fill = (i: number, column: number): void => {
    const at = column * stride;
    want.fill(Number.NaN, at, at + stride);
    const [a, b] = rows(i);
    for (let j = a; j <= b; j++) want[at + j] = target.z(yOf(j));
  };
  let least = 0;
  let most = -1;
  // columns of `want`: that of the station before, of this and of the one after
  let [before, here, after] = [0, 1, 2];
  want.fill(Number.NaN);
  fill(first - 1, here);
  fill(first, after);
  for (let i = first; i < end; i++) {
    [before, here, after] = [here, after, before];
    fill(i + 1, after);
    const lane = (i - first) % TOGETHER;
    const lanes = Math.min(TOGETHER, end - i + lane);
    if (lane === 0) {
      // a line of the cache at a time, whichever way the neck lies
      [least, most] = [across, -1];
      for (let l = 0; l < lanes; l++) {
        const [a, b] = rows(i + l);
        least = Math.min(least, a <= b ? a : across);
        most = Math.max(most, b);
      }
      for (let j = least; j <= most; j++)
        if (alongX) for (let l = 0, k = j * nx + i, q = j; l < lanes; l++, k++, q += stride) got[q] = heights[k];
        else for (let l = 0, k = i * nx + j, q = j; l < lanes; l++, k += nx, q += stride) got[q] = heights[k];
      out.fill(Number.NaN);
    }
    const x = xOf(i);
    if (target.column(x)) {
      place.between(x, x);
      const [a, b] = rowsBetween(...place.inside(x));
      const [h, row] = [here * stride, lane * stride];
      const one = (j: number): void => {
        const wanted = want[h + j];
        // NaN: off the neck
        if (Number.isNaN(wanted)) return;
        const [w0, w1] = [want[before * stride + j], want[after * stride + j]];
        const sy = j > 0 && j < across - 1 ? (want[h + j + 1] - want[h + j - 1]) / place.scale.step : Number.NaN;
        out[row + j] = place.at(x, yOf(j), got[row + j], wanted, (w1 - w0) / place.scale.step, sy, Math.abs(w1 - 2 * wanted + w0));
      };
      const some = (p: number, q: number): void => {
        for (let j = p; j <= q; j++) one(j);
      };
      const plain = (p: number, q: number): void => {
        const [from, to] = [Math.max(1, p), Math.min(across - 2, q)];
        if (from > to) {
          some(p, q);
          return;
        }
        some(p, from - 1);
        const left = kernel.column(slotOf(target.whole), i, lane, before, here, after, from, to);
        for (let k = 0; k < left; k++) one(hard[k]);
        some(to + 1, q);
      };
      if (target.whole === "") some(a, b);
      else {
        // rows where a feature may be are looked at one by one
        const [n0, n1] = place.nearLo < place.nearHi ? rowsBetween(Math.max(place.nearLo, -1e6), Math.min(place.nearHi, 1e6)) : [0, -1];
        if (n0 > n1) plain(a, b);
        else {
          plain(a, Math.min(b, n0 - 1));
          some(Math.max(a, n0), Math.min(b, n1));
          plain(Math.max(a, n1 + 1), b);
        }
      }
    }
    if (lane === lanes - 1) {
      const from = i - lane;
      for (let j = least; j <= most; j++)
        if (alongX) for (let l = 0, k = j * nx + from, q = j; l < lanes; l++, k++, q += stride) deviation[k] = out[q];
        else for (let l = 0, k = from * nx + j, q = j; l < lanes; l++, k += nx, q += stride) deviation[k] = out[q];
    }
  }
  for (const [slot, region] of slots.entries()) place.join(region, kernel.tally(slot), ([i, j]) => [xOf(i), yOf(j)]);
}

/** A neck that lies askew: every cell has a column of its own. */
function compareAskew(place: Place, lie: Lie, map: HeightMap, deviation: Float32Array): void {
  const { nx, z: heights } = map;
  const { target, scale } = place;
  const { from: first, to: end, alongX, across, firstX, firstY, dx, dy, askewX, askewY } = lie;
  const xOf = (i: number, j: number): number => firstX + i * dx + j * askewX;
  const yOf = (i: number, j: number): number => firstY + j * dy + i * askewY;
  let before = new Float64Array(across);
  let here = new Float64Array(across);
  let after = new Float64Array(across);
  const fill = (i: number, into: Float64Array): void => {
    for (let j = 0; j < across; j++) {
      const y = yOf(i, j);
      into[j] = target.column(xOf(i, j)) && y >= target.lo && y <= target.hi ? target.z(y) : Number.NaN;
    }
  };
  fill(first - 1, here);
  fill(first, after);
  for (let i = first; i < end; i++) {
    [before, here, after] = [here, after, before];
    fill(i + 1, after);
    const [xA, xB] = [xOf(i, 0), xOf(i, across - 1)];
    place.between(Math.min(xA, xB), Math.max(xA, xB));
    for (let j = 0; j < across; j++) {
      const wanted = here[j];
      if (Number.isNaN(wanted)) continue;
      const [x, y] = [xOf(i, j), yOf(i, j)];
      target.column(x);
      const [lo, hi] = place.inside(x);
      if (y < lo || y > hi) continue;
      const sy = j > 0 && j < across - 1 ? (here[j + 1] - here[j - 1]) / scale.step : Number.NaN;
      const k = alongX ? j * nx + i : i * nx + j;
      deviation[k] = place.at(
        x,
        y,
        heights[k],
        wanted,
        (after[j] - before[j]) / scale.step,
        sy,
        Math.abs(after[j] - 2 * wanted + before[j]),
      );
    }
  }
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
