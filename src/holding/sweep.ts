import { flatten } from "../kernel/contour.ts";
import { circlePolygon } from "../kernel/polygon.ts";
import { faceDrop } from "../neck/places.ts";
import type { Neck } from "../neck/types.ts";
import type { CutterSpec } from "../spec/types.ts";
import type { Mm } from "../units/index.ts";
import { clearanceOf } from "./check.ts";
import { CLEAR } from "./extent.ts";
import { baseName, freeOf, middleOf, shifted } from "./placed.ts";
import type { Lay } from "./solids.ts";
import type { SideName, Solid, Transform, WasteBore } from "./types.ts";

/*
 * Before any cut is planned: how far beyond the neck's outline the cutters of a side can come, and how low. Every kind of cut keeps its cutter's
 * middle within a distance of the outline that follows from the cutter's size alone; its holder passes over what is low enough:
 *
 *      outline   middle     holder
 *         |<- off ->|<- radius ->|   <- gap ->  block
 *
 * Every cutter of the shop that a cut could take counts, so the true gap is never less; it is measured over the planned moves afterwards.
 */

/** Where the middle of a cutter may come: so far beyond this part of the outline, its tip no lower than this (program frame). */
interface Way {
  readonly over: Float64Array;
  readonly off: Mm;
  readonly tip: Mm;
  readonly cutters: readonly CutterSpec[];
}

/** Rows of clearing end so much further out for every layer more, in parts of the diameter, and so many layers at most. */
const PER_LAYER = 1 / 24;
const MOST_LAYERS = 12;
/** Past the board's edges its surface goes on by this much, so that the slot cutter's shank finds no wood there. */
export const PAST_BOARD: Mm = 4.5;
/** Rows over the flats of the back end so far past its outline. */
export const PAST_FLATS: Mm = 3;
/** Of a way's end over the outline's: what curves and laps add. */
const MORE: Mm = 0.5;

/** The part of the outline whose x lies between two places, closed; empty where there is none. */
function part(outline: Float64Array, from: Mm, to: Mm): Float64Array {
  const out: number[] = [];
  const n = outline.length / 2;
  // clipped by one line after the other: what an outline has beyond a line falls onto it
  let ring = Array.from({ length: n }, (_, k) => [outline[2 * k], outline[2 * k + 1]] as const);
  for (const inside of [(x: Mm) => x - from, (x: Mm) => to - x]) {
    const next: (readonly [Mm, Mm])[] = [];
    ring.forEach(([x, y], k) => {
      const [u, v] = ring[(k + 1) % ring.length];
      const [a, b] = [inside(x), inside(u)];
      if (a >= 0) next.push([x, y]);
      if (a >= 0 !== b >= 0) next.push([x + ((u - x) * a) / (a - b), y + ((v - y) * a) / (a - b)]);
    });
    ring = next;
  }
  for (const p of ring) out.push(...p);
  return Float64Array.from(out);
}

/** All ways of a side's cuts. `t`: from the neck to the frame that the solids are in. */
export function waysOf(
  neck: Neck,
  cutters: readonly CutterSpec[],
  side: SideName,
  t: Transform,
  top: Mm,
  bores: readonly WasteBore[] = [],
): Way[] {
  const { order, places: p } = neck;
  const z = (v: Mm): Mm => t[10] * v + t[11];
  const all = flatten(neck.outline, 0.02);
  const { thickness } = order.headstock;
  const drop = faceDrop(order);
  const able = (shapes: readonly string[], most: Mm, least: Mm, depth: Mm): CutterSpec[] =>
    cutters.filter((c) => shapes.includes(c.shape) && c.diameter <= most && c.diameter >= least && c.fluteLength >= depth - 1e-9);
  const own = (over: Float64Array, tip: Mm, list: readonly CutterSpec[], off: (c: CutterSpec) => Mm): Way[] =>
    over.length < 6 ? [] : list.map((c) => ({ over, off: off(c) + MORE, tip, cutters: [c] }));
  const set = z(-(drop + Math.min(order.cutting.outlineBelowFace, thickness - 4)));
  const outline = own(all, set - (side === "carve" ? 0.5 : 0), able(["flat"], 8, 3, top - set), (c) => c.diameter / 2 + 0.3);
  const reach = (list: readonly CutterSpec[], tip: Mm): CutterSpec[] => list.filter((c) => c.reach >= top - tip);
  if (side === "board") {
    // a tilted face is lowest at its tip
    const face = z(Math.min(-drop, neck.top(p.tip + 0.01, 0)));
    const head = part(all, p.tip - 1, p.rampTop + 1);
    const rough = reach(able(["flat"], 10, 0, top - face), face);
    const bare = order.blank.kind === "shaft-alone";
    // the board's surface past its edges, where it is lowest
    const widths = [p.boardFront, p.boardEnd].map((x) => neck.boardEdges(x)[1] - neck.boardEdges(x)[0]);
    const past = (PAST_BOARD * Math.max(...widths)) / Math.min(...widths) + 1;
    const radius = Math.min(order.board.radius.nut, order.board.radius.end);
    const half = Math.max(...widths) / 2 + past;
    const surface = z(
      order.board.thickness - (Number.isFinite(radius) ? radius - Math.sqrt(Math.max(0, radius * radius - half * half)) : 0),
    );
    const board = part(all, p.boardFront - 1, p.end + 1);
    const low = surface - order.frets.depth;
    const holes = bores.flatMap((b) =>
      [b.from, b.to].flatMap(([x, y]) =>
        own(circlePolygon(x, y, b.diameter / 2, 0.05), 0, able(["flat"], b.diameter, 0, 0), (c) => -c.diameter / 2),
      ),
    );
    return [
      ...outline,
      ...holes,
      ...own(head, face, rough, (c) => c.diameter * (0.5 + PER_LAYER * (MOST_LAYERS - 1)) + 1),
      ...(bare ? [] : own(board, surface, able(["ball", "bull", "flat"], 12, 2, 1), () => past)),
      ...(bare ? [] : own(board, low, able(["flat"], order.frets.kerf + 0.01, 0, 0), (c) => c.diameter / 2 + 1)),
    ];
  }
  const heel = z(-(order.heel.thickness - order.board.thickness));
  const flats = Math.min(heel, z(neck.section(p.headBack).flat));
  const shaft = part(all, p.headBack - 1, p.heelFront + 1);
  const balls = able(["ball"], Number.POSITIVE_INFINITY, 0, 2).filter((c) => c.diameter / 2 <= z(0) - 1);
  const ball = Math.max(0, ...balls.map((c) => c.diameter / 2));
  const floor = z(0) - ball - 0.5;
  const rough = able(["flat"], 10, 0, top - floor);
  const strip = (c: CutterSpec): Mm => Math.max(2 * ball + 1.2, c.diameter + order.cutting.roughLeave + 0.2);
  return [
    ...outline,
    ...own(all, flats, rough, strip),
    ...own(shaft, floor, rough, strip),
    ...own(all, flats, reach(able(["flat"], 10, 0, top - flats), flats), (c) => PAST_FLATS + c.diameter / 2),
    ...own(shaft, z(0) - ball, balls, (c) => c.diameter / 2),
  ];
}

/** The least gap that can come between a solid and what turns. */
export function gapOf(s: Solid, t: Transform, ways: readonly Way[]): Mm {
  const height = s.kind === "box" ? s.max[2] : s.zMax;
  const known = new Map<Float64Array, Mm>();
  let least = Number.POSITIVE_INFINITY;
  for (const { over, off, tip, cutters } of ways) {
    const d = known.get(over) ?? clearanceOf(s, { neckToProgram: t }, over);
    known.set(over, d);
    for (const c of cutters) {
      let from = c.reach;
      const parts: (readonly [Mm, Mm])[] = [
        [c.diameter / 2, 0],
        [c.shankDiameter / 2, c.fluteLength],
      ];
      for (const h of c.holder) {
        parts.push([h.diameter / 2, from]);
        from += h.length;
      }
      for (const [radius, up] of parts) least = Math.min(least, Math.hypot(Math.max(0, d - off - radius), Math.max(0, tip + up - height)));
    }
  }
  return least;
}

/** Whether a part keeps clear of what turns, for parts in the frame of `t`. */
export function clearOf(
  neck: Neck,
  side: SideName,
  top: Mm,
  t: Transform,
  cutters: readonly CutterSpec[],
  bores: readonly WasteBore[],
): (s: Solid) => boolean {
  const ways = waysOf(neck, cutters, side, t, top, bores);
  return (s) => gapOf(s, t, ways) >= CLEAR;
}

/** A step of the search for another place, and the air that stays between parts beside each other. */
const STEP: Mm = 1;
const AIR: Mm = 2;
/** Fence pins stay at least this share of the blank's length apart: the edge is found by both. */
const PINS_APART = 0.5;

/**
 * Moves what stands nearer than CLEAR to what turns to the nearest place where it does not: blocks and stop across, fence pins along, screws
 * both ways, on the blank, clear of each other. What the order itself has placed, and what finds no such place, stays; the plan's check tells.
 */
export function outOfTheWay(
  neck: Neck,
  side: SideName,
  solids: readonly Solid[],
  lay: Lay,
  t: Transform,
  cutters: readonly CutterSpec[],
  bores: readonly WasteBore[] = [],
): Solid[] {
  if (cutters.length === 0) return [...solids];
  const ways = waysOf(neck, cutters, side, t, lay.thickness, bores);
  const placed = new Set((neck.order.holding.placed ?? []).filter((p) => p.side === undefined || p.side === side).map((p) => p.name));
  const out = [...solids];
  for (const name of new Set(solids.filter((s) => s.role !== "support" && s.role !== "index pin").map(baseName))) {
    const group = out.filter((s) => baseName(s) === name);
    if (placed.has(name) || group.every((s) => gapOf(s, t, ways) >= CLEAR)) continue;
    const free = freeOf(group[0].role);
    const others = out.filter((s) => baseName(s) !== name && s.role !== "support");
    const good = (moved: readonly Solid[]): boolean =>
      stays(moved, others, lay) && moved.every((s) => gapOf(s, t, ways) >= CLEAR && others.every((o) => apart(s, o) >= AIR));
    const limit = Math.max(lay.width, free.x ? lay.length / 2 : 0);
    let found: Solid[] | null = null;
    for (let by = STEP; by <= limit && found === null; by += STEP)
      for (const [can, u, v] of [
        [free.y, 0, by],
        [free.y, 0, -by],
        [free.x, by, 0],
        [free.x, -by, 0],
      ] as const) {
        if (!can) continue;
        const moved = group.map((s) => shifted(s, u * lay.along, v * lay.up));
        if (good(moved)) {
          found = moved;
          break;
        }
      }
    if (found === null) continue;
    for (const s of found) out[out.findIndex((o) => o.name === s.name)] = s;
  }
  return out;
}

/** Whole on the blank where it grips or goes through it, and fence pins apart. */
function stays(moved: readonly Solid[], others: readonly Solid[], lay: Lay): boolean {
  return moved.every((s) => {
    const [x, y] = middleOf(s, lay);
    if (s.role === "fence pin")
      return (
        x > 0 &&
        x < lay.length &&
        others.every((o) => o.role !== "fence pin" || Math.abs(middleOf(o, lay)[0] - x) >= PINS_APART * lay.length)
      );
    const half = s.kind === "box" ? (s.max[1] - s.min[1]) / 2 : s.kind === "cylinder" ? s.diameter / 2 : 0;
    if (y - half < 0 || y + half > lay.width) return false;
    return s.role !== "screw" || (x - half >= 0 && x + half <= lay.length);
  });
}

/** Distance in plan, by boxes. */
function apart(a: Solid, b: Solid): Mm {
  const box = (s: Solid): readonly [Mm, Mm, Mm, Mm] =>
    s.kind === "box"
      ? [s.min[0], s.min[1], s.max[0], s.max[1]]
      : s.kind === "cylinder"
        ? [s.x - s.diameter / 2, s.y - s.diameter / 2, s.x + s.diameter / 2, s.y + s.diameter / 2]
        : [
            Math.min(...s.points.map((p) => p[0])),
            Math.min(...s.points.map((p) => p[1])),
            Math.max(...s.points.map((p) => p[0])),
            Math.max(...s.points.map((p) => p[1])),
          ];
  const [p, q] = [box(a), box(b)];
  return Math.hypot(Math.max(0, p[0] - q[2], q[0] - p[2]), Math.max(0, p[1] - q[3], q[1] - p[3]));
}
