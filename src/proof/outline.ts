import { pointOn, tangentOn } from "../kernel/contour.ts";
import { isTilted } from "../neck/places.ts";
import type { Neck } from "../neck/types.ts";
import { finding } from "../units/index.ts";
import type { Gauge } from "./gauge.ts";
import { wallAt } from "./probe.ts";
import { OUTLINE } from "./rules.ts";

/** A place on the outline with its outward normal, neck frame. */
export interface OutlineStation extends OnOutline {
  /** Places 2 and 4 mm along the outline to both sides. */
  readonly beside: readonly OnOutline[];
}

interface OnOutline {
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

/** Above and below the height where the sides' channels meet, by which each side's own wall is looked at: past what the second one goes over the first. */
const SEAM = 0.9;

/** Along the wall, how far the foot of a tab may reach: the cutter's radius. */
const BESIDE = [-4, -2, 2, 4] as const;
const REACH = 5.5;

/** Before a tenon's shoulder the wall ends in an edge. */
const BESIDE_TENON = 0.5;

/** Parts of a curve between which lengths along it are told. */
const PARTS = 64;

/** Stations about every 5 mm of the outline, none nearer than half of that to a joint of its curves; the same for both sides. */
export function outlineStations(neck: Neck): OutlineStation[] {
  const out: OutlineStation[] = [];
  const { curves } = neck.outline;
  // length along each curve at every 64th of its parameter
  const tables = curves.map((curve) => {
    const table = new Float64Array(PARTS + 1);
    let p = pointOn(curve, 0);
    for (let k = 1; k <= PARTS; k++) {
      const q = pointOn(curve, k / PARTS);
      table[k] = table[k - 1] + Math.hypot(q.x - p.x, q.y - p.y);
      p = q;
    }
    return table;
  });
  const on = (c: number, u: number): OnOutline => {
    const p = pointOn(curves[c], u);
    const d = tangentOn(curves[c], u);
    return { x: p.x, y: p.y, nx: d.y, ny: -d.x };
  };
  /** The place so far along from parameter t of curve c, also past its ends along the next curves. */
  const beside = (c: number, t: number, along: number): OnOutline => {
    const n = curves.length;
    const part = Math.min(PARTS - 1, Math.floor(t * PARTS));
    let k = c;
    let left = tables[c][part] + (t * PARTS - part) * (tables[c][part + 1] - tables[c][part]) + along;
    for (let turn = 0; turn < n && (left < 0 || left > tables[k][PARTS]); turn++) {
      if (left < 0) {
        k = (k + n - 1) % n;
        left += tables[k][PARTS];
      } else {
        left -= tables[k][PARTS];
        k = (k + 1) % n;
      }
    }
    const table = tables[k];
    let i = 0;
    while (i < PARTS - 1 && table[i + 1] < left) i++;
    const step = table[i + 1] - table[i];
    return on(k, Math.min(1, Math.max(0, (i + (step > 0 ? (left - table[i]) / step : 0)) / PARTS)));
  };
  for (const [c, { [PARTS]: length }] of tables.entries()) {
    if (length < 1.5) continue;
    const n = Math.max(1, Math.round(length / SPACING));
    for (let k = 0; k < n; k++) {
      const t = (k + 0.5) / n;
      out.push({ ...on(c, t), beside: BESIDE.map((along) => beside(c, t, along)) });
    }
  }
  return out;
}

/** The wall's upper end: the finished top, or the floor of the seat or slot that opens there. */
function openTop(neck: Neck, bare: boolean, x: number, y: number): number {
  const top = neck.top(x, y);
  if (bare) return Math.min(0, top);
  const { nut, frets } = neck.features;
  const u = x - nut.slope * y;
  if (u > nut.xMin - 0.5 && u < nut.xMax + 0.5) return Math.min(top, nut.zFloor);
  for (const f of frets) {
    const t = (y - f.bass.y) / (f.treble.y - f.bass.y);
    if (Math.abs(f.bass.x + t * (f.treble.x - f.bass.x) - x) < f.kerf + 0.2) return top - f.depth - 0.1;
  }
  return top;
}

/**
 * How far the wall stands outside its place at every station (positive: wood left), NaN where no wall is cut. Wood is what
 * neither side has taken: on the carve side `other` is the board side's ground, and the whole height of the wall is looked
 * at; on the board side, the height that this side has cut. At a tab the wood goes on outward: that height says nothing.
 */
export function measureOutline(gauge: Gauge, neck: Neck, other: Gauge | null): Float32Array {
  const stations = outlineStations(neck);
  const walls = new Float32Array(stations.length).fill(Number.NaN);
  const { frame } = gauge;
  const bare = neck.order.blank.kind === "shaft-alone";
  const tilted = isTilted(neck.order);
  const hinge = neck.places.rampTop;
  let seam = 0;
  let seams = 0;
  let seamAt = { x: 0, y: 0 };
  stations.forEach((s, n) => {
    const inX = s.x - 0.002 * s.nx;
    const inY = s.y - 0.002 * s.ny;
    const top = openTop(neck, bare, inX, inY);
    // beside a tenon nothing of the shaft stays
    const { tenon } = neck.features;
    const cheek = tenon !== null && inX > tenon.xMin - BESIDE_TENON && inX < tenon.xMax + 0.5;
    const back = cheek ? 0 : neck.back(inX, inY);
    if (!Number.isFinite(top) || !Number.isFinite(back)) return;
    const own = gauge.ground(s.x, s.y, REACH);
    const others = other?.ground(s.x, s.y, REACH);
    const levels: number[] = [];
    if (other === null) {
      const edge = frame.side === "board" ? frame.z(top) : frame.z(back);
      const floor = Math.max(...[0.7, 1, 1.3].map((d) => own(s.x + d * s.nx, s.y + d * s.ny)));
      if (edge - floor < LEAST_WALL) return;
      for (const share of [0.2, 0.6]) levels.push(frame.neckZ(floor + share * (edge - floor)));
    } else for (const share of [0.06, 0.28, 0.5, 0.72, 0.94]) levels.push(back + share * (top - back));
    /** A tab lies along a tilted face: beside the station the other side's wood ends as much higher or lower as the face does. */
    const leans = (b: OnOutline): number => (tilted && s.x < hinge && b.x < hinge ? neck.top(b.x, b.y) - neck.top(s.x, s.y) : 0);
    /** How far the wall stands out at a height, NaN at a tab or the round foot that the cutter leaves beside one. */
    const wallOff = (z: number): number => {
      const level = frame.z(z);
      // positive where both sides leave wood at this height
      const woodAt = (x: number, y: number, up = 0): number => {
        const left = own(x, y, level) - level;
        if (left < 0 || others === undefined || other === null) return left;
        const theirs = other.frame.z(z + up);
        return Math.min(left, others(x, y, theirs) - theirs);
      };
      const wood = (d: number): number => woodAt(s.x + d * s.nx, s.y + d * s.ny);
      if (wood(1) >= 0 || s.beside.some((b) => woodAt(b.x + b.nx, b.y + b.ny, leans(b)) >= 0)) return Number.NaN;
      const at = wallAt(wood, 0, -INWARD, 1, 0.05);
      return Number.isNaN(at) ? -INWARD : at;
    };
    let worst = Number.NaN;
    for (const z of levels) {
      const off = wallOff(z);
      if (!Number.isNaN(off) && !(Math.abs(off) <= Math.abs(worst))) worst = off;
    }
    walls[n] = worst;
    if (others === undefined || other === null) return;
    // where the other side's channel ends: its wall above, this side's below
    const floor = other.frame.neckZ(Math.max(...[0.7, 1, 1.3].map((d) => others(s.x + d * s.nx, s.y + d * s.ny))));
    if (floor - back < 2 * SEAM || top - floor < 2 * SEAM) return;
    const step = Math.abs(wallOff(floor + SEAM) - wallOff(floor - SEAM));
    if (Number.isNaN(step)) return;
    seams++;
    if (step <= seam) return;
    seam = step;
    seamAt = { x: s.x, y: s.y };
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
    what: `wall farthest from the plan, of ${cut} stations ${other === null ? `as the ${frame.side} side leaves them` : "of the finished neck"}`,
    unit: "mm",
    ordered: 0,
    measured: w,
    tolerance: TOLERANCE,
  });
  if (seams > 0)
    gauge.measure(
      OUTLINE,
      {
        id: "outline",
        what: `largest step of the wall where the sides meet, of ${seams} stations`,
        unit: "mm",
        ordered: 0,
        measured: seam,
        tolerance: TOLERANCE,
      },
      seamAt,
    );
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
