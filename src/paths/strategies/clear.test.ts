import { describe, expect, test } from "vitest";
import { type EngagementBox, EngagementField } from "../../kernel/engagement.ts";
import { makeMap } from "../../kernel/heightmap.ts";
import { makeStock } from "../../kernel/make-stock.ts";
import { MoveBuilder, MoveKind, type MoveList } from "../../kernel/moves.ts";
import { circlePolygon, type Polygon } from "../../kernel/polygon.ts";
import { flatProfile } from "../../kernel/profile.ts";
import { clear, inTurn, narrowing, type Slab, type SlabsAhead } from "./clear.ts";

const box = (x0: number, y0: number, x1: number, y1: number): Polygon => Float64Array.from([x0, y0, x1, y0, x1, y1, x0, y1]);
const MOTION = { feed: 40, ramp: 20, plunge: 10, safeZ: 20, approachZ: 2 };
const OPTIONS = { ...MOTION, cutterDiameter: 8, top: 0, depth: 3, floor: -6, limit: Math.acos(1 - 2 * 0.4), wood: [box(-50, -50, 90, 80)] };

describe("clearing in slabs", () => {
  // a floor, and a slope of 30 degrees up to the wood's top
  const cl = (x: number): number => Math.min(0, Math.max(-6, (x - 22) * 0.577 - 6));
  const region = [box(0, 0, 40, 24)];
  const b = new MoveBuilder([0, 0, 20]);
  const done = clear(b, region, cl, OPTIONS);
  const m = b.list();

  test("the tip keeps above the field and the floor, inside the region, and ends at the safe height", () => {
    let low = 0;
    let out = 0;
    for (let k = 0; k < m.count; k++) {
      if (m.z[k] >= 0 || m.kind[k] === MoveKind.rapid) continue;
      low = Math.max(low, Math.max(-6, cl(m.x[k])) - m.z[k]);
      out = Math.max(out, -m.x[k], m.x[k] - 40, -m.y[k], m.y[k] - 24);
    }
    expect(low).toBeLessThan(0.006);
    expect(out).toBeLessThan(0.01);
    expect(b.pz).toBe(20);
  });

  test("no rapid goes below the wood's top, where a sliver thinner than the map's cell could stand beside it", () => {
    for (let k = 0; k < m.count; k++) if (m.kind[k] === MoveKind.rapid) expect(m.z[k]).toBeGreaterThanOrEqual(OPTIONS.approachZ);
  });

  test("no rapid and no straight plunge goes through wood; floor and slope are cleared", () => {
    const map = makeMap(-8, -8, 48, 32, 0.25, 0);
    const stock = makeStock(map);
    const flat = flatProfile(8);
    let [px, py, pz] = m.start;
    let deepest = Number.NEGATIVE_INFINITY;
    for (let k = 0; k < m.count; k++) {
      const down = m.kind[k] === MoveKind.rapid || (m.x[k] === px && m.y[k] === py && m.z[k] < pz && m.kind[k] === MoveKind.line);
      // straight down at feed the tip may meet the low steps that a slope has kept
      const most = m.kind[k] === MoveKind.rapid ? 0.001 : 0.8;
      if (down) deepest = Math.max(deepest, stock.penetration(3.7, px, py, pz, m.x[k], m.y[k], m.z[k]) - most);
      stock.cut(flat, m, k, k + 1);
      [px, py, pz] = [m.x[k], m.y[k], m.z[k]];
    }
    expect(deepest).toBeLessThan(0);
    const at = (x: number, y: number): number => stock.map.z[Math.round((y - map.y0) / 0.25) * map.nx + Math.round((x - map.x0) / 0.25)];
    for (let x = 1; x <= 30; x += 1) for (let y = 1; y <= 23; y += 1) expect(at(x, y)).toBeLessThan(Math.max(-6, cl(x)) + 0.5);
    expect(done.left).toBeLessThan(12);
  });

  test("nothing to cut makes no move down; options that make no path are refused", () => {
    const c = new MoveBuilder([0, 0, 20]);
    clear(c, region, () => 0, OPTIONS);
    expect(c.count).toBe(0);
    expect(() => clear(c, region, cl, { ...OPTIONS, depth: 0 })).toThrow(RangeError);
  });
});

/** Largest load of the moves on a box of wood, and how far it may be off. */
function replayed(m: MoveList, wood: EngagementBox, depth: number): { most: number; error: number } {
  const field = new EngagementField(wood, 0, wood, 0.2);
  let most = 0;
  let [px, py, pz] = m.start;
  for (let k = 0; k < m.count; k++) {
    const L = Math.hypot(m.x[k] - px, m.y[k] - py);
    if (m.kind[k] === MoveKind.line && L > 1e-6) {
      const [ux, uy] = [(m.x[k] - px) / L, (m.y[k] - py) / L];
      const n = Math.ceil(L / 0.4);
      for (let i = 1; i <= n; i++) {
        const t = i / n;
        field.measure(px + (m.x[k] - px) * t, py + (m.y[k] - py) * t, pz + (m.z[k] - pz) * t, ux, uy, 4, depth);
        most = Math.max(most, field.load);
      }
      field.stamp(px, py, pz, m.x[k], m.y[k], m.z[k], 4, false);
    } else if (m.kind[k] === MoveKind.arc) {
      const r = Math.hypot(px - m.cx[k], py - m.cy[k]);
      const at = (i: number): [number, number] => [m.cx[k] + r * Math.cos((Math.PI * i) / 12), m.cy[k] + r * Math.sin((Math.PI * i) / 12)];
      for (let i = 1; i <= 24; i++) field.stamp(...at(i - 1), m.z[k], ...at(i), m.z[k], 4, false);
    }
    [px, py, pz] = [m.x[k], m.y[k], m.z[k]];
  }
  return { most, error: field.error(4, 0.4) };
}

describe("many slabs beside a round wall", () => {
  const region = [circlePolygon(0, 0, 22, 0.001)];
  const o = { ...OPTIONS, depth: 1.7, floor: -10.2, wood: [box(-60, -60, 60, 60)] };
  const b = new MoveBuilder([0, 0, 20]);
  clear(b, region, () => -10.2, o);
  const m = b.list();

  test("no slab meets what those above have left at the wall", () => {
    const { most, error } = replayed(m, { xMin: -60, yMin: -60, xMax: 60, yMax: 60 }, o.depth);
    expect(most).toBeLessThan(1.1 * o.limit + error);
  });

  test("every slab is cleared, the last one too, as far as the walls narrow toward it", () => {
    const map = makeMap(-30, -30, 30, 30, 0.25, 0);
    const stock = makeStock(map);
    stock.cut(flatProfile(8), m, 0, m.count);
    const less = narrowing(8, 10.2, o.depth);
    expect(less).toBeCloseTo(5 / 3, 6);
    let [all, high] = [0, 0];
    for (let j = 0; j < map.ny; j++)
      for (let i = 0; i < map.nx; i++)
        if (Math.hypot(map.x0 + i * 0.25, map.y0 + j * 0.25) < 26 - less - 0.4) {
          all++;
          if (map.z[j * map.nx + i] > -10.1) high++;
        }
    expect(all).toBeGreaterThan(25_000);
    expect(high / all).toBeLessThan(0.01);
  });
});

describe("slabs planned elsewhere", () => {
  const region = [circlePolygon(0, 0, 22, 0.001)];
  const o = { ...OPTIONS, depth: 1.7, floor: -10.2, wood: [box(-60, -60, 60, 60)] };
  const planned = (slabs?: (ahead: SlabsAhead) => readonly Slab[]): MoveList => {
    const b = new MoveBuilder([0, 0, 20]);
    clear(b, region, () => -10.2, { ...o, ...(slabs && { slabs }) });
    return b.list();
  };
  const turns = planned();

  test("the same moves come of them in whatever order they are planned, and as plain data from elsewhere", () => {
    const apart = planned((ahead) => {
      const first = ahead.plan(1, null);
      const bare = structuredClone({ ...first, stretches: [] });
      const others = Array.from({ length: ahead.count - 1 }, (_, k) => ahead.count - k).map((k) => ahead.plan(k, bare));
      return structuredClone([first, ...others.reverse()]);
    });
    expect(apart.count).toBeGreaterThan(1000);
    for (const k of ["x", "y", "z", "kind", "feed", "sweep"] as const) expect(apart[k]).toEqual(turns[k]);
  });

  test("a slab that would go near what one above it has left, the first excepted, is planned anew", () => {
    // the second slab says that it has left something about (9, 0): the fourth keeps its whole disc away from there
    const [x, y, r] = [9, 0, 1.5];
    let grid: readonly [number, number] | null = null;
    const kept = planned((ahead) => {
      const [nx, ny, x0, y0] = ahead.key.split(" ").slice(-4).map(Number);
      const cell = 4 / 12;
      grid = [nx, ny];
      const slabs = [...inTurn(ahead)];
      const clear = new Float32Array(nx * ny);
      for (let p = 0; p < clear.length; p++) clear[p] = Math.hypot(x0 + (p % nx) * cell - x, y0 + Math.floor(p / nx) * cell - y) - r - 4;
      slabs[1] = { ...slabs[1], clear };
      return slabs;
    });
    expect(grid).not.toBeNull();
    const near = (m: MoveList, from: number, to: number): number => {
      let least = Infinity;
      for (let k = 0; k < m.count; k++) if (m.z[k] >= from && m.z[k] < to) least = Math.min(least, Math.hypot(m.x[k] - x, m.y[k] - y));
      return least;
    };
    // second slab, floor at -3.4: as it was; all below keep off
    expect(near(kept, -3.45, -3.35)).toBeLessThan(1);
    expect(near(kept, -11, -3.5)).toBeGreaterThan(r + 4 - 0.5);
    expect(near(turns, -11, -3.5)).toBeLessThan(1);
  });

  test("another number of slabs than there are is an error", () => {
    expect(() => planned((ahead) => inTurn(ahead).slice(1))).toThrow(/5 slabs are there of 6/);
  });
});

describe("a blank whose edge is not where the order says", () => {
  // a strip that is open all around: the cutter comes in from outside
  const region = [box(-14, -14, 74, 44)];
  const planned = (margin: number): MoveList => {
    const b = new MoveBuilder([0, 0, 20]);
    clear(b, region, () => -3, { ...OPTIONS, floor: -3, wood: [box(-margin, -margin, 60 + margin, 30 + margin)] });
    return b.list();
  };
  const real = (more: number): EngagementBox => ({ xMin: -more, yMin: -more, xMax: 60 + more, yMax: 30 + more });

  test("starts lie outside of it, and no pass meets more than asked, as far as the margin goes", () => {
    const m = planned(2);
    for (const more of [0, 1, 2]) {
      const { most, error } = replayed(m, real(more), 3);
      expect(most).toBeLessThan(1.1 * OPTIONS.limit + error);
      expect(most).toBeGreaterThan(0.5 * OPTIONS.limit);
    }
    let [px, py, pz] = m.start;
    for (let k = 0; k < m.count; k++) {
      // straight down: the disc keeps clear of the larger blank
      if (m.x[k] === px && m.y[k] === py && m.z[k] < Math.min(pz, -0.5) && pz >= 0) {
        const off = Math.hypot(Math.max(-2 - px, px - 62, 0), Math.max(-2 - py, py - 32, 0));
        expect(off).toBeGreaterThan(3.9);
      }
      [px, py, pz] = [m.x[k], m.y[k], m.z[k]];
    }
  });

  test("planned without a margin, the same blank would be too much for it", () => {
    const { most, error } = replayed(planned(0), real(2), 3);
    expect(most).toBeGreaterThan(1.1 * OPTIONS.limit + error);
  });
});
