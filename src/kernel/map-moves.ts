import { MoveBuilder, MoveKind, type MoveList } from "./moves.ts";

/** Row-major 3x4: p' = M p + t; any regular M. */
export type Affine = readonly [number, number, number, number, number, number, number, number, number, number, number, number];

type Point = readonly [number, number, number];

/** How far a mapped arc may lie from what stands for it, mm. */
const TOLERANCE = 0.002;
/** More arcs than this for one: straight pieces are shorter then. */
const MOST_ARCS = 16;

export const mapPoint = (a: Affine, x: number, y: number, z: number): [number, number, number] => [
  a[0] * x + a[1] * y + a[2] * z + a[3],
  a[4] * x + a[5] * y + a[6] * z + a[7],
  a[8] * x + a[9] * y + a[10] * z + a[11],
];

/** The inverse by cofactors. Throws a RangeError when there is none. */
export function inverseAffine(a: Affine): Affine {
  const [a0, a1, a2, tx, b0, b1, b2, ty, c0, c1, c2, tz] = a;
  const det = a0 * (b1 * c2 - b2 * c1) - a1 * (b0 * c2 - b2 * c0) + a2 * (b0 * c1 - b1 * c0);
  if (!(Math.abs(det) > 1e-12)) throw new RangeError("this map has no inverse");
  const m = [
    [b1 * c2 - b2 * c1, a2 * c1 - a1 * c2, a1 * b2 - a2 * b1],
    [b2 * c0 - b0 * c2, a0 * c2 - a2 * c0, a2 * b0 - a0 * b2],
    [b0 * c1 - b1 * c0, a1 * c0 - a0 * c1, a0 * b1 - a1 * b0],
  ].map((r) => r.map((v) => v / det));
  return m.flatMap((r) => [...r, -(r[0] * tx + r[1] * ty + r[2] * tz)]) as unknown as Affine;
}

/**
 * The moves of a list through an affine map. Ends are exact. An arc stays an arc where the map keeps it round (turned, shifted,
 * scaled alike); otherwise it becomes arcs through places of its image, as many as keep within 0.002 mm of it, or straight
 * pieces where none do (an arc turned out of its plane). Feeds are the same numbers, each piece with the cut and line of its move.
 * `first`, of one number more than there are moves, is filled with where the pieces of each move begin.
 */
export function mapMoves(m: MoveList, a: Affine, first?: Uint32Array): MoveList {
  const b = new MoveBuilder(mapPoint(a, ...m.start), Math.max(16, m.count));
  let from: Point = m.start;
  for (let k = 0; k < m.count; k++) {
    if (first !== undefined) first[k] = b.count;
    b.cut = m.cut[k];
    b.line = m.line[k];
    const to: Point = [m.x[k], m.y[k], m.z[k]];
    const kind = m.kind[k];
    if (kind === MoveKind.dwell) b.dwell(m.feed[k]);
    else if (kind === MoveKind.rapid) b.rapid(...mapPoint(a, ...to));
    else if (kind === MoveKind.line) b.lineTo(...mapPoint(a, ...to), m.feed[k]);
    else mapArc(b, m, k, from, a);
    from = to;
  }
  if (first !== undefined) first[m.count] = b.count;
  return b.list();
}

/** In-plane axes and the third, of the planes XY, ZX, YZ. */
const AXES = [
  [0, 1, 2],
  [2, 0, 1],
  [1, 2, 0],
] as const;

function mapArc(b: MoveBuilder, m: MoveList, k: number, from: Point, a: Affine): void {
  const plane = m.plane[k];
  const [u, v, w] = AXES[plane];
  const c = [m.cx[k], m.cy[k], m.cz[k]];
  const to = [m.x[k], m.y[k], m.z[k]];
  const a0 = Math.atan2(from[v] - c[v], from[u] - c[u]);
  const r0 = Math.hypot(from[u] - c[u], from[v] - c[v]);
  const r1 = Math.hypot(to[u] - c[u], to[v] - c[v]);
  const sweep = m.sweep[k];
  const feed = m.feed[k];
  const end = mapPoint(a, ...(to as unknown as Point));
  /** The image of the place a share t along the arc. */
  const at = (t: number): Point => {
    if (t >= 1) return end;
    const q = [0, 0, 0];
    const r = r0 + (r1 - r0) * t;
    q[u] = c[u] + r * Math.cos(a0 + sweep * t);
    q[v] = c[v] + r * Math.sin(a0 + sweep * t);
    q[w] = from[w] + (to[w] - from[w]) * t;
    return mapPoint(a, q[0], q[1], q[2]);
  };
  const first = Math.max(1, Math.ceil(Math.abs(sweep) / 2.6));
  for (let n = 1; n <= MOST_ARCS; n = n === 1 && first > 1 ? first : n * 2) {
    const arcs = n === 1 ? wholeArc(m, k, a, at) : throughPlaces(at, n, plane);
    if (arcs === null) continue;
    for (const s of arcs) b.arcTo(...s.to, ...s.centre, s.sweep, feed, plane);
    return;
  }
  const turn = 2 * Math.acos(Math.max(0.5, 1 - TOLERANCE / 2 / Math.max(TOLERANCE, r0, r1)));
  const pieces = Math.max(1, Math.ceil(Math.abs(sweep) / turn));
  for (let i = 1; i <= pieces; i++) b.lineTo(...at(i / pieces), feed);
}

interface Sub {
  readonly to: Point;
  readonly centre: Point;
  readonly sweep: number;
}

/** The same arc with its centre mapped, where that is its image. */
function wholeArc(m: MoveList, k: number, a: Affine, at: (t: number) => Point): Sub[] | null {
  const [u, v] = AXES[m.plane[k]];
  const det = a[4 * u + u] * a[4 * v + v] - a[4 * u + v] * a[4 * v + u];
  const centre = mapPoint(a, m.cx[k], m.cy[k], m.cz[k]);
  const s: Sub = { to: at(1), centre, sweep: m.sweep[k] * Math.sign(det) };
  return fits(s, at, 0, 1, m.plane[k]) ? [s] : null;
}

/** n arcs, each through the image's places at both ends and half way; null where one leaves the image. */
function throughPlaces(at: (t: number) => Point, n: number, plane: number): Sub[] | null {
  const [u, v, w] = AXES[plane];
  const out: Sub[] = [];
  for (let i = 0; i < n; i++) {
    const [p, q, r] = [at(i / n), at((i + 0.5) / n), at((i + 1) / n)];
    const [ax, ay, bx, by] = [q[u] - p[u], q[v] - p[v], r[u] - p[u], r[v] - p[v]];
    const d = 2 * (ax * by - ay * bx);
    if (Math.abs(d) < 1e-9) return null;
    const [aa, bb] = [ax * ax + ay * ay, bx * bx + by * by];
    const centre = [0, 0, 0];
    centre[u] = p[u] + (by * aa - ay * bb) / d;
    centre[v] = p[v] + (ax * bb - bx * aa) / d;
    centre[w] = p[w];
    const angle = (s: Point): number => Math.atan2(s[v] - centre[v], s[u] - centre[u]);
    // both halves together, so that the sense is the image's own
    const sweep = wrapped(angle(q) - angle(p)) + wrapped(angle(r) - angle(q));
    const s: Sub = { to: r, centre: centre as unknown as Point, sweep };
    if (!fits(s, at, i / n, (i + 1) / n, plane)) return null;
    out.push(s);
  }
  return out;
}

const wrapped = (v: number): number => v - 2 * Math.PI * Math.round(v / (2 * Math.PI));

/** Whether the image keeps within the tolerance of an arc: radius and height, at places between. */
function fits(s: Sub, at: (t: number) => Point, t0: number, t1: number, plane: number): boolean {
  const [u, v, w] = AXES[plane];
  const from = at(t0);
  const r0 = Math.hypot(from[u] - s.centre[u], from[v] - s.centre[v]);
  const r1 = Math.hypot(s.to[u] - s.centre[u], s.to[v] - s.centre[v]);
  if (Math.abs(r1 - r0) > TOLERANCE / 2) return false;
  const a0 = Math.atan2(from[v] - s.centre[v], from[u] - s.centre[u]);
  // the sweep leads to the end too: on a large radius the angle alone tells little
  const led = [s.centre[u] + r1 * Math.cos(a0 + s.sweep), s.centre[v] + r1 * Math.sin(a0 + s.sweep)];
  if (Math.hypot(led[0] - s.to[u], led[1] - s.to[v]) > TOLERANCE) return false;
  const places = Math.max(6, Math.ceil(Math.abs(s.sweep) * 8));
  for (let i = 1; i < places; i++) {
    const t = i / places;
    const p = at(t0 + (t1 - t0) * t);
    const turned = Math.atan2(p[v] - s.centre[v], p[u] - s.centre[u]) - a0;
    // the turn that lies nearest to what this share of the arc would be
    const share = s.sweep === 0 ? 0 : (t * s.sweep + wrapped(turned - t * s.sweep)) / s.sweep;
    if (Math.abs(Math.hypot(p[u] - s.centre[u], p[v] - s.centre[v]) - (r0 + (r1 - r0) * share)) > TOLERANCE) return false;
    if (Math.abs(p[w] - from[w] - (s.to[w] - from[w]) * share) > TOLERANCE) return false;
  }
  return true;
}
