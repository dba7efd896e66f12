import { sectionY, sectionZ } from "../../neck/carve.ts";
import type { Neck } from "../../neck/types.ts";
import type { Mm, Rad } from "../../units/index.ts";

/**
 * Rows of a round-nosed cutter of radius R along the back. Instead of letting the cutter down on samples, the row's contact
 * points lie on the exact surface and the centre stands off along the exact normal:
 *
 *     centre = P(x, u) + R n,    tip = centre - R k
 *
 * A row is one share u (0..1) of the section's arc length at every x, so rows are evenly spaced along the section, steep
 * sides included, and the cusp is the same everywhere. Where the surface curves inward less tightly than R (checked by the
 * caller) no other part of the cutter touches. Points are placed along x by halving until the middle of every step lies
 * within `tolerance` of the true path.
 */
export interface ContactRow {
  /** Tip positions in the neck frame seen from the back: x, y, and height h = -z (up is away from the face). */
  readonly points: Float64Array;
}

type Contact = readonly [x: Mm, y: Mm, h: Mm];

/** Samples of the section's arc per x-station; enough that interpolation along the arc errs far less than a row's spacing. */
const SAMPLES = 192;

export interface BackRows {
  /** Longest arc of any section in the range. */
  readonly arc: Mm;
  /** Tightest outward curve of the carved sections (flats and their transitions left out). */
  readonly tightest: Mm;
  /** The row at share u of the arc, over x = a..b within the range. */
  row(u: number, a: Mm, b: Mm): Float64Array;
  /** The row across the neck at x, over shares u = a..b of the arc. */
  across(x: Mm, a: number, b: number): Float64Array;
  /** Where the tip stands when the cutter touches the surface at x and share u. */
  at(x: Mm, u: number): readonly [x: Mm, y: Mm, h: Mm];
  /** Angle of the surface to the horizontal at x and share u. */
  slope(x: Mm, u: number): Rad;
}

/** The rounded part of a section lower than this belongs to the flat beside it: leaning rows end there, mm. */
const LEAST_ROUND: Mm = 0.03;

/** Deepest halving of a row's steps; less where the locus of a height map comes in, whose last micrometre is not smooth. */
const HALVINGS = 12;
const HALVINGS_MAP = 6;

/**
 * Rows from x = `from` to x = `to`; the tip's path stays within `tolerance` of the exact one. `lowest` says how low the tip may go
 * at a place, where the cutter cannot touch the surface everywhere: rows keep above it.
 */
export function backRows(neck: Neck, radius: Mm, from: Mm, to: Mm, tolerance: Mm, lowest: ((x: Mm, y: Mm) => Mm) | null = null): BackRows {
  let arc = 0;
  for (let k = 0; k <= 40; k++) {
    const t = arcTable(neck, from + ((to - from) * k) / 40);
    arc = Math.max(arc, t[t.length - 1]);
  }
  // neighbouring rows ask for the same stations, so their tables are kept
  const tables = new Map<Mm, Float64Array>();
  const tableAt = (x: Mm): Float64Array => {
    let t = tables.get(x);
    if (!t) {
      t = arcTable(neck, x);
      tables.set(x, t);
    }
    return t;
  };
  const round = (x: Mm): Mm => {
    const s = neck.section(x);
    return (1 - s.blend) * s.depth;
  };
  const xLow = round(from) < LEAST_ROUND ? bisect((x) => round(x) - LEAST_ROUND, from, neck.places.carveStart) : from;
  const xHigh = round(to) < LEAST_ROUND ? bisect((x) => round(x) - LEAST_ROUND, to, neck.places.carveEnd) : to;
  const leans = (x: Mm, u: number): boolean => {
    const [y, z] = pointAt(neck, tableAt(x), x, u);
    return neck.backNormal(x, y, z)[2] > -0.87;
  };
  const at = (x: Mm, u: number): Contact => {
    const [y, z] = pointAt(neck, tableAt(x), x, u);
    const [nx, ny, nz] = neck.backNormal(x, y, z);
    return [x + radius * nx, y + radius * ny, -z - radius * nz - radius];
  };
  const kept =
    lowest === null
      ? at
      : (x: Mm, u: number): Contact => {
          const [cx, cy, h] = at(x, u);
          return [cx, cy, Math.max(h, lowest(cx, cy))];
        };
  const halvings = lowest === null ? HALVINGS : HALVINGS_MAP;
  return {
    arc,
    tightest: tightestCurve(neck),
    at,
    slope(x, u) {
      const [y, z] = pointAt(neck, tableAt(x), x, u);
      return Math.acos(Math.min(1, -neck.backNormal(x, y, z)[2]));
    },
    row(u, first, last) {
      const a = leans(xLow, u) ? Math.max(first, xLow) : first;
      const b = leans(xHigh, u) ? Math.min(last, xHigh) : last;
      return walkRow((x) => kept(x, u), a, b, tolerance, 8, halvings);
    },
    across: (x, a, b) => walkRow((u) => kept(x, u), a, b, tolerance, 8 / arc, halvings),
  };
}

/** Smallest radius of the circles through three neighbouring points of the carved sections' arcs. */
function tightestCurve(neck: Neck): Mm {
  const { carveStart, carveEnd } = neck.places;
  let best = Number.POSITIVE_INFINITY;
  for (let k = 0; k <= 8; k++) {
    const x = carveStart + ((carveEnd - carveStart) * k) / 8;
    const [lo, hi] = neck.boardEdges(x);
    // by angle, away from the very edges where samples crowd
    const pts = Array.from({ length: 65 }, (_, i) => {
      const y = (lo + hi) / 2 + ((hi - lo) / 2) * Math.sin(-1.45 + (2.9 * i) / 64);
      return [y, neck.back(x, y)] as const;
    });
    for (let i = 1; i < 64; i++) best = Math.min(best, circleRadius(pts[i - 1], pts[i], pts[i + 1]));
  }
  return best;
}

function circleRadius(a: readonly [Mm, Mm], b: readonly [Mm, Mm], c: readonly [Mm, Mm]): Mm {
  const area2 = Math.abs((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]));
  const sides = Math.hypot(b[0] - a[0], b[1] - a[1]) * Math.hypot(c[0] - b[0], c[1] - b[1]) * Math.hypot(c[0] - a[0], c[1] - a[1]);
  return area2 < 1e-9 ? Number.POSITIVE_INFINITY : sides / (2 * area2);
}

/** Where f crosses zero between a (f < 0) and b (f >= 0). */
function bisect(f: (x: number) => number, a: number, b: number): number {
  let lo = a;
  let hi = b;
  for (let k = 0; k < 50; k++) {
    const m = (lo + hi) / 2;
    if (f(m) < 0) lo = m;
    else hi = m;
  }
  return hi;
}

/**
 * Rows along the board, the same way: contact at share u (-1..1, a little beyond at the edges) of the half width, by a cutter whose
 * corner has the radius `corner`: all of it (a ball), part of it (a bull), none (flat). Points in the neck frame, heights h = z.
 * The middle of the corner stands off along the normal, the axis on from there downhill:
 *
 *     tip = P + corner n + (radius - corner) d - corner k,    d: where n points, seen from above
 *
 * Cutter and board are both convex, so the plane they share keeps all the rest apart.
 */
export function boardRow(neck: Neck, radius: Mm, u: number, from: Mm, to: Mm, tolerance: Mm, corner: Mm = radius): ContactRow {
  const at = (x: Mm): Contact => {
    const [lo, hi] = neck.boardEdges(x);
    const y = (lo + hi) / 2 + (u * (hi - lo)) / 2;
    const z = neck.boardTop(x, y);
    const e = 1e-3;
    const gx = (neck.boardTop(x + e, y) - neck.boardTop(x - e, y)) / (2 * e);
    const gy = (neck.boardTop(x, y + e) - neck.boardTop(x, y - e)) / (2 * e);
    const n = Math.hypot(gx, gy, 1);
    const h = Math.hypot(gx, gy);
    const flat = radius - corner;
    // on the crown every direction is as good: the side the row belongs to
    const [dx, dy] = flat === 0 ? [0, 0] : h > 1e-7 ? [-gx / h, -gy / h] : [0, u < 0 || Object.is(u, -0) ? -1 : 1];
    return [x - (corner * gx) / n + flat * dx, y - (corner * gy) / n + flat * dy, z + corner / n - corner];
  };
  return { points: walkRow(at, from, to, tolerance) };
}

/** Points of a path over a parameter, halved until the middle of every step lies within the tolerance of the path; steps of `most` at most. */
function walkRow(at: (t: number) => Contact, from: number, to: number, tolerance: Mm, most = 8, halvings = HALVINGS): Float64Array {
  const out: number[] = [];
  const walk = (xa: Mm, a: Contact, xb: Mm, b: Contact, depth: number): void => {
    const xm = (xa + xb) / 2;
    const m = at(xm);
    const dx = b[0] - a[0];
    const dy = b[1] - a[1];
    const dh = b[2] - a[2];
    const len2 = dx * dx + dy * dy + dh * dh;
    const t = len2 > 0 ? ((m[0] - a[0]) * dx + (m[1] - a[1]) * dy + (m[2] - a[2]) * dh) / len2 : 0;
    const off = Math.hypot(m[0] - a[0] - t * dx, m[1] - a[1] - t * dy, m[2] - a[2] - t * dh);
    if (depth > 0 && off > tolerance) {
      walk(xa, a, xm, m, depth - 1);
      out.push(m[0], m[1], m[2]);
      walk(xm, m, xb, b, depth - 1);
    }
  };
  const n = Math.max(2, Math.ceil((to - from) / most));
  let xa = from;
  let a = at(xa);
  out.push(a[0], a[1], a[2]);
  for (let k = 1; k <= n; k++) {
    const xb = from + ((to - from) * k) / n;
    const b = at(xb);
    walk(xa, a, xb, b, halvings);
    out.push(b[0], b[1], b[2]);
    xa = xb;
    a = b;
  }
  return Float64Array.from(out);
}

/**
 * Arc length of the section at x at SAMPLES + 1 places whose y = w sin(angle): close together where the side turns steep.
 * Layout: y_0, s_0, y_1, s_1, ...; the last entry is the whole length.
 */
function arcTable(neck: Neck, x: Mm): Float64Array {
  const s = neck.section(x);
  const out = new Float64Array(2 * (SAMPLES + 1));
  let length = 0;
  let py = 0;
  let pz = 0;
  for (let k = 0; k <= SAMPLES; k++) {
    const angle = -Math.PI / 2 + (Math.PI * k) / SAMPLES;
    const c = Math.sin(angle);
    const y = k === 0 ? s.yMin : k === SAMPLES ? s.yMax : c < 0 ? -c * s.yMin : c * s.yMax;
    const z = sectionZ(s, y);
    if (k > 0) length += Math.hypot(y - py, z - pz);
    out[2 * k] = y;
    out[2 * k + 1] = length;
    py = y;
    pz = z;
  }
  return out;
}

/** The exact surface point at share u of the arc: by y where the section is level, by z where it is steep. */
function pointAt(neck: Neck, table: Float64Array, x: Mm, u: number): readonly [Mm, Mm] {
  const s = neck.section(x);
  const n = table.length / 2;
  const target = u * table[table.length - 1];
  let lo = 0;
  let hi = n - 1;
  while (hi - lo > 1) {
    const m = (lo + hi) >> 1;
    if (table[2 * m + 1] <= target) lo = m;
    else hi = m;
  }
  const sa = table[2 * lo + 1];
  const sb = table[2 * hi + 1];
  const t = sb > sa ? (target - sa) / (sb - sa) : 0;
  const ya = table[2 * lo];
  const yb = table[2 * hi];
  const zAt = (y: Mm): Mm => sectionZ(s, Math.min(s.yMax, Math.max(s.yMin, y)));
  const za = zAt(ya);
  const zb = zAt(yb);
  if (Math.abs(zb - za) <= Math.abs(yb - ya) || s.blend >= 0.9999) {
    const y = ya + (yb - ya) * t;
    return [y, zAt(y)];
  }
  const z = za + (zb - za) * t;
  const side = Math.sign(ya + yb);
  return [side * sectionY(s, z, side), z];
}
