import type { MoveBuilder } from "../../kernel/moves.ts";
import { isCounterClockwise, type Polygon, polygonLength } from "../../kernel/polygon.ts";
import type { Mm, Rad } from "../../units/index.ts";
import { checkMotion, follow, goAbove, type Motion, retract, reversedPath } from "./common.ts";
import { overTabs, type Tab, tabSpan } from "./contour.ts";
import { type ThinTolerance, thinPath } from "./thin.ts";

/*
 * A last pass over a wall beside which the channel is free by 2 `leave`, stretch by stretch, each fed its own way:
 *
 *     channel     .______                    ______.      comes in from the channel's middle and goes out to it over `blend`,
 *     wall            `--.__________________.--'          where two stretches meet both are on the wall for `overlap`: no
 *                        |<-   stretch   ->|              line stays there. The climbing one goes past the joint, which
 *                                                         lifts no fibres; the other stops short of it
 */
export interface WallOptions extends Motion {
  readonly cutterDiameter: Mm;
  /** Height of the pass, down to which the channel is free. */
  readonly zBottom: Mm;
  /** Wood at its highest along the wall. */
  readonly zTop: Mm;
  /** Where the cutter comes down, this far outside its line, it has as much room on both sides. */
  readonly leave: Mm;
  /** As for a contour: nowhere lower than this. */
  readonly least?: (x: Mm, y: Mm) => Mm;
  readonly tabs?: readonly Tab[];
  readonly tabAngle?: Rad;
  readonly overlap?: Mm;
  readonly blend?: Mm;
  readonly thin?: ThinTolerance;
}

/** A stretch along the counter-clockwise ring by lengths from vertex 0 (`from` may be below 0, `to` past the ring's length). */
export interface Stretch {
  readonly from: Mm;
  readonly to: Mm;
  readonly milling: "climb" | "conventional";
}

/** How far the neighbours of a joint both run on the wall, and over what length each comes in and goes out, mm. */
export const WALL_OVERLAP: Mm = 1.5;
/** A conventional stretch stops this far short of its joints. */
const SHORT: Mm = 1;
export const WALL_BLEND: Mm = 3;
/** Pieces of a ring shorter than this say nothing of its direction, mm. */
const LEAST_PIECE: Mm = 0.005;
/** Distance between places where a stretch comes in, goes out or rises over a tab. */
const FINE: Mm = 0.25;

/** A pass along the counter-clockwise ring of the cutter's centre round what is kept. Throws a RangeError for numbers that make no path. */
export function wallPass(b: MoveBuilder, ring: Polygon, stretches: readonly Stretch[], o: WallOptions): void {
  checkMotion(o);
  const {
    tabs = [],
    tabAngle = (15 * Math.PI) / 180,
    overlap = WALL_OVERLAP,
    blend = WALL_BLEND,
    thin = { vertical: 0.0005, lateral: 0.0002 },
  } = o;
  if (!isCounterClockwise(ring)) throw new RangeError("the ring of a wall runs counter-clockwise round what is kept");
  if (!(o.zBottom < o.zTop)) throw new RangeError(`a wall from z ${o.zTop} to ${o.zBottom} has no height`);
  const total = polygonLength(ring);
  const n = ring.length / 2;
  const spans = tabs.map((t) => tabSpan(ring, total, t, o.cutterDiameter / 2));
  const slope = Math.tan(tabAngle);
  const at = new Float64Array(n + 1);
  for (let k = 1; k <= n; k++)
    at[k] = at[k - 1] + Math.hypot(ring[(2 * k) % ring.length] - ring[2 * k - 2], ring[(2 * k + 1) % ring.length] - ring[2 * k - 1]);
  const place = (s: Mm, off: Mm, z: Mm, out: number[]): void => {
    const u = ((s % total) + total) % total;
    let lo = 0;
    let hi = n;
    while (hi - lo > 1) {
      const m = (lo + hi) >> 1;
      if (at[m] <= u) lo = m;
      else hi = m;
    }
    const m = (lo + 1) % n;
    const L = at[lo + 1] - at[lo];
    const t = L > 0 ? (u - at[lo]) / L : 0;
    const [x, y] = [ring[2 * lo] + t * (ring[2 * m] - ring[2 * lo]), ring[2 * lo + 1] + t * (ring[2 * m + 1] - ring[2 * lo + 1])];
    // which way is outward: by a piece of the ring that is no rounding of another's end, which may point anywhere
    let [from, to] = [lo, m];
    let [dx, dy] = [0, 0];
    for (let k = 0; ; k++) {
      dx = ring[2 * to] - ring[2 * from];
      dy = ring[2 * to + 1] - ring[2 * from + 1];
      if (dx * dx + dy * dy >= LEAST_PIECE * LEAST_PIECE || k >= n) break;
      from = (from + n - 1) % n;
      to = (to + 1) % n;
    }
    const q = off / Math.max(1e-9, Math.hypot(dx, dy));
    out.push(x + q * dy, y - q * dx, Math.max(z, overTabs(spans, u, total, slope), o.least?.(x, y) ?? Number.NEGATIVE_INFINITY));
  };
  const z = o.zBottom;
  const around = stretches.length === 1;
  for (const w of stretches) {
    const past = around ? overlap : w.milling === "climb" ? overlap + SHORT : -SHORT;
    const a = w.from - (around ? 0 : past);
    const e = w.to + past;
    // lengths: every vertex, and fine steps where the way comes in, goes out, or rises over a tab
    const lengths: Mm[] = [];
    for (let s = a - blend; s < a; s += FINE) lengths.push(s);
    for (let turn = Math.floor(a / total); turn * total < e; turn++)
      for (let k = 0; k < n; k++) {
        const s = at[k] + turn * total;
        if (s > a && s < e) lengths.push(s);
      }
    for (const t of spans)
      for (let turn = Math.floor(a / total) - 1; turn * total <= e + total; turn++) {
        const half = t.half + Math.max(0, t.z - z) / slope;
        const mid = t.s + turn * total;
        for (let s = mid - half; s <= mid + half + 1e-9; s += FINE) if (s > a && s < e) lengths.push(s);
        for (const s of [mid - half, mid - t.half, mid + t.half, mid + half]) if (s > a && s < e) lengths.push(s);
      }
    if (o.least !== undefined) for (let s = a; s < e; s += FINE) lengths.push(s);
    lengths.push(a);
    for (let s = e; s < e + blend; s += FINE) lengths.push(s);
    lengths.push(e + blend);
    lengths.sort((x, y) => x - y);
    const points: number[] = [];
    let last = Number.NEGATIVE_INFINITY;
    for (const s of lengths) {
      if (s - last < 1e-7) continue;
      last = s;
      const d = s < a ? (a - s) / blend : s > e ? (s - e) / blend : 0;
      place(s, o.leave * d * d * (3 - 2 * d), z, points);
    }
    const path = Float64Array.from(points);
    const way = thinPath(w.milling === "conventional" ? path : reversedPath(path), thin);
    retract(b, o);
    goAbove(b, way[0], way[1], o, way[2]);
    follow(b, way, o.feed, 1);
    retract(b, o);
  }
}
