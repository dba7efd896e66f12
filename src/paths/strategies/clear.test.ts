import { describe, expect, test } from "vitest";
import { makeMap } from "../../kernel/heightmap.ts";
import { makeStock } from "../../kernel/make-stock.ts";
import { MoveBuilder, MoveKind } from "../../kernel/moves.ts";
import type { Polygon } from "../../kernel/polygon.ts";
import { flatProfile } from "../../kernel/profile.ts";
import { clear } from "./clear.ts";

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
