import type { Solid } from "../holding/types.ts";
import { type Tool, widestBetween } from "./tool.ts";

/** A holding solid with the box of its ground plan. */
export interface Footprint {
  readonly solid: Solid;
  readonly zMin: number;
  readonly zMax: number;
  readonly xMin: number;
  readonly xMax: number;
  readonly yMin: number;
  readonly yMax: number;
}

export function footprintOf(solid: Solid): Footprint {
  if (solid.kind === "box") {
    const { min, max } = solid;
    return { solid, zMin: min[2], zMax: max[2], xMin: min[0], xMax: max[0], yMin: min[1], yMax: max[1] };
  }
  const { zMin, zMax } = solid;
  if (solid.kind === "cylinder") {
    const r = solid.diameter / 2;
    return { solid, zMin, zMax, xMin: solid.x - r, xMax: solid.x + r, yMin: solid.y - r, yMax: solid.y + r };
  }
  const xs = solid.points.map((p) => p[0]);
  const ys = solid.points.map((p) => p[1]);
  return { solid, zMin, zMax, xMin: Math.min(...xs), xMax: Math.max(...xs), yMin: Math.min(...ys), yMax: Math.max(...ys) };
}

/** Distance in plan from a point to a solid, 0 inside it. */
export function planDistance(f: Footprint, x: number, y: number): number {
  const s = f.solid;
  if (s.kind === "cylinder") return Math.max(0, Math.hypot(x - s.x, y - s.y) - s.diameter / 2);
  if (s.kind === "box") return Math.hypot(Math.max(f.xMin - x, 0, x - f.xMax), Math.max(f.yMin - y, 0, y - f.yMax));
  const p = s.points;
  let inside = false;
  let best = Number.POSITIVE_INFINITY;
  for (let i = 0, j = p.length - 1; i < p.length; j = i++) {
    const [ax, ay] = p[j];
    const [bx, by] = p[i];
    if (by > y !== ay > y && x < ((ax - bx) * (y - by)) / (ay - by) + bx) inside = !inside;
    const dx = bx - ax;
    const dy = by - ay;
    const l2 = dx * dx + dy * dy;
    const t = l2 > 0 ? Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / l2)) : 0;
    best = Math.min(best, Math.hypot(x - ax - t * dx, y - ay - t * dy));
  }
  return inside ? 0 : best;
}

/** Pieces shorter than this are not divided further. */
const FINE = 0.02;

export interface Touch {
  readonly depth: number;
  readonly x: number;
  readonly y: number;
  readonly z: number;
}

/**
 * How deep a tool whose tip goes straight from a to b sinks sideways into an upright solid: the largest (tool radius at the
 * solid's heights - distance in plan), null when they stay apart. Halves the move until a piece surely misses or is
 * shorter than 0.02 mm.
 */
export function touch(tool: Tool, f: Footprint, ax: number, ay: number, az: number, bx: number, by: number, bz: number): Touch | null {
  const { widest } = tool;
  if (Math.min(az, bz) >= f.zMax) return null;
  if (Math.max(ax, bx) + widest < f.xMin || Math.min(ax, bx) - widest > f.xMax) return null;
  if (Math.max(ay, by) + widest < f.yMin || Math.min(ay, by) - widest > f.yMax) return null;
  let best: Touch | null = null;
  let pieces = 0;
  const stack: number[] = [0, 1];
  while (stack.length > 0) {
    const t1 = stack.pop() as number;
    const t0 = stack.pop() as number;
    const t = (t0 + t1) / 2;
    const x = ax + (bx - ax) * t;
    const y = ay + (by - ay) * t;
    const z = az + (bz - az) * t;
    const half = ((t1 - t0) / 2) * Math.hypot(bx - ax, by - ay);
    const rise = ((t1 - t0) / 2) * Math.abs(bz - az);
    const d = planDistance(f, x, y);
    const most = widestBetween(tool, f.zMin - z - rise, f.zMax - z + rise) - (d - half);
    if (most <= (best === null ? 0 : best.depth)) continue;
    if (half + rise < FINE || ++pieces > 20_000) {
      const depth = widestBetween(tool, f.zMin - z, f.zMax - z) - d;
      if (depth > (best === null ? 0 : best.depth)) best = { depth, x, y, z };
      continue;
    }
    stack.push(t0, t, t, t1);
  }
  return best;
}
