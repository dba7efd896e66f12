import type { MoveBuilder } from "../../src/kernel/moves.ts";
import { offsetPolygon } from "../../src/kernel/offset.ts";
import { circlePolygon } from "../../src/kernel/polygon.ts";
import { ballProfile, flatProfile, type Profile } from "../../src/kernel/profile.ts";
import {
  bore,
  boreSteps,
  channel,
  contour,
  groove,
  levels,
  type Motion,
  openContour,
  peck,
  RAMP_ANGLE,
  roundPocket,
  rows,
  slot,
} from "../../src/paths/strategies/index.ts";
import { type Make, Wood } from "./paths.ts";

/* Every way of moving as a row of one table: an input, and what it must leave. The laws are in paths.test.ts. */

/** The wood's upper face. */
export const TOP = 20;
/** Heights and feeds; the zero raised by `dz`. */
export const motion = (dz = 0): Motion => ({ feed: 40, ramp: 20, plunge: 10, safeZ: TOP + 15 + dz, approachZ: TOP + 1.5 + dz, gap: 1 });
/** A block of wood about the origin; wide enough for every case. */
export const block: Wood = new Wood(-45, -30, 45, 30, 0.5, TOP);

/** One way of moving, and what it must leave. */
export interface Case {
  readonly name: string;
  readonly profile: Profile;
  /** Moves for input mirrored in y when side is -1, moved by (dx, dy, dz). */
  readonly make: (side: 1 | -1, dx: number, dy: number, dz: number) => Make;
  /** What the surface should be at (x, y), or null where that is not judged; and how near. */
  readonly target: (x: number, y: number) => number | null;
  readonly within: number;
  /** Wood where the cutter may not be told to plunge; false for cutters that go straight down by nature. */
  readonly ramps: boolean;
  /** Steepest way down into wood; default the ramp angle. */
  readonly steepest?: number;
  /** Rows keep their order when the input is mirrored, so that links and ramps on slopes leave a little more here or there. */
  readonly mirrorWithin?: number;
  /** Decides by thresholds (what is worth cutting), so that rounding may move a point: the wood left is compared instead. */
  readonly byThreshold?: boolean;
  readonly wood?: Wood;
  readonly lowest: number;
}

const mirrored = (p: Float64Array, side: 1 | -1, dx: number, dy: number): Float64Array =>
  p.map((v, k) => (k % 2 === 0 ? v + dx : side * v + dy));
const plan = Float64Array.from([-30, -9, 10, -9, 30, -4, 30, 12, -30, 10]);
const outsidePlan = offsetPolygon([plan], 3)[0];
const insideDistance = (x: number, y: number, p: Float64Array): number => {
  let inside = false;
  let best = Infinity;
  for (let k = 0, m = p.length - 2; k < p.length; m = k, k += 2) {
    const dx = p[k] - p[m];
    const dy = p[k + 1] - p[m + 1];
    const t = Math.min(1, Math.max(0, ((x - p[m]) * dx + (y - p[m + 1]) * dy) / (dx * dx + dy * dy)));
    best = Math.min(best, Math.hypot(x - p[m] - t * dx, y - p[m + 1] - t * dy));
    if (p[m + 1] > y !== p[k + 1] > y && x < p[k] + ((y - p[k + 1]) / (p[m + 1] - p[k + 1])) * (p[m] - p[k])) inside = !inside;
  }
  return inside ? best : -best;
};
/** Signed distance into a stadium about a centre line on y = 0. */
const inStadium = (x: number, y: number, from: number, to: number, r: number): number =>
  r - Math.hypot(x - Math.min(to, Math.max(from, x)), y);
const near = 0.4; // cells nearer than this to a wall are not judged

/** A hole round (3, 4), its steps from the innermost out as radius and floor: what it leaves, but near its walls. */
const bored =
  (...steps: readonly (readonly [number, number])[]): Case["target"] =>
  (x, y) => {
    const r = Math.hypot(x - 3, y - 4);
    let wall = -Infinity;
    for (const [radius, floor] of steps) {
      if (r < radius - near) return r > wall + near ? floor : null;
      wall = radius;
    }
    return r > wall + near ? TOP : null;
  };

/** A hilly field: a dome, a step (a wall) and a slope, for clearing by levels. */
const hill = (x: number, y: number): number => Math.max(20 - Math.hypot(x, 1.5 * y) * 0.35, x > 12 && Math.abs(y) < 8 ? 17 : 12);

export const cases: readonly Case[] = [
  {
    name: "rows, ball over a cylinder",
    profile: ballProfile(6),
    make: (side, dx, dy, dz) => (b: MoveBuilder) => {
      const surface = (y: number): number => Math.sqrt(43 * 43 - y * y) - 43 + 19.5;
      const lines: Float64Array[] = [];
      for (let y = -12; y <= 12; y++) {
        const line: number[] = [];
        for (let x = -40; x <= 40; x += 0.5) line.push(x + dx, side * y + dy, surface(y) + dz);
        lines.push(Float64Array.from(line));
      }
      rows(b, lines, { ...motion(dz), surface: (_, y) => surface(side * (y - dy)) + dz, maxLink: 2 });
    },
    // cylinder of radius 40 with crown 19.5, cusps of rows 1 mm apart
    target: (x, y) => (Math.abs(x) < 40 && Math.abs(y) < 10 ? Math.sqrt(1600 - y * y) - 40 + 19.5 : null),
    within: 0.05,
    ramps: false,
    lowest: 17,
  },
  {
    name: "levels, flat cutter in a hilly field",
    profile: flatProfile(6),
    make: (side, dx, dy, dz) => (b: MoveBuilder) => {
      const region = [mirrored(Float64Array.from([-40, -25, 40, -25, 40, 25, -40, 25]), side, dx, dy)];
      // the drop of a flat disc, by brute force over its rim and inside
      const cl = (x: number, y: number): number => {
        let high = -Infinity;
        for (let r = 0; r <= 3; r += 0.75)
          for (let a = 0; a < 24; a++)
            high = Math.max(high, hill(x - dx + r * Math.cos((a * Math.PI) / 12), side * (y - dy) + r * Math.sin((a * Math.PI) / 12)));
        return high + 0.3 + dz;
      };
      levels(b, region, cl, { ...motion(dz), top: TOP + dz, depth: 2.5, step: 3, edgePass: true });
    },
    target: (x, y) =>
      Math.abs(x) < 40 &&
      Math.abs(y) < 25 &&
      hill(x, y) === 12 &&
      hill(x - 5, y) === 12 &&
      hill(x + 5, y) === 12 &&
      hill(x, y + 4) === 12 &&
      hill(x, y - 4) === 12
        ? 12.3
        : null,
    within: 0.02,
    ramps: true,
    steepest: (10 * Math.PI) / 180,
    byThreshold: true,
    // roughing leaves 0.3 and the steps between rows
    mirrorWithin: 0.15,
    lowest: 12,
  },
  {
    name: "levels along y, region with a hole",
    profile: flatProfile(6),
    make: (side, dx, dy, dz) => (b: MoveBuilder) => {
      const region = [
        mirrored(Float64Array.from([-35, -20, 35, -20, 35, 20, -35, 20]), side, dx, dy),
        mirrored(circlePolygon(4, 2, 8, 0.01), side, dx, dy),
      ];
      levels(b, region, () => 14 + dz, { ...motion(dz), top: TOP + dz, depth: 2, step: 4, along: "y", edgePass: true });
    },
    target: (x, y) => {
      const r = Math.hypot(x - 4, y - 2);
      if (r < 5 - near) return TOP;
      return r > 5 + near && Math.abs(x) < 38 - near && Math.abs(y) < 23 - near && (Math.abs(x) < 35 || Math.abs(y) < 20) ? 14 : null;
    },
    within: 1e-9,
    ramps: true,
    steepest: (10 * Math.PI) / 180,
    byThreshold: true,
    lowest: 14,
  },
  {
    name: "contour round a part",
    profile: flatProfile(6),
    make: (side, dx, dy, dz) => (b: MoveBuilder) =>
      contour(b, mirrored(outsidePlan, side, dx, dy), {
        ...motion(dz),
        cutterDiameter: 6,
        zTop: TOP + dz,
        zBottom: 12 + dz,
        depth: 3,
        keep: "inside",
      }),
    target: (x, y) => {
      const d = insideDistance(x, y, plan);
      if (d > near) return TOP;
      return d < -near && d > -6 + near ? 12 : null;
    },
    within: 1e-9,
    ramps: true,
    lowest: 12,
  },
  {
    name: "bore, narrow",
    profile: flatProfile(6),
    make: (side, dx, dy, dz) => (b: MoveBuilder) =>
      bore(b, 3 + dx, side * 4 + dy, { diameter: 9.5, zTop: TOP + dz, zBottom: 8 + dz }, { ...motion(dz), cutterDiameter: 6, depth: 2 }),
    target: bored([4.75, 8]),
    within: 1e-9,
    ramps: true,
    lowest: 8,
  },
  {
    name: "bore in steps",
    profile: flatProfile(6),
    make: (side, dx, dy, dz) => (b: MoveBuilder) =>
      boreSteps(
        b,
        3 + dx,
        side * 4 + dy,
        [
          { diameter: 17, zTop: TOP + dz, zBottom: 15 + dz },
          { diameter: 8.8, zTop: 15 + dz, zBottom: 6 + dz },
        ],
        { ...motion(dz), cutterDiameter: 6, depth: 2 },
      ),
    target: bored([4.4, 6], [8.5, 15]),
    within: 1e-9,
    ramps: true,
    lowest: 6,
  },
  {
    name: "peck",
    profile: flatProfile(3),
    make: (side, dx, dy, dz) => (b: MoveBuilder) => peck(b, 3 + dx, side * 4 + dy, TOP + dz, 8 + dz, { ...motion(dz), peck: 3 }),
    target: bored([1.5, 8]),
    within: 1e-9,
    ramps: false,
    lowest: 8,
  },
  {
    name: "round recess with no post",
    profile: flatProfile(6),
    make: (side, dx, dy, dz) => (b: MoveBuilder) =>
      roundPocket(
        b,
        3 + dx,
        side * 4 + dy,
        { diameter: 31, zTop: TOP + dz, zBottom: 15 + dz },
        { ...motion(dz), cutterDiameter: 6, depth: 2, step: 2.5 },
      ),
    target: bored([15.5, 15]),
    within: 1e-9,
    ramps: true,
    lowest: 15,
  },
  {
    name: "channel as wide as the cutter",
    profile: flatProfile(6),
    make: (side, dx, dy, dz) => (b: MoveBuilder) =>
      channel(
        b,
        { from: [-30 + dx, dy], to: [30 + dx, dy], width: 6, zTop: TOP + dz, zBottom: 9 + dz },
        { ...motion(dz), cutterDiameter: 6, depth: 2.5, step: 2, milling: side === 1 ? "climb" : "conventional" },
      ),
    target: (x, y) => {
      const d = inStadium(x, y, -30, 30, 3);
      return d > near ? 9 : d < -near ? TOP : null;
    },
    within: 1e-9,
    ramps: true,
    lowest: 9,
  },
  {
    name: "channel wider than two cutters",
    profile: flatProfile(6),
    make: (_, dx, dy, dz) => (b: MoveBuilder) =>
      channel(
        b,
        { from: [-30 + dx, dy], to: [30 + dx, dy], width: 17, zTop: TOP + dz, zBottom: 14 + dz },
        { ...motion(dz), cutterDiameter: 6, depth: 2.5, step: 2 },
      ),
    target: (x, y) => {
      const d = inStadium(x, y, -30, 30, 8.5);
      return d > near ? 14 : d < -near ? TOP : null;
    },
    within: 1e-9,
    ramps: true,
    lowest: 14,
  },
  {
    name: "groove between open ends",
    profile: flatProfile(3),
    make: (_, dx, dy, dz) => (b: MoveBuilder) =>
      groove(
        b,
        { from: [2 + dx, -20 + dy], to: [2 + dx, 20 + dy], width: 8, zTop: TOP + dz, zBottom: 16 + dz },
        { ...motion(dz), cutterDiameter: 3, depth: 1.5, step: 2 },
      ),
    // wood only between the ends
    wood: new Wood(-45, -20, 45, 20, 0.5, TOP),
    target: (x) => (Math.abs(x - 2) < 4 - near ? 16 : Math.abs(x - 2) > 4 + near ? TOP : null),
    within: 1e-9,
    ramps: true,
    lowest: 16,
  },
  {
    name: "groove ramped into wood",
    profile: flatProfile(4),
    make: (_, dx, dy, dz) => (b: MoveBuilder) =>
      groove(
        b,
        { from: [2 + dx, -20 + dy], to: [2 + dx, 20 + dy], width: 4, zTop: TOP + dz, zBottom: 16 + dz },
        { ...motion(dz), cutterDiameter: 4, depth: 1.5, step: 2, entry: "ramp" },
      ),
    target: (x, y) => (Math.abs(x - 2) < 2 - near && Math.abs(y) < 20 ? 16 : Math.abs(x - 2) > 2 + near ? TOP : null),
    within: 1e-9,
    ramps: true,
    lowest: 16,
  },
  {
    name: "slot, blind, its floor on a radius",
    profile: flatProfile(3),
    make: (side, dx, dy, dz) => (b: MoveBuilder) =>
      slot(b, mirrored(Float64Array.from([5, -20, 6, 20]), side, dx, dy), (u) => 17 - (u - 20) ** 2 / 400 + dz, {
        ...motion(dz),
        cutterDiameter: 3,
        passDepth: 1.2,
        depth: 4.2,
        ends: "blind",
      }),
    target: (x, y) => {
      const u = y + 20;
      const off = Math.abs(x - 5 - u / 40);
      if (off > 1.5 + near || Math.abs(y) > 20 + near) return TOP;
      return off < 0.3 && Math.abs(y) < 17 ? 17 - (u - 20) ** 2 / 400 : null;
    },
    // a flat cutter on a curve stands off its ends
    within: 0.17,
    ramps: true,
    // the ramp is laid on a floor that itself falls by up to 0.1
    steepest: Math.atan(Math.tan(RAMP_ANGLE) + 0.1),
    lowest: 15.9,
  },
  {
    name: "slot, through, entered from outside",
    profile: flatProfile(3),
    make: (side, dx, dy, dz) => (b: MoveBuilder) =>
      slot(b, mirrored(Float64Array.from([5, -20, 5, 20]), side, dx, dy), () => 17 + dz, {
        ...motion(dz),
        cutterDiameter: 3,
        passDepth: 1.2,
        depth: 3,
        ends: "through",
      }),
    wood: new Wood(-45, -20, 45, 20, 0.5, TOP),
    target: (x) => (Math.abs(x - 5) < 1.5 - near ? 17 : Math.abs(x - 5) > 1.5 + near ? TOP : null),
    within: 1e-9,
    ramps: true,
    lowest: 17,
  },
  {
    name: "open contour",
    profile: flatProfile(4),
    make: (side, dx, dy, dz) => (b: MoveBuilder) =>
      openContour(b, mirrored(Float64Array.from([-30, -10, 0, 5, 30, -10]), side, dx, dy), {
        ...motion(dz),
        zTop: TOP + dz,
        zBottom: 15 + dz,
        depth: 2,
      }),
    target: (x, y) => {
      const d = Math.abs(y - (5 - Math.abs(x) / 2)) / Math.hypot(1, 0.5);
      return d < 2 - near && Math.abs(x) < 28 ? 15 : d > 4 ? TOP : null;
    },
    within: 1e-9,
    ramps: true,
    lowest: 15,
  },
];
