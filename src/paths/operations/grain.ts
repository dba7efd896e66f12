import { type Polygon, polygonLength } from "../../kernel/polygon.ts";
import { type Fibres, fibresOf, STRAIGHT, wallGrain } from "../../neck/grain.ts";
import type { Mm, Rad } from "../../units/index.ts";
import type { Context } from "./context.ts";

/** Walls that lie along the fibres within this have no uphill: they climb. */
export const ALONG_FIBRES: Rad = (0.3 * Math.PI) / 180;
/** Walls that stand across the fibres by more than this are ends, cut before the long edges, so that what breaks out at their corners goes with those. */
const END_GRAIN: Rad = (60 * Math.PI) / 180;
/** Zones shorter than this join their neighbour and climb, which is safe either way. */
const SHORTEST: Mm = 6;

/** The neck's fibres in the side's frame. */
export function fibresInFrame({ neck, frame }: Pick<Context, "neck" | "frame">): Fibres {
  const fibres = fibresOf(neck);
  return (x, y) => {
    const [fx, fy] = fibres(frame.nx(x), frame.ny(y));
    return [frame.sx * fx, frame.sy * fy];
  };
}

/** A stretch of a wall fed one way. */
export interface GrainZone {
  /** Lengths along the counter-clockwise ring; `to` may pass the ring's length. */
  readonly from: Mm;
  readonly to: Mm;
  /** climb: clockwise round the kept wood. */
  readonly milling: "climb" | "conventional";
  readonly end: boolean;
  /** Length-weighted mean angle to the fibres. */
  readonly angle: Rad;
}

type Kind = 0 | 1 | 2;

/**
 * Splits the counter-clockwise way around the kept wood (the cutter's centre) where the direction that lays its fibres down
 * changes, `radius` inside it being the wall, `fibres` in the ring's frame. Ends first, then the long edges, each in its order along the ring. One zone: the whole ring, from 0.
 */
export function grainZones(ring: Polygon, fibres: Fibres = STRAIGHT, radius: Mm = 0): GrainZone[] {
  const n = ring.length / 2;
  const total = polygonLength(ring);
  const at = new Float64Array(n + 1);
  const kind: Kind[] = [];
  const angle = new Float64Array(n);
  for (let k = 0; k < n; k++) {
    const m = (k + 1) % n;
    const dx = ring[2 * m] - ring[2 * k];
    const dy = ring[2 * m + 1] - ring[2 * k + 1];
    const L = Math.hypot(dx, dy);
    at[k + 1] = at[k] + L;
    const [tx, ty] = L > 0 ? [dx / L, dy / L] : [1, 0];
    // counter-clockwise round the kept wood: its outside lies on the right, and the feed is conventional
    const [fx, fy] = fibres((ring[2 * k] + ring[2 * m]) / 2 - radius * ty, (ring[2 * k + 1] + ring[2 * m + 1]) / 2 + radius * tx);
    const g = wallGrain(ty, -tx, tx, ty, fx, fy);
    angle[k] = g.angle;
    kind.push(g.angle >= END_GRAIN ? 2 : g.angle > ALONG_FIBRES && g.downhill ? 1 : 0);
  }
  // runs of one kind, beginning where a kind begins
  let first = 0;
  while (first < n && kind[first] === kind[(first + n - 1) % n]) first++;
  if (first === n) return [{ from: 0, to: total, milling: kind[0] === 1 ? "conventional" : "climb", end: false, angle: angle[0] }];
  const runs: { from: Mm; to: Mm; kind: Kind; sum: number }[] = [];
  for (let i = 0; i < n; i++) {
    const k = (first + i) % n;
    const wrap = k < first ? total : 0;
    const last = runs[runs.length - 1];
    const piece = (at[k + 1] - at[k]) * angle[k];
    if (last !== undefined && last.kind === kind[k]) {
      last.to = at[k + 1] + wrap;
      last.sum += piece;
    } else runs.push({ from: at[k] + wrap, to: at[k + 1] + wrap, kind: kind[k], sum: piece });
  }
  // short ones climb; neighbours of one kind are one
  const merged: typeof runs = [];
  for (const r of runs) {
    const k: Kind = r.to - r.from < SHORTEST && r.kind === 1 ? 0 : r.kind;
    const last = merged[merged.length - 1];
    if (last !== undefined && (last.kind === k || (k === 0 && r.to - r.from < SHORTEST && last.kind === 0))) {
      last.to = r.to;
      last.sum += r.sum;
    } else merged.push({ ...r, kind: k });
  }
  if (merged.length > 1 && merged[0].kind === merged[merged.length - 1].kind) {
    const tail = merged.pop() as (typeof merged)[number];
    merged[0] = { from: tail.from - total, to: merged[0].to, kind: tail.kind, sum: tail.sum + merged[0].sum };
  }
  const zones = merged.map(
    (r): GrainZone => ({
      from: r.from,
      to: r.to,
      milling: r.kind === 1 ? "conventional" : "climb",
      end: r.kind === 2,
      angle: r.sum / Math.max(1e-9, r.to - r.from),
    }),
  );
  const real = zones.filter((z) => z.to - z.from > 0.01);
  return [...real.filter((z) => z.end), ...real.filter((z) => !z.end)];
}
