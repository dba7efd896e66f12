import { MoveBuilder, MoveKind, type MoveList } from "../kernel/moves.ts";
import type { Mm, MmPerSecond, MmPerSecond2, Rad } from "../units/index.ts";

/*
 * The feed along a path: a pass over the move list that only ever lowers feeds.
 *
 *   - where a way curves, to what the axes' acceleration lets the machine keep: v^2 <= a r (of arcs, and of runs of short lines by
 *     the circle through three points);
 *   - where more wood comes onto the cutter: in a hollow of the way, at a corner into the wood, and where the engagement was measured;
 *   - downward, so that no more than the plunge feed points straight down.
 *
 * A lowered feed stays above the least chip, and steps by whole shares of the feed, so that no place is polished and the text does not
 * change F at every line. Nothing dwells.
 */
export interface FeedOptions {
  readonly acceleration: { readonly x: MmPerSecond2; readonly y: MmPerSecond2; readonly z: MmPerSecond2 };
  /** Straight down; absent: not looked at. */
  readonly plunge?: MmPerSecond;
  /** Below this the chip is too thin: engagement lowers no feed under it. */
  readonly least?: MmPerSecond;
  readonly cutterRadius?: Mm;
  /** On which side of the way the wood stands that this pass takes a strip of; climbing cuts have it on the right. Absent: not known. */
  readonly wood?: "left" | "right";
  /** Planned engagement of the pass. */
  readonly engagement?: Rad;
  /** Measured engagement of each move, where it is known (NaN where it is not). */
  readonly along?: Float64Array;
}

/** Feeds come down by whole steps of this share. */
const STEP = 0.05;
/** Turns sharper than this are corners; below, a run of lines is a curve. */
const CORNER: Rad = Math.PI / 6;
/** Slowest feed at a corner into the wood, as a share. From memory. */
const LEAST_SHARE = 0.3;

/** The same moves with feeds lowered where the way asks for it; lines into corners are cut in two so that only their ends are slow. */
export function feedsAlong(m: MoveList, o: FeedOptions): MoveList {
  const n = m.count;
  const share = new Float64Array(n).fill(1);
  const most = new Float64Array(n).fill(Number.POSITIVE_INFINITY);
  // lines whose last piece is slow: how long, and by how much
  const slowEnd = new Float64Array(n);
  const slowShare = new Float64Array(n).fill(1);
  // speed that a curve allows where move k begins
  const joint = new Float64Array(n + 1).fill(Number.POSITIVE_INFINITY);
  const start = (k: number): readonly [Mm, Mm, Mm] => (k === 0 ? m.start : [m.x[k - 1], m.y[k - 1], m.z[k - 1]]);
  const level = Math.min(o.acceleration.x, o.acceleration.y);
  const planned = 1 - Math.cos(Math.min(o.engagement ?? Math.PI, Math.PI));

  for (let k = 0; k < n; k++) {
    const kind = m.kind[k];
    if (kind !== MoveKind.line && kind !== MoveKind.arc) continue;
    const px = k === 0 ? m.start[0] : m.x[k - 1];
    const py = k === 0 ? m.start[1] : m.y[k - 1];
    const pz = k === 0 ? m.start[2] : m.z[k - 1];
    const length = lengthOf(m, k, px, py, pz);
    if (!(length > 0)) continue;
    const fall = pz - m.z[k];
    if (o.plunge !== undefined && fall > 0) most[k] = Math.min(most[k], (o.plunge * length) / fall);
    if (o.along !== undefined && o.along[k] > 0) share[k] = Math.min(share[k], planned / (1 - Math.cos(Math.min(Math.PI, o.along[k]))));
    if (kind === MoveKind.arc) {
      const r = radiusOf(m, k, px, py, pz);
      const a = m.plane[k] === 0 ? level : Math.min(level, o.acceleration.z);
      most[k] = Math.min(most[k], Math.sqrt(a * r));
      if (m.plane[k] === 0 && isHollow(m.sweep[k] > 0, o.wood)) share[k] = Math.min(share[k], hollow(r, o.cutterRadius ?? 0));
      continue;
    }
    if (k + 1 >= n || m.kind[k + 1] !== MoveKind.line) continue;
    const ux = m.x[k] - px;
    const uy = m.y[k] - py;
    const uz = m.z[k] - pz;
    const vx = m.x[k + 1] - m.x[k];
    const vy = m.y[k + 1] - m.y[k];
    const vz = m.z[k + 1] - m.z[k];
    const next = norm(vx, vy, vz);
    if (!(next > 0)) continue;
    const cross = norm(uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx);
    const turn = Math.atan2(cross, ux * vx + uy * vy + uz * vz);
    if (turn < 1e-6) continue;
    const left = ux * vy - uy * vx > 0;
    if (turn < CORNER) {
      // circle that touches both lines at the middle of the shorter: as the clock takes it
      const r = Math.min(length, next) / 2 / Math.tan(turn / 2);
      const v = Math.sqrt(inward(ux / length, uy / length, uz / length, vx / next, vy / next, vz / next, o.acceleration) * r);
      joint[k + 1] = v;
      if (isHollow(left, o.wood)) {
        const s = hollow(r, o.cutterRadius ?? 0);
        share[k] = Math.min(share[k], s);
        share[k + 1] = Math.min(share[k + 1], s);
      }
    } else if (isHollow(left, o.wood) && o.cutterRadius !== undefined) {
      const seen = 1 - Math.cos(Math.min(Math.PI, (o.engagement ?? Math.PI / 2) + turn));
      slowShare[k] = Math.max(LEAST_SHARE, Math.min(1, planned / seen));
      slowEnd[k] = Math.max(0.5, o.cutterRadius * Math.tan(Math.min(turn, Math.PI / 2) / 2));
    }
  }

  // between two places of a curve a line may gain what acceleration gives over its length, and no more
  for (let k = 0; k < n; k++) {
    if (m.kind[k] !== MoveKind.line || (joint[k] === Number.POSITIVE_INFINITY && joint[k + 1] === Number.POSITIVE_INFINITY)) continue;
    const [px, py, pz] = start(k);
    const length = norm(m.x[k] - px, m.y[k] - py, m.z[k] - pz);
    const v0 = Math.min(joint[k], m.feed[k]);
    const v1 = Math.min(joint[k + 1], m.feed[k]);
    most[k] = Math.min(most[k], Math.sqrt((v0 * v0 + v1 * v1) / 2 + level * length));
  }

  const b = new MoveBuilder([...m.start], n + 16);
  for (let k = 0; k < n; k++) {
    b.cut = m.cut[k];
    b.line = m.line[k];
    const [px, py, pz] = start(k);
    const feed = m.feed[k];
    if (m.kind[k] === MoveKind.rapid) b.rapid(m.x[k], m.y[k], m.z[k]);
    else if (m.kind[k] === MoveKind.dwell) b.dwell(feed);
    else if (m.kind[k] === MoveKind.arc)
      b.arcTo(m.x[k], m.y[k], m.z[k], m.cx[k], m.cy[k], m.cz[k], m.sweep[k], lowered(feed, share[k], most[k], o), m.plane[k]);
    else {
      const length = norm(m.x[k] - px, m.y[k] - py, m.z[k] - pz);
      const slow = slowShare[k] < 1 - STEP ? slowEnd[k] : 0;
      if (slow > 0 && length > slow + 0.5) {
        const t = 1 - slow / length;
        b.lineTo(px + t * (m.x[k] - px), py + t * (m.y[k] - py), pz + t * (m.z[k] - pz), lowered(feed, share[k], most[k], o));
      }
      b.lineTo(m.x[k], m.y[k], m.z[k], lowered(feed, slow > 0 ? Math.min(share[k], slowShare[k]) : share[k], most[k], o));
    }
  }
  return b.list();
}

/** A feed by a share (not under the least chip) and a limit, down by whole steps and to whole mm/min. */
function lowered(feed: MmPerSecond, share: number, most: MmPerSecond, o: FeedOptions): MmPerSecond {
  const byWood = Math.max(feed * share, Math.min(feed, o.least ?? 0));
  const wanted = Math.min(byWood, most);
  const steps = Math.ceil(Math.log(wanted / feed) / Math.log(1 - STEP) - 1e-9);
  // a limit below the feed by no more than rounding, which differs from engine to engine, asks for no step
  if (!(steps > 0)) return feed;
  const stepped = feed * (1 - STEP) ** steps;
  return Math.max(1, Math.floor(stepped * 60 + 1e-6)) / 60;
}

/** A turn away from the wood's side runs along a hollow of it: the rim runs ahead of the middle, and more of it is in the wood. */
const isHollow = (left: boolean, wood: FeedOptions["wood"]): boolean => wood !== undefined && (wood === "left") !== left;

/** In a hollow of radius r (of the middle's way) the rim runs (r + R) / r as fast: the share of the feed that keeps its chip. */
const hollow = (r: Mm, R: Mm): number => Math.max(LEAST_SHARE, r / (r + R));

/** Acceleration that all axes can give toward the inside of a turn between two directions. */
function inward(ux: number, uy: number, uz: number, vx: number, vy: number, vz: number, a: FeedOptions["acceleration"]): MmPerSecond2 {
  const dx = Math.abs(vx - ux);
  const dy = Math.abs(vy - uy);
  const dz = Math.abs(vz - uz);
  return norm(dx, dy, dz) * Math.min(a.x / dx, a.y / dy, a.z / dz);
}

/** Lengths here lie far from the ends of Float64: no need for the care that Math.hypot takes. */
const norm = (x: number, y: number, z: number): number => Math.sqrt(x * x + y * y + z * z);

function lengthOf(m: MoveList, k: number, px: Mm, py: Mm, pz: Mm): Mm {
  if (m.kind[k] === MoveKind.line) return norm(m.x[k] - px, m.y[k] - py, m.z[k] - pz);
  const rise = [m.z[k] - pz, m.y[k] - py, m.x[k] - px][m.plane[k]];
  return Math.hypot(radiusOf(m, k, px, py, pz) * m.sweep[k], rise);
}

function radiusOf(m: MoveList, k: number, px: Mm, py: Mm, pz: Mm): Mm {
  const [dx, dy, dz] = [px - m.cx[k], py - m.cy[k], pz - m.cz[k]];
  return m.plane[k] === 0 ? Math.hypot(dx, dy) : m.plane[k] === 1 ? Math.hypot(dx, dz) : Math.hypot(dy, dz);
}
