import { flatten } from "../kernel/contour.ts";
import { signedDistance } from "../kernel/polygon.ts";
import type { Neck } from "../neck/types.ts";
import type { GridSpec, MachineSpec } from "../spec/types.ts";
import { type Finding, finding, type Mm } from "../units/index.ts";
import { extent, SWATH } from "./extent.ts";
import { baseName, gripsEdge, shifted } from "./placed.ts";
import { HO } from "./rules.ts";
import type { Lay } from "./solids.ts";
import { apply, inverse } from "./transform.ts";
import type { Side, SideName, Solid, Transform } from "./types.ts";

/*
 * A bed, or a plate on it, with a grid of holes. Pins stand in holes, blocks and screws are fastened in them, so the plan chooses the
 * zero and their places together: the zero so that the fence's line and the stop's line pass a pin's radius beside rows of holes, then for each
 * part the usable hole nearest to where it would stand on a plain bed.
 *
 *      o     o     o     o     o        o hole, P pin: the datum edge touches it
 *      o     P-----o-----P-----o--      blocks: a bolt through the foot, anywhere along its middle
 *      S  ______________________  o     S the stop
 */

/** Air between a bolt's edge and the ends of a block's foot, and between parts that stand beside each other. */
export const AIR: Mm = 2;
/** A hole that is met this closely is met. */
const EXACT: Mm = 0.01;

/** Holes of the bed along x and y: place of the first, distance, number. */
export interface Row {
  readonly first: Mm;
  readonly pitch: Mm;
  readonly count: number;
}

export const rowOf = (g: GridSpec, axis: "x" | "y", bed: Mm): Row => ({
  first: g.first[axis],
  pitch: g.pitch,
  count: Math.max(0, Math.floor((bed - g.first[axis]) / g.pitch + 1e-9) + 1),
});

/** A row of holes as a side's own frame (before it is laid along the machine's axis) sees it: places sign * (bed - zero). */
interface Seen extends Row {
  readonly zero: Mm;
  readonly sign: 1 | -1;
}

const placesOf = (s: Seen): Mm[] => Array.from({ length: s.count }, (_, k) => s.sign * (s.first + k * s.pitch - s.zero));
const nearest = (places: readonly Mm[], to: Mm): Mm[] => [...places].sort((a, b) => Math.abs(a - to) - Math.abs(b - to) || a - b);

/** The number nearest to `near` that is `at` modulo `pitch`. */
export const congruent = (near: Mm, at: Mm, pitch: Mm): Mm => at + pitch * Math.round((near - at) / pitch);

export interface OnGrid {
  readonly solids: readonly Solid[];
  /** On the bed, both axes. */
  readonly zero: readonly [Mm, Mm];
}

/**
 * Puts a side's parts onto holes; a part that finds none is left where it was, and `checkGrid` says so. `clear`: whether a part is out of the
 * cutters' way there; of rows of holes those come first.
 */
export function ontoGrid(
  neck: Neck,
  machine: MachineSpec,
  solids: readonly Solid[],
  lay: Lay,
  t: Transform,
  clear: (s: Solid) => boolean = () => true,
): OnGrid {
  const grid = machine.grid as GridSpec;
  const { pin, block } = neck.order.holding;
  const turned = machine.along === "y";
  const r = pin.diameter / 2;
  // lines of pins' middles, in the side's own frame
  const first = solids.find((s) => s.role === "index pin");
  const [stopLine, fenceLine] = first?.kind === "cylinder" ? [first.x, first.y] : [-r * lay.along, -r * lay.up];
  const stock: Side["stock"] = {
    min: [lay.along > 0 ? 0 : -lay.length, lay.up > 0 ? 0 : -lay.width, 0],
    max: [lay.along > 0 ? lay.length : 0, lay.up > 0 ? lay.width : 0, lay.thickness],
  };
  const e = extent(stock, solids);
  const [spanX, spanY] = turned ? [-(e.minY + e.maxY) / 2, (e.minX + e.maxX) / 2] : [(e.minX + e.maxX) / 2, (e.minY + e.maxY) / 2];
  const [gx, gy] = [rowOf(grid, "x", machine.bed.x), rowOf(grid, "y", machine.bed.y)];
  // (x, y) of the side stands at (zero x - y, zero y + x) on a bed whose long axis is y
  const zero: readonly [Mm, Mm] = turned
    ? [
        congruent(machine.bed.x / 2 - spanX, gx.first + fenceLine, gx.pitch),
        congruent(machine.bed.y / 2 - spanY, gy.first - stopLine, gy.pitch),
      ]
    : [
        congruent(machine.bed.x / 2 - spanX, gx.first - stopLine, gx.pitch),
        congruent(machine.bed.y / 2 - spanY, gy.first - fenceLine, gy.pitch),
      ];
  const along = placesOf(turned ? { ...gy, zero: zero[1], sign: 1 } : { ...gx, zero: zero[0], sign: 1 });
  const across = placesOf(turned ? { ...gx, zero: zero[0], sign: -1 } : { ...gy, zero: zero[1], sign: 1 });
  const inv = inverse(t);
  const outline = flatten(neck.outline, 0.02);
  const fromNeck = (x: Mm, y: Mm): Mm => {
    const p = apply(inv, x, y, 0);
    return signedDistance([outline], p[0], p[1]);
  };
  const out: Solid[] = [];
  const taken: (readonly [Mm, Mm, Mm])[] = [];
  const alone = (x: Mm, y: Mm, radius: Mm): boolean => taken.every(([u, v, q]) => Math.hypot(x - u, y - v) >= radius + q + AIR);
  const from = (s: number, size: Mm): boolean => s >= AIR && s <= size - AIR;

  // rows of each end's blocks, whole on the blank and beside each other and the stop; with the stop's own row, nearest first
  const half = block.width / 2;
  const noses = solids.flatMap((s) => (s.role === "block" && s.kind === "box" && !s.name.endsWith(", foot") ? [s] : []));
  const headward = (s: Solid): boolean => s.name.includes("headstock");
  const onBlank = across.filter((v) => v * lay.up - half >= 0 && v * lay.up + half <= lay.width);
  const rowsOf = (head: boolean, stop: Mm | null): ReadonlyMap<string, Mm> => {
    const out = new Map<string, Mm>();
    for (const nose of noses.filter((s) => headward(s) === head)) {
      const middle = (nose.min[1] + nose.max[1]) / 2;
      const usable = nearest(onBlank, middle).filter(
        (v) =>
          [...out.values()].every((q) => Math.abs(q - v) >= block.width + AIR) && (stop === null || Math.abs(v - stop) >= half + r + AIR),
      );
      const y = usable.find((v) => clear(shifted(nose, 0, v - middle))) ?? usable[0];
      if (y !== undefined) out.set(nose.name, y);
    }
    return out;
  };
  const wish = solids.find((s) => s.role === "end stop");
  const stops = wish?.kind === "cylinder" ? nearest(across, wish.y).filter((v) => from(v * lay.up - r, lay.width - 2 * r)) : [];
  const wanted = noses.filter(headward).length;
  const stopRow = stops.find((v) => rowsOf(true, v).size === wanted) ?? stops[0];
  const rows = new Map([...rowsOf(true, wish === undefined ? null : (stopRow ?? null)), ...rowsOf(false, null)]);

  for (const s of solids) {
    if (s.kind !== "cylinder") continue;
    let place: readonly [Mm, Mm] | undefined;
    if (s.role === "fence pin") {
      const x = nearest(along, s.x).find((v) => from(v * lay.along - r, lay.length - 2 * r) && alone(v, s.y, r));
      if (x !== undefined) place = [x, s.y];
    } else if (s.role === "end stop") {
      if (stopRow !== undefined) place = [s.x, stopRow];
    } else if (s.role === "screw") {
      const half = s.diameter / 2;
      // in the waste on its own side of the neck, the whole head on the blank and out of the cutters' way
      const near = s.y * lay.up < lay.width / 2;
      const usable = across.filter((v) => from(v * lay.up - half, lay.width - 2 * half) && v * lay.up < lay.width / 2 === near);
      const holes = along.filter((u) => Math.abs(u - s.x) <= grid.pitch).flatMap((u) => usable.map((v) => [u, v] as const));
      place = holes
        .filter(([u, v]) => fromNeck(u, v) >= SWATH + half && alone(u, v, half))
        .sort((a, b) => Math.hypot(a[0] - s.x, a[1] - s.y) - Math.hypot(b[0] - s.x, b[1] - s.y))[0];
      // a screw without a hole holds nothing: it is left out, and missed where screws are counted
      if (place === undefined) continue;
    }
    if (s.role === "index pin") place = [s.x, s.y];
    if (place !== undefined) taken.push([...place, s.diameter / 2]);
    out.push(place === undefined ? s : { ...s, x: place[0], y: place[1] });
  }

  for (const nose of noses) {
    const foot = solids.find((s) => s.name === `${nose.name}, foot`);
    const head = headward(nose);
    const y = rows.get(nose.name);
    // distance of the bolt from the blank's end, outward
    const bolt = grid.diameter / 2 + AIR;
    const outward = along.map((v) => (head ? -v * lay.along : v * lay.along - lay.length)).filter((d) => d >= 0.5 + bolt);
    const d = Math.min(...outward);
    if (y === undefined || !Number.isFinite(d)) {
      out.push(nose, ...(foot === undefined ? [] : [foot]));
      continue;
    }
    // as long as it was ordered, or as the hole takes
    const outer = Math.max(block.length - block.grip, d + bolt);
    const span = (a: Mm, b: Mm): readonly [Mm, Mm] => {
      const [p, q] = head ? [-a * lay.along, -b * lay.along] : [(lay.length + a) * lay.along, (lay.length + b) * lay.along];
      return [Math.min(p, q), Math.max(p, q)];
    };
    const boxAt = (s: Extract<Solid, { kind: "box" }>, [lo, hi]: readonly [Mm, Mm]): Solid => ({
      ...s,
      min: [lo, y - half, s.min[2]],
      max: [hi, y + half, s.max[2]],
    });
    out.push(boxAt(nose, span(-block.grip, outer)));
    if (foot?.kind === "box") out.push(boxAt(foot, span(0.5, outer)));
    else if (outer > 0.5) out.push({ ...boxAt(nose, span(0.5, outer)), name: `${nose.name}, foot` } as Solid);
  }
  out.push(...solids.filter((s) => s.role === "support"));
  return { solids: out, zero: [zero[0] + 0, zero[1] + 0] };
}

/** The hole under a part: of a block, the one under its foot's middle line that is nearest to the blank. Columns along bed x and rows along y, from 1. */
export function holeOf(
  s: Solid,
  side: Pick<Side, "zeroOnBed">,
  machine: MachineSpec,
): { readonly column: number; readonly row: number } | null {
  const { grid } = machine;
  if (grid === undefined || s.role === "support" || s.kind === "prism") return null;
  const axes = (["x", "y"] as const).map((a, k) => ({ ...rowOf(grid, a, machine.bed[a]), zero: side.zeroOnBed[k] }));
  const at = (k: 0 | 1, v: Mm): number | null => {
    const n = Math.round((v + axes[k].zero - axes[k].first) / axes[k].pitch);
    return n >= 0 && n < axes[k].count && Math.abs(axes[k].first + n * axes[k].pitch - axes[k].zero - v) <= EXACT ? n + 1 : null;
  };
  if (s.kind === "cylinder") {
    const [column, row] = [at(0, s.x), at(1, s.y)];
    return column === null || row === null ? null : { column, row };
  }
  // a box: its bolt goes through the middle line, from the nose outward: along the machine's long axis, of a block at the blank's edge across it
  const long = (machine.along === "x") === !gripsEdge(s.name) ? 0 : 1;
  const across = at(long === 0 ? 1 : 0, (s.min[1 - long] + s.max[1 - long]) / 2);
  const g = axes[long];
  const m = grid.diameter / 2 + AIR - EXACT;
  for (let n = 0; n < g.count && across !== null; n++) {
    const v = g.first + n * g.pitch - g.zero;
    if (v >= s.min[long] + m && v <= s.max[long] - m) return long === 0 ? { column: n + 1, row: across } : { column: across, row: n + 1 };
  }
  return null;
}

/** Rows of holes, `pitch` apart from the fence's own, over which a whole block lies on the blank. */
function rowsOnBlank(order: Neck["order"], pitch: Mm): number {
  const { pin, block } = order.holding;
  const [half, r] = [block.width / 2, pin.diameter / 2];
  let n = 0;
  for (let v = pitch - r; v + half <= order.blank.width; v += pitch) if (v - half >= 0) n++;
  return n;
}

/** What to try where a block of the headstock's end found no row beside the stop's: two blocks and the stop take three rows. */
function fewRows(order: Neck["order"], pitch: Mm): { readonly says: string; readonly tryThis: string } | null {
  const { pin, block } = order.holding;
  const rows = rowsOnBlank(order, pitch);
  if (rows >= 3) return null;
  const wide = Math.ceil(3 * pitch - pin.diameter / 2 + block.width / 2);
  let close = Math.floor(pitch) - 1;
  while (close >= block.width + AIR && rowsOnBlank(order, close) < 3) close--;
  const plate = close >= block.width + AIR ? `, a plate whose holes are ${close} mm apart or less` : "";
  return {
    says: `The bed's rows are ${pitch} mm apart; ${rows} of them lie under a whole block on a blank ${order.blank.width} mm wide, and two blocks with the stop between them take 3.`,
    tryThis: `Take a blank ${wide} mm wide${plate}, or hold the sides by vacuum or tape (holding.press); or lay a spoil board on the bed and leave the grid out of the shop (machine.grid).`,
  };
}

/** From the finished sides only: every pin, stop, screw and block's foot has a hole of the grid, and no two the same. With the order, what to try fits it. */
export function checkGrid(machine: MachineSpec, sides: Readonly<Record<SideName, Side>>, order?: Neck["order"]): Finding[] {
  if (machine.grid === undefined) return [];
  const { pitch } = machine.grid;
  const out: Finding[] = [];
  for (const side of [sides.board, sides.carve]) {
    const lays = side.sections ?? [side];
    for (const l of lays) {
      const where = "number" in l ? `${side.name} side, section ${l.number} of ${lays.length}` : `${side.name} side`;
      const used = new Map<string, string>();
      for (const s of l.holding) {
        // what fastens a block is its foot; a block without one cannot be bolted down
        if (s.role === "support") continue;
        if (s.role === "block" && !s.name.endsWith(", foot") && l.holding.some((f) => f.name === `${s.name}, foot`)) continue;
        const hole = holeOf(s, side, machine);
        const key = hole === null ? null : `${hole.column}, ${hole.row}`;
        const other = key === null ? undefined : used.get(key);
        if (key !== null) used.set(key, baseName(s));
        if (key !== null && other === undefined) continue;
        const few = order === undefined || s.role !== "block" || key !== null || side.sections !== undefined ? null : fewRows(order, pitch);
        out.push(
          finding(HO.noHole, {
            where: `${where}, ${baseName(s)}`,
            value: key,
            limit: null,
            unit: "",
            says:
              key === null
                ? `No hole of the bed lies under ${baseName(s)}.${few === null ? "" : ` ${few.says}`}`
                : `${baseName(s)} and ${other} would share hole ${key}.`,
            tryThis:
              few?.tryThis ??
              "Place it elsewhere (holding.placed), take other blocks or a blank of another length, or lay a spoil board on the bed and leave the grid out of the shop (machine.grid).",
          }),
        );
      }
    }
  }
  return out;
}
