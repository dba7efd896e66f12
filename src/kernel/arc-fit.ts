import { MoveBuilder, MoveKind, type MoveList } from "./moves.ts";

/*
 * Runs of straight feed moves become longer straights and arcs, helical ones included. From each point the piece that reaches
 * farthest is taken: a straight, or an arc in the XY, ZX or YZ plane whose third axis moves linearly.
 *
 *      .--o--.--o--.            the ends of a piece are points of the run; in between every point of the run, and every
 *    o'   tol      'o           place of the chords between them, lies within the tolerance of the piece, and every place
 *                               of the piece within the tolerance of the chords
 *
 * All arcs through two points form a family of one parameter, and each point between narrows it to an interval (the idea of
 * Drysdale, Rote and Sturm 2008, "Approximation of an open polygonal curve with a minimum number of circular arcs and
 * biarcs"); the middle of what is left is then checked place by place. Pieces never cross a change of feed, a corner, a rapid,
 * a dwell or an arc that is there already.
 */
export interface ArcFit {
  /** Largest distance between what was there and what replaces it, both ways, mm. */
  readonly tolerance: number;
  /** Arcs of a larger radius stay straight moves; default 900 mm. */
  readonly largestRadius?: number;
  /** Arcs whose ends are nearer than this stay straight moves; default 0.05 mm. */
  readonly shortestChord?: number;
  /** A turn between two moves above this is a corner and stays one; default 10 degrees, in radians. */
  readonly corner?: number;
  /** Planes in which arcs are made, as in the move list; default all three. */
  readonly planes?: readonly number[];
  /** Whether points that no arc takes may be left out where they lie on a straight; default true. */
  readonly straights?: boolean;
}

/** An arc turns by less than half a turn, so that its ends tell its centre's side. */
const MOST_SWEEP = 3.05;
/** An arc replaces at least this many straight moves: one through three points always fits and says nothing. */
const LEAST_MOVES = 3;

type Axes = readonly [u: Float64Array, v: Float64Array, w: Float64Array];

interface FoundArc {
  readonly end: number;
  readonly plane: number;
  readonly cu: number;
  readonly cv: number;
  readonly sweep: number;
}

/** The same motion with fewer moves. Throws a RangeError for a tolerance that is not above zero. */
export function fitArcs(moves: MoveList, fit: ArcFit): MoveList {
  const { tolerance, corner = Math.PI / 18, planes = [0, 1, 2] } = fit;
  if (!(tolerance > 0 && tolerance < 1)) throw new RangeError(`an arc's tolerance must be above 0 and below 1 mm, not ${tolerance}`);
  const { kind, x, y, z, feed, count } = moves;
  const b = new MoveBuilder(moves.start, Math.max(16, count));
  const cosCorner = Math.cos(corner);
  let k = 0;
  while (k < count) {
    if (kind[k] !== MoveKind.line) {
      copyMove(b, moves, k++);
      continue;
    }
    let end = k + 1;
    while (end < count && kind[end] === MoveKind.line && feed[end] === feed[k] && !isCorner(moves, end, cosCorner)) end++;
    if (end - k < 2) copyMove(b, moves, k);
    else {
      const n = end - k + 1;
      const run = [x, y, z].map((a, axis) => {
        const p = new Float64Array(n);
        p[0] = k > 0 ? a[k - 1] : moves.start[axis];
        p.set(a.subarray(k, end), 1);
        return p;
      }) as [Float64Array, Float64Array, Float64Array];
      fitRun(b, run, moves, k, fit, planes);
    }
    k = end;
  }
  return b.list();
}

function copyMove(b: MoveBuilder, m: MoveList, k: number): void {
  b.cut = m.cut[k];
  b.line = m.line[k];
  const kind = m.kind[k];
  if (kind === MoveKind.rapid) b.rapid(m.x[k], m.y[k], m.z[k]);
  else if (kind === MoveKind.line) b.lineTo(m.x[k], m.y[k], m.z[k], m.feed[k]);
  else if (kind === MoveKind.dwell) b.dwell(m.feed[k]);
  else b.arcTo(m.x[k], m.y[k], m.z[k], m.cx[k], m.cy[k], m.cz[k], m.sweep[k], m.feed[k], m.plane[k]);
}

/** Whether the way turns by more than the corner's angle between move k - 1 and move k. */
function isCorner(m: MoveList, k: number, cosCorner: number): boolean {
  const { x, y, z, start } = m;
  const ax = x[k - 1] - (k > 1 ? x[k - 2] : start[0]);
  const ay = y[k - 1] - (k > 1 ? y[k - 2] : start[1]);
  const az = z[k - 1] - (k > 1 ? z[k - 2] : start[2]);
  const bx = x[k] - x[k - 1];
  const by = y[k] - y[k - 1];
  const bz = z[k] - z[k - 1];
  const q = Math.sqrt((ax * ax + ay * ay + az * az) * (bx * bx + by * by + bz * bz));
  return q > 0 && ax * bx + ay * by + az * bz < cosCorner * q;
}

/** One run: points 0..n-1, moves first.. of the list between them. */
function fitRun(b: MoveBuilder, run: Axes, m: MoveList, first: number, fit: ArcFit, planes: readonly number[]): void {
  const [x, y, z] = run;
  const n = x.length;
  const f = m.feed[first];
  const inPlane: readonly (readonly [number, Axes])[] = planes.map((p) => [p, p === 0 ? [x, y, z] : p === 1 ? [z, x, y] : [y, z, x]]);
  let i = 0;
  while (i < n - 1) {
    const straight = reach(i, n - 1, 1, (j) => (isStraight(run, i, j, fit.tolerance) ? j : null)) ?? i + 1;
    let best: FoundArc | null = null;
    for (const [plane, axes] of inPlane) {
      const found = reach(i, n - 1, LEAST_MOVES, (j) => arcThrough(axes, plane, i, j, fit));
      if (found !== null && found.end > (best?.end ?? straight)) best = found;
    }
    const end: number = best?.end ?? (fit.straights === false ? i + 1 : straight);
    b.cut = m.cut[first + end - 1];
    b.line = m.line[first + end - 1];
    if (best === null) b.lineTo(x[end], y[end], z[end], f);
    else {
      const { plane, cu, cv, sweep } = best;
      const w = plane === 0 ? z[i] : plane === 1 ? y[i] : x[i];
      const [cx, cy, cz] = plane === 0 ? [cu, cv, w] : plane === 1 ? [cv, w, cu] : [w, cu, cv];
      b.arcTo(x[end], y[end], z[end], cx, cy, cz, sweep, f, plane);
    }
    i = end;
  }
}

/** What `tryEnd` gives for the farthest end found: steps doubled while they hold, then halved between the last two. */
function reach<T>(i: number, last: number, least: number, tryEnd: (j: number) => T | null): T | null {
  let best: T | null = null;
  let good = i;
  let step = least;
  let bad = last + 1;
  while (good < last) {
    const j = Math.min(last, i + step);
    if (j === good) break;
    const found = tryEnd(j);
    if (found === null) {
      bad = j;
      break;
    }
    best = found;
    good = j;
    step *= 2;
  }
  if (best === null) return null;
  while (bad - good > 1) {
    const j = (good + bad) >> 1;
    const found = tryEnd(j);
    if (found === null) bad = j;
    else {
      best = found;
      good = j;
    }
  }
  return best;
}

/** Whether points i..j lie within the tolerance of the straight from i to j, in order along it. */
function isStraight([x, y, z]: Axes, i: number, j: number, tolerance: number): boolean {
  const dx = x[j] - x[i];
  const dy = y[j] - y[i];
  const dz = z[j] - z[i];
  const q = dx * dx + dy * dy + dz * dz;
  if (j === i + 1) return true;
  if (!(q > 0)) return false;
  let last = 0;
  for (let k = i + 1; k < j; k++) {
    const px = x[k] - x[i];
    const py = y[k] - y[i];
    const pz = z[k] - z[i];
    const t = (px * dx + py * dy + pz * dz) / q;
    if (!(t > last && t < 1)) return false;
    last = t;
    if (Math.hypot(px - t * dx, py - t * dy, pz - t * dz) > tolerance) return false;
  }
  return true;
}

/** The arc from point i to point j that keeps within the tolerance of the run between them, or null. */
function arcThrough(axes: Axes, plane: number, i: number, j: number, fit: ArcFit): FoundArc | null {
  const [u, v] = axes;
  const { tolerance, largestRadius = 900, shortestChord = 0.05 } = fit;
  const du = u[j] - u[i];
  const dv = v[j] - v[i];
  const chord = Math.hypot(du, dv);
  if (chord < shortestChord) return null;
  const h = chord / 2;
  const eu = du / chord;
  const ev = dv / chord;
  const mu = (u[i] + u[j]) / 2;
  const mv = (v[i] + v[j]) / 2;
  // family of arcs through both ends: centre at (0, -1/p) in the chord's frame; p grows as the arc bulges to the left
  const bulge = (a: number, b: number): number => {
    const d = h * h - a * a - b * b;
    return d > 0 ? (2 * b) / d : b > 0 ? Number.POSITIVE_INFINITY : Number.NEGATIVE_INFINITY;
  };
  let middle = i + 1;
  let nearest = Number.POSITIVE_INFINITY;
  for (let k = i + 1; k < j; k++) {
    const a = Math.abs((u[k] - mu) * eu + (v[k] - mv) * ev);
    if (a >= h) return null;
    if (a < nearest) {
      nearest = a;
      middle = k;
    }
  }
  const local = (k: number): readonly [number, number] => [(u[k] - mu) * eu + (v[k] - mv) * ev, (v[k] - mv) * eu - (u[k] - mu) * ev];
  let p = bulge(...local(middle));
  const near = tolerance * tolerance;
  for (let round = 0; round < 2; round++) {
    if (!(Math.abs(p) < 1 / (0.04 * h))) return null;
    let low = Number.NEGATIVE_INFINITY;
    let high = Number.POSITIVE_INFINITY;
    const t = -1 / p;
    for (let k = i + 1; k < j; k++) {
      const [a, b] = local(k);
      if ((a - h) * (a - h) + b * b < near || (a + h) * (a + h) + b * b < near) continue;
      // outward normal of the arc as it is thought to be, turned to the left of the chord
      let na = 0;
      let nb = 1;
      if (Number.isFinite(t)) {
        const r = Math.hypot(a, b - t);
        const side = b - t < 0 ? -1 : 1;
        na = (side * a) / r;
        nb = (side * (b - t)) / r;
      }
      low = Math.max(low, bulge(a - tolerance * na, b - tolerance * nb));
      high = Math.min(high, bulge(a + tolerance * na, b + tolerance * nb));
      if (low > high) return null;
    }
    const mid = (low + high) / 2;
    if (Number.isFinite(mid)) p = mid;
  }
  if (p === 0) return null;
  const t = -1 / p;
  const radius = Math.hypot(h, t);
  if (!(radius <= largestRadius)) return null;
  const half = Math.atan2(h, Math.abs(t));
  const sweep = (p > 0 ? -1 : 1) * 2 * half;
  if (Math.abs(sweep) > MOST_SWEEP) return null;
  const cu = mu - t * ev;
  const cv = mv + t * eu;
  return keeps(axes, i, j, cu, cv, radius, sweep, tolerance) ? { end: j, plane, cu, cv, sweep } : null;
}

/**
 * The check of an arc, place by place. A place of the run and the place of the arc at the same angle about the centre belong
 * together; as the angle only grows, both curves are met whole, and the largest distance between such pairs bounds the
 * Hausdorff distance both ways. On a chord the radius is least at the foot of the centre's perpendicular and largest at an end;
 * the third axis runs evenly along the chord but with the angle along the arc, which differ by at most `evenness`.
 */
function keeps([u, v, w]: Axes, i: number, j: number, cu: number, cv: number, radius: number, sweep: number, tolerance: number): boolean {
  const turn = sweep < 0 ? -1 : 1;
  const rise = (w[j] - w[i]) / sweep;
  let pu = u[i] - cu;
  let pv = v[i] - cv;
  let pw = w[i];
  let angle = 0;
  let offBefore = 0;
  let riseBefore = 0;
  for (let k = i + 1; k <= j; k++) {
    const qu = u[k] - cu;
    const qv = v[k] - cv;
    const cross = pu * qv - pv * qu;
    const step = Math.atan2(cross, pu * qu + pv * qv);
    if (!(step * turn > 0)) return false;
    angle += step;
    const off = Math.hypot(qu, qv) - radius;
    const lift = w[k] - (w[i] + rise * angle);
    const length = Math.hypot(qu - pu, qv - pv);
    // distance of the chord from the centre, where the foot lies within it
    const foot = Math.abs(cross) / length - radius;
    const along = -(pu * (qu - pu) + pv * (qv - pv)) / length;
    const inside = along > 0 && along < length;
    const sideways = Math.max(Math.abs(off), Math.abs(offBefore), inside ? Math.abs(foot) : 0);
    const up = Math.max(Math.abs(lift), Math.abs(riseBefore)) + Math.abs(w[k] - pw) * evenness(Math.abs(step) / 2);
    if (Math.hypot(sideways, up) > tolerance) return false;
    pu = qu;
    pv = qv;
    pw = w[k];
    offBefore = off;
    riseBefore = lift;
  }
  return Math.abs(angle - sweep) < 1e-6;
}

/** Largest difference, as a share of the chord, between the share of a chord passed and the share of its angle passed; `half` its half angle. */
function evenness(half: number): number {
  // tan(a) / tan(half) against a / half on 0..half: largest where the slopes agree, cos(a)^2 = half / tan(half)
  if (half < 1e-4) return half * half * 0.07;
  const a = Math.acos(Math.sqrt(half / Math.tan(half)));
  return 0.5 * Math.abs(Math.tan(a) / Math.tan(half) - a / half);
}
