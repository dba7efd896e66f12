import { MoveKind } from "../kernel/moves.ts";
import { fibresOf, wallGrain } from "../neck/grain.ts";
import type { Neck } from "../neck/types.ts";
import { type Finding, finding } from "../units/index.ts";
import { outlineStations } from "./outline.ts";
import type { SideFrame } from "./place.ts";
import { chords } from "./probe.ts";
import { AGAINST_FIBRES } from "./rules.ts";
import type { SimulatedProgram } from "./simulate.ts";

/*
 * Whether the outline is cut against its fibres, from the text alone: every feed move of a flat cutter that touches the wall's
 * line at a station is looked at for its direction. With the spindle turning clockwise (PF-213 sees to that) the kept wood on the
 * left of the feed means that edges climb out of the wall; where the fibres dive into the kept wood ahead of them, they are lifted.
 */

/** The cutter's rim stands at the wall's line within this, mm. */
const ON_WALL = 0.03;
/** Fibres flatter to the wall than this are not lifted by much; from memory. */
const LEAST_ANGLE = (5 * Math.PI) / 180;
/** End grain breaks out at its corners, whichever way it is cut. */
const END_GRAIN = (60 * Math.PI) / 180;
const SQUARE = 10;

interface Place {
  readonly x: number;
  readonly y: number;
  readonly nx: number;
  readonly ny: number;
  /** Height of the kept wood just inside the wall, program frame: what is cut above it is not the wall. */
  readonly top: number;
  /** Direction of the fibres there, program frame. */
  readonly fx: number;
  readonly fy: number;
}

/** A finding for every program that cuts the outline against its fibres. */
export function checkFibres(neck: Neck, frame: SideFrame, programs: readonly SimulatedProgram[]): Finding[] {
  const fibres = fibresOf(neck);
  const places = outlineStations(neck).map((s): Place => {
    const [x, y] = frame.xy(s.x, s.y);
    const [ex, ey] = frame.xy(s.x + s.nx, s.y + s.ny);
    const [ix, iy] = [s.x - 0.1 * s.nx, s.y - 0.1 * s.ny];
    const top = frame.z(frame.up > 0 ? neck.top(ix, iy) : neck.back(ix, iy));
    const [fx, fy] = fibres(ix, iy);
    const [gx, gy] = frame.xy(s.x + fx, s.y + fy);
    return { x, y, nx: ex - x, ny: ey - y, top, fx: gx - x, fy: gy - y };
  });
  return programs.flatMap((p) => (p.tool.cutter.shape === "flat" ? ofProgram(places, frame, p) : []));
}

function ofProgram(places: readonly Place[], frame: SideFrame, p: SimulatedProgram): Finding[] {
  const { moves: m, tool } = p;
  const r = tool.radius;
  const squares = new Map<number, number[]>();
  const key = (x: number, y: number): number => Math.floor(x / SQUARE) * 65536 + Math.floor(y / SQUARE);
  places.forEach((s, k) => {
    // where the cutter's centre stands when it touches
    const at = key(s.x + r * s.nx, s.y + r * s.ny);
    const list = squares.get(at);
    if (list === undefined) squares.set(at, [k]);
    else list.push(k);
  });
  const bad = new Map<number, { readonly angle: number; readonly line: number }>();
  const piece = (line: number, ax: number, ay: number, az: number, bx: number, by: number, bz: number): void => {
    const L = Math.hypot(bx - ax, by - ay);
    if (!(L > 1e-6)) return;
    const tx = (bx - ax) / L;
    const ty = (by - ay) / L;
    const look = (k: number): void => {
      const s = places[k];
      const cx = s.x + r * s.nx;
      const cy = s.y + r * s.ny;
      const along = (cx - ax) * tx + (cy - ay) * ty;
      if (along < -1e-6 || along > L + 1e-6) return;
      // a move that rises along a slope is judged by its height at the wall
      if (az + ((bz - az) * along) / L >= s.top) return;
      if (Math.abs((cx - ax) * ty - (cy - ay) * tx) > ON_WALL || Math.abs(tx * s.nx + ty * s.ny) > 0.2) return;
      // kept wood on the right of the feed: climb
      if (-s.nx * ty + s.ny * tx > 0) return;
      const g = wallGrain(s.nx, s.ny, tx, ty, s.fx, s.fy);
      if (!g.downhill && g.angle > LEAST_ANGLE && g.angle < END_GRAIN && !bad.has(k)) bad.set(k, { angle: g.angle, line });
    };
    const n = Math.ceil(L / SQUARE);
    const seen = new Set<number>();
    for (let i = 0; i <= n; i++)
      for (const [dx, dy] of NEAR) {
        const at = key(ax + ((bx - ax) * i) / n + dx, ay + ((by - ay) * i) / n + dy);
        if (seen.has(at)) continue;
        seen.add(at);
        for (const k of squares.get(at) ?? []) look(k);
      }
  };
  for (let k = 0; k < m.count; k++) {
    const [ax, ay, az] = k > 0 ? [m.x[k - 1], m.y[k - 1], m.z[k - 1]] : m.start;
    if (m.kind[k] === MoveKind.line) piece(m.line[k], ax, ay, az, m.x[k], m.y[k], m.z[k]);
    else if (m.kind[k] === MoveKind.arc)
      chords(m, k, ax, ay, az, 0.01, (px, py, pz, qx, qy, qz) => piece(m.line[k], px, py, pz, qx, qy, qz));
  }
  if (bad.size === 0) return [];
  const [worst, { angle, line }] = [...bad].reduce((a, b) => (b[1].angle > a[1].angle ? b : a));
  const [x, y] = frame.neckXY(places[worst].x, places[worst].y);
  const degrees = Math.round((angle * 1800) / Math.PI) / 10;
  return [
    finding(AGAINST_FIBRES, {
      where: `${p.program.file}:${line}`,
      value: degrees,
      limit: Math.round((LEAST_ANGLE * 1800) / Math.PI) / 10,
      unit: "degrees",
      says: `The outline is cut against its fibres at ${bad.size} of ${places.length} stations, the steepest with fibres at ${degrees} degrees to the wall at x ${x.toFixed(1)}, y ${y.toFixed(1)} of the neck: edges that climb out of the wall there tear pieces out of it.`,
      tryThis: "Feed the other way there, so that the kept wood lies on the right of the cutter, or downhill.",
      at: { x, y },
    }),
  ];
}

/** A piece's squares and their neighbours. */
const NEAR: readonly (readonly [number, number])[] = [-1, 0, 1].flatMap((i) => [-1, 0, 1].map((j) => [i * SQUARE, j * SQUARE] as const));
