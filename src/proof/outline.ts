import { pointOn, tangentOn } from "../kernel/contour.ts";
import type { Neck } from "../neck/types.ts";
import { finding } from "../units/index.ts";
import type { Gauge } from "./gauge.ts";
import { wallAt } from "./probe.ts";
import { OUTLINE } from "./rules.ts";

/** A place on the outline with its outward normal, neck frame. */
export interface OutlineStation {
  readonly x: number;
  readonly y: number;
  readonly nx: number;
  readonly ny: number;
}

const SPACING = 5;
/** A wall lower than this is not one that this side has cut. */
const LEAST_WALL = 0.5;
const TOLERANCE = 0.02;
/** No wood within this of the wall's place counts as missing wood of as much. */
const INWARD = 1.2;

/** Stations about every 5 mm of the outline, none nearer than half of that to a joint of its curves; the same for both sides. */
export function outlineStations(neck: Neck): OutlineStation[] {
  const out: OutlineStation[] = [];
  for (const curve of neck.outline.curves) {
    let length = 0;
    let p = pointOn(curve, 0);
    for (let k = 1; k <= 16; k++) {
      const q = pointOn(curve, k / 16);
      length += Math.hypot(q.x - p.x, q.y - p.y);
      p = q;
    }
    if (length < 1.5) continue;
    const n = Math.max(1, Math.round(length / SPACING));
    for (let k = 0; k < n; k++) {
      const t = (k + 0.5) / n;
      const at = pointOn(curve, t);
      const d = tangentOn(curve, t);
      out.push({ x: at.x, y: at.y, nx: d.y, ny: -d.x });
    }
  }
  return out;
}

/** How far the wall stands outside its place at every station (positive: wood left), NaN where this side has cut no wall. */
export function measureOutline(gauge: Gauge, neck: Neck): Float32Array {
  const stations = outlineStations(neck);
  const walls = new Float32Array(stations.length).fill(Number.NaN);
  const { frame } = gauge;
  const bare = neck.order.blank.kind === "shaft-alone";
  stations.forEach((s, n) => {
    const inX = s.x - 0.002 * s.nx;
    const inY = s.y - 0.002 * s.ny;
    const edgeZ = frame.side === "board" ? (bare ? Math.min(0, neck.top(inX, inY)) : neck.top(inX, inY)) : neck.back(inX, inY);
    if (!Number.isFinite(edgeZ)) return;
    const edge = frame.z(edgeZ);
    const ground = gauge.ground(s.x, s.y, 1.5);
    const ray = (d: number): number => ground(s.x + d * s.nx, s.y + d * s.ny);
    const floor = Math.max(ray(0.7), ray(1), ray(1.3));
    if (edge - floor < LEAST_WALL) return;
    let worst = 0;
    for (const share of [0.2, 0.6]) {
      const at = wallAt(ray, floor + share * (edge - floor), -INWARD, 1, 0.05);
      const off = Number.isNaN(at) ? -INWARD : at;
      if (Math.abs(off) > Math.abs(worst)) worst = off;
    }
    walls[n] = worst;
  });
  let worst = -1;
  let cut = 0;
  let bad = 0;
  walls.forEach((w, n) => {
    if (Number.isNaN(w)) return;
    cut++;
    if (Math.abs(w) > TOLERANCE) bad++;
    if (worst < 0 || Math.abs(w) > Math.abs(walls[worst])) worst = n;
  });
  if (worst < 0) return walls;
  const w = walls[worst];
  gauge.measures.push({
    id: "outline",
    what: `wall farthest from the plan, of ${cut} stations from the ${frame.side} side`,
    unit: "mm",
    ordered: 0,
    measured: w,
    tolerance: TOLERANCE,
  });
  if (bad > 0) {
    const { x, y } = stations[worst];
    gauge.findings.push(
      finding(OUTLINE, {
        where: `${frame.side} side, outline`,
        value: w,
        limit: TOLERANCE,
        unit: "mm",
        says: `The outline's wall stands ${Math.abs(w).toFixed(3)} mm too far ${w > 0 ? "out" : "in"} at x ${x.toFixed(1)}, y ${y.toFixed(1)} of the neck (${bad} of ${cut} stations are off).`,
        tryThis: "Check the outline's programs, their cutter's diameter, and inward corners tighter than the cutter.",
        at: { x, y },
      }),
    );
  }
  return walls;
}
