import type { MoveBuilder } from "../../kernel/moves.ts";
import {
  closestOnPolygon,
  isCounterClockwise,
  type Polygon,
  pointAlongPolygon,
  polygonLength,
  reversedPolygon,
  startingAt,
} from "../../kernel/polygon.ts";
import type { Mm, Rad } from "../../units/index.ts";
import { above0, checkMotion, follow, goAbove, type Motion, RAMP_ANGLE, rampIn, retract, reversedPath } from "./common.ts";
import { type ThinTolerance, thinPath } from "./thin.ts";

/*
 * Along a closed polygon (the way of the cutter's centre, offset already) down to a depth.
 *
 *   zTop    \                            one continuous ramp, `depth` per lap,
 *             `-.___                      then one level lap at zBottom
 *                    `-.___
 *   zBottom ________________ __/tab\__   over a tab the cutter rises by ramps
 *
 * Climb milling with a spindle that turns clockwise (M3) has the kept wood on the right of the travel: clockwise round a
 * part, counter-clockwise inside a hole.
 */
export interface Tab {
  /** Its middle: length along the ring from vertex 0, or the place on the ring nearest to a point. */
  readonly at: { readonly s: Mm } | { readonly x: Mm; readonly y: Mm };
  /** Least width of wood that stays, along the ring. */
  readonly width: Mm;
  /** Height of its top, z. */
  readonly zTop: Mm;
}

export interface ContourOptions extends Motion {
  readonly cutterDiameter: Mm;
  /** Wood at its highest along the ring. */
  readonly zTop: Mm;
  readonly zBottom: Mm;
  /** Most depth per lap. */
  readonly depth: Mm;
  /** Which side of the ring is kept; decides the direction of travel. */
  readonly keep: "inside" | "outside";
  readonly milling?: "climb" | "conventional";
  readonly rampAngle?: Rad;
  readonly tabs?: readonly Tab[];
  /** Slope of the rise to a tab and down from it; default 15 degrees. */
  readonly tabAngle?: Rad;
  /** Nowhere lower than this at a place of the ring, where the wood ends higher than zBottom; default: zBottom all round. */
  readonly least?: (x: Mm, y: Mm) => Mm;
  /** Leaves this much above zBottom everywhere; default 0. */
  readonly skin?: Mm;
  /** Where the lap begins; default: the middle of the longest straight. */
  readonly startAt?: { readonly x: Mm; readonly y: Mm };
  /** The last lap goes on past its start by this, rising slightly, so that no mark stays; default 2 mm. */
  readonly overlap?: Mm;
  /** Quarter-circle lead in and out on the waste side, for cuts of one level; used only where `room` says all its places are free to cut. */
  readonly lead?: { readonly radius: Mm; readonly room: (x: Mm, y: Mm) => boolean };
  readonly thin?: ThinTolerance;
}

/** Middle of the longest straight of a ring, runs of collinear edges counted as one; ties go to the lower x, then y. */
export function longestStraight(ring: Polygon): { x: Mm; y: Mm } {
  const n = ring.length / 2;
  const X = (k: number): number => ring[2 * (k % n)];
  const Y = (k: number): number => ring[2 * (k % n) + 1];
  // begin at a corner, so that no run is cut in two
  let first = 0;
  const turns = (k: number): boolean => {
    const ax = X(k) - X(k + n - 1);
    const ay = Y(k) - Y(k + n - 1);
    const bx = X(k + 1) - X(k);
    const by = Y(k + 1) - Y(k);
    return Math.abs(Math.atan2(ax * by - ay * bx, ax * bx + ay * by)) > 1e-4;
  };
  while (first < n && !turns(first)) first++;
  if (first === n) first = 0;
  let best = { x: X(0), y: Y(0), L: -1 };
  for (let k = first; k < first + n; ) {
    let m = k + 1;
    let L = Math.hypot(X(m) - X(k), Y(m) - Y(k));
    while (m < first + n && !turns(m)) {
      L += Math.hypot(X(m + 1) - X(m), Y(m + 1) - Y(m));
      m++;
    }
    const x = (X(k) + X(m)) / 2;
    const y = (Y(k) + Y(m)) / 2;
    if (L > best.L + 1e-6 || (L > best.L - 1e-6 && (x < best.x - 1e-6 || (x < best.x + 1e-6 && y < best.y))))
      best = { x, y, L: Math.max(L, best.L) };
    k = m;
  }
  return { x: best.x, y: best.y };
}

export interface Span {
  /** Centre and half length of the tab's flat top for the cutter's centre, by length along the ring. */
  readonly s: Mm;
  readonly half: Mm;
  readonly z: Mm;
}

/** The cutter's centre must keep a tab's width and one radius on each side apart, measured straight (never less on a bend). */
export function tabSpan(ring: Polygon, total: Mm, tab: Tab, radius: Mm): Span {
  const s = "s" in tab.at ? tab.at.s : closestOnPolygon(ring, tab.at.x, tab.at.y).s;
  const want = tab.width + 2 * radius;
  let half = want / 2;
  for (let k = 0; k < 200; k++) {
    if (half >= total / 2) throw new RangeError(`a tab ${tab.width} mm wide does not fit on a ring of ${total} mm`);
    const a = pointAlongPolygon(ring, s - half);
    const e = pointAlongPolygon(ring, s + half);
    const apart = Math.hypot(a.x - e.x, a.y - e.y);
    if (apart >= want - 1e-9) break;
    half += Math.max(0.01, (want - apart) / 2);
  }
  return { s, half, z: tab.zTop };
}

/** Least height of the cutter over the tabs at length s along a ring of length `total`. */
export function overTabs(spans: readonly Span[], s: Mm, total: Mm, slope: number): Mm {
  let z = -Infinity;
  for (const t of spans) {
    let d = Math.abs((((s - t.s) % total) + total) % total);
    if (d > total / 2) d = total - d;
    z = Math.max(z, d <= t.half ? t.z : t.z - (d - t.half) * slope);
  }
  return z;
}

/** Cuts along a closed ring. Throws a RangeError for a ring or options that make no path. */
export function contour(b: MoveBuilder, ring: Polygon, o: ContourOptions): void {
  checkMotion(o);
  above0("depth", o.depth);
  const { milling = "climb", rampAngle = RAMP_ANGLE, tabs = [], tabAngle = (15 * Math.PI) / 180, skin = 0, overlap = 2 } = o;
  if (ring.length < 6 || !ring.every(Number.isFinite))
    throw new RangeError("a contour needs a ring of three points or more, all of them numbers");
  const zBottom = o.zBottom + skin;
  if (!(zBottom < o.zTop)) throw new RangeError(`a contour from z ${o.zTop} to ${zBottom} has no depth`);
  const total = polygonLength(ring);
  if (!(total > 0)) throw new RangeError("a contour's ring has no length");
  // tabs are placed on the ring as it was given
  const spansGiven = tabs.map((t) => tabSpan(ring, total, t, o.cutterDiameter / 2));
  const clockwise = (o.keep === "inside") === (milling === "climb");
  const turned = isCounterClockwise(ring) === clockwise ? reversedPolygon(ring) : ring;
  const startPlace = o.startAt ?? longestStraight(ring);
  const place = closestOnPolygon(turned, startPlace.x, startPlace.y);
  const way = startingAt(turned, place);
  const spans = spansGiven.map((t) => {
    const mid = pointAlongPolygon(ring, t.s);
    return { ...t, s: closestOnPolygon(way, mid.x, mid.y).s };
  });
  const slope = Math.tan(tabAngle);
  const n = way.length / 2;
  const at = new Float64Array(n + 1);
  for (let k = 1; k <= n; k++)
    at[k] = at[k - 1] + Math.hypot(way[(2 * k) % way.length] - way[2 * k - 2], way[(2 * k + 1) % way.length] - way[2 * k - 1]);
  // every place along the ring where the height over the tabs has a corner
  const corners: number[] = [];
  for (const t of spans)
    for (const s of [t.s - t.half - (t.z - zBottom) / slope, t.s - t.half, t.s + t.half, t.s + t.half + (t.z - zBottom) / slope])
      corners.push(((s % total) + total) % total);
  const stations = [...at, ...corners].sort((x, y) => x - y).filter((s, k, all) => k === 0 || s - all[k - 1] > 1e-9);
  const thin = o.thin ?? { vertical: 0.0005, lateral: 0.0002 };

  const drop = Math.min(o.depth, total * Math.tan(rampAngle));
  const laps = Math.ceil((o.zTop - zBottom) / drop - 1e-9);
  const perLap = (o.zTop - zBottom) / laps;
  const rampFeed = perLap / total > 0.02 ? o.ramp : o.feed;
  const path: number[] = [];
  const point = (s: Mm, z: Mm): void => {
    let k = 0;
    while (k < n - 1 && at[k + 1] <= s) k++;
    const t = at[k + 1] > at[k] ? (s - at[k]) / (at[k + 1] - at[k]) : 0;
    const m = (k + 1) % n;
    const x = way[2 * k] + t * (way[2 * m] - way[2 * k]);
    const y = way[2 * k + 1] + t * (way[2 * m + 1] - way[2 * k + 1]);
    path.push(x, y, Math.max(z, overTabs(spans, s, total, slope), o.least?.(x, y) ?? Number.NEGATIVE_INFINITY));
  };
  const lap = (zFrom: Mm, zTo: Mm, upTo = total): void => {
    // where the ramp meets the flank of a tab lies between stations: sample ramps over tabs finely
    for (let k = 0; k < stations.length; k++) {
      if (stations[k] > upTo) break;
      const next = Math.min(upTo, k + 1 < stations.length ? stations[k + 1] : total);
      const over = o.least !== undefined || (spans.length > 0 && zTo < Math.max(...spans.map((t) => t.z)));
      const fine = over ? Math.max(1, Math.ceil((next - stations[k]) / 0.5)) : 1;
      for (let i = 0; i < fine; i++) {
        const s = stations[k] + ((next - stations[k]) * i) / fine;
        point(s, zFrom + ((zTo - zFrom) * s) / total);
      }
    }
  };
  const single = o.zTop - zBottom <= o.depth + 1e-9;
  const lead = single && o.lead !== undefined ? leadAt(way, o.lead, clockwise, o.keep) : null;
  retract(b, o);
  if (lead !== null) {
    // one level: ramp down over the arc's start is air or waste; go down along the arc
    const zStart = Math.max(zBottom, overTabs(spans, 0, total, slope));
    const arcLength = (Math.PI / 2) * lead.radius;
    if (arcLength * Math.tan(rampAngle) >= o.zTop - zStart) {
      goAbove(b, lead.inX, lead.inY, o, o.zTop);
      b.arcTo(way[0], way[1], zStart, lead.cx, lead.cy, zStart, lead.sweep, o.ramp);
    } else {
      goAbove(b, way[0], way[1], o, o.zTop);
      lap(o.zTop, zBottom);
      follow(b, thinPath(Float64Array.from(path), thin), rampFeed);
      path.length = 0;
    }
    lap(zBottom, zBottom);
    point(0, zBottom);
    follow(b, thinPath(Float64Array.from(path), thin), o.feed);
    b.arcTo(lead.outX, lead.outY, b.pz, lead.cx, lead.cy, b.pz, lead.sweep, o.feed);
    retract(b, o);
    return;
  }
  goAbove(b, way[0], way[1], o, o.zTop);
  for (let k = 0; k < laps; k++) lap(o.zTop - perLap * k, k === laps - 1 ? zBottom : o.zTop - perLap * (k + 1));
  point(0, zBottom);
  follow(b, thinPath(Float64Array.from(path), thin), rampFeed);
  path.length = 0;
  lap(zBottom, zBottom);
  point(0, zBottom);
  follow(b, thinPath(Float64Array.from(path), thin), o.feed);
  path.length = 0;
  const past = Math.min(overlap, total / 4);
  if (past > 0) {
    lap(zBottom, zBottom, past);
    point(past, zBottom);
    const tail = thinPath(Float64Array.from(path), thin);
    let s = 0;
    for (let k = 0; k < tail.length; k += 3) {
      if (k > 0) s += Math.hypot(tail[k] - tail[k - 3], tail[k + 1] - tail[k - 2]);
      tail[k + 2] += Math.min(0.1, 0.05 * s);
    }
    follow(b, tail, o.feed, 1);
  }
  retract(b, o);
}

interface Lead {
  readonly inX: Mm;
  readonly inY: Mm;
  readonly outX: Mm;
  readonly outY: Mm;
  readonly cx: Mm;
  readonly cy: Mm;
  readonly sweep: Rad;
  readonly radius: Mm;
}

/** Tangent quarter circles on the waste side of the start, or null where there is no room for them. */
function leadAt(
  way: Polygon,
  lead: { radius: Mm; room: (x: Mm, y: Mm) => boolean },
  clockwise: boolean,
  keep: "inside" | "outside",
): Lead | null {
  const n = way.length;
  // tangent from the chord over both neighbours: the start lies on a straight when one was found
  const tx = way[2] - way[n - 2];
  const ty = way[3] - way[n - 1];
  const L = Math.hypot(tx, ty);
  if (!(L > 0) || !(lead.radius > 0)) return null;
  // the waste side is the left of the travel when the ring runs clockwise round what is kept (or counter-clockwise inside)
  const left = clockwise === (keep === "inside") ? 1 : -1;
  const nx = (-ty / L) * left;
  const ny = (tx / L) * left;
  const r = lead.radius;
  const cx = way[0] + nx * r;
  const cy = way[1] + ny * r;
  const inX = cx - (tx / L) * r;
  const inY = cy - (ty / L) * r;
  const outX = cx + (tx / L) * r;
  const outY = cy + (ty / L) * r;
  for (let k = 0; k <= 16; k++) {
    const a = (Math.PI / 2) * (k / 8 - 1);
    // from the lead-in's start over the ring to the lead-out's end
    const x = cx + r * (Math.sin(a) * (tx / L) - Math.cos(a) * nx);
    const y = cy + r * (Math.sin(a) * (ty / L) - Math.cos(a) * ny);
    if (!lead.room(x, y)) return null;
  }
  return { inX, inY, outX, outY, cx, cy, sweep: (left * Math.PI) / 2, radius: r };
}

export interface OpenContourOptions extends Motion {
  readonly zTop: Mm;
  readonly zBottom: Mm;
  readonly depth: Mm;
  /** outside: both ends lie in the air, straight down there; ramp: along the line (default). */
  readonly entry?: "outside" | "ramp";
  /** alternate: every other pass backward (default); one-way: all as given, so that all climb. */
  readonly passes?: "alternate" | "one-way";
  readonly rampAngle?: Rad;
}

/** Cuts along an open polyline (x, y pairs) in level passes. */
export function openContour(b: MoveBuilder, line: Float64Array, o: OpenContourOptions): void {
  checkMotion(o);
  above0("depth", o.depth);
  const { entry = "ramp", passes = "alternate", rampAngle = RAMP_ANGLE } = o;
  if (line.length < 4 || !line.every(Number.isFinite))
    throw new RangeError("an open contour needs two points or more, all of them numbers");
  if (!(o.zBottom < o.zTop)) throw new RangeError(`a contour from z ${o.zTop} to ${o.zBottom} has no depth`);
  const levels = Math.max(1, Math.ceil((o.zTop - o.zBottom) / o.depth - 1e-9));
  const bite = (o.zTop - o.zBottom) / levels;
  retract(b, o);
  for (let k = 1; k <= levels; k++) {
    const z = k === levels ? o.zBottom : o.zTop - bite * k;
    const flat = new Float64Array((line.length / 2) * 3);
    for (let i = 0; i < line.length / 2; i++) {
      flat[3 * i] = line[2 * i];
      flat[3 * i + 1] = line[2 * i + 1];
      flat[3 * i + 2] = z;
    }
    const p = passes === "alternate" && k % 2 === 0 ? reversedPath(flat) : flat;
    const here = passes === "alternate" && k > 1;
    if (entry === "ramp") rampIn(b, p, bite, o, rampAngle, here);
    else {
      if (!here) goAbove(b, p[0], p[1], o);
      b.lineTo(p[0], p[1], p[2], o.plunge);
    }
    follow(b, p, o.feed, 1);
  }
  retract(b, o);
}
