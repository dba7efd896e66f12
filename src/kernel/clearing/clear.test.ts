import { describe, expect, test } from "vitest";
import { EngagementField } from "../engagement.ts";
import { offsetPolygon } from "../offset.ts";
import { circlePolygon, type Polygon, polygonBounds, reversedPolygon, signedDistance } from "../polygon.ts";
import { useKernel } from "../wasm/load.ts";
import { type Clearing, clearRegion } from "./clear.ts";

const box = (x0: number, y0: number, x1: number, y1: number): Polygon => Float64Array.from([x0, y0, x1, y0, x1, y1, x0, y1]);
const ALL = [box(-500, -500, 500, 500)];
const R = 4;
const STEP = 3;
const LIMIT = Math.acos(1 - STEP / R);
const DEG = 180 / Math.PI;

/** Replays the stretches over a field of its own: largest angle on cuts and on links. */
function replay(c: Clearing, wood: Polygon, around: Polygon): { cut: number; link: number; length: number; error: number } {
  const w = polygonBounds(wood);
  const b = polygonBounds(around);
  const f = new EngagementField(w, 0, { xMin: b.xMin - 6, yMin: b.yMin - 6, xMax: b.xMax + 6, yMax: b.yMax + 6 }, 0.2);
  const most = { cut: 0, link: 0 };
  let length = 0;
  for (const s of c.stretches) {
    if (s.kind === "helix") {
      const ring = circlePolygon(s.x, s.y, s.radius, 0.002);
      for (let k = 0; k < ring.length; k += 2) {
        const n = (k + 2) % ring.length;
        f.stamp(ring[k], ring[k + 1], -1, ring[n], ring[n + 1], -1, R, k > 0);
      }
      continue;
    }
    const q = s.xy;
    for (let k = 2; k < q.length; k += 2) {
      const [dx, dy] = [q[k] - q[k - 2], q[k + 1] - q[k - 1]];
      const L = Math.hypot(dx, dy);
      if (L < 1e-9) continue;
      const n = Math.ceil(L / 0.4);
      for (let m = 1; m <= n; m++) {
        f.measure(q[k - 2] + (dx * m) / n, q[k - 1] + (dy * m) / n, -1, dx / L, dy / L, R, 1);
        most[s.kind] = Math.max(most[s.kind], f.angle);
      }
      f.stamp(q[k - 2], q[k - 1], -1, q[k], q[k + 1], -1, R, k > 2);
      if (s.kind === "cut") length += L;
    }
  }
  return { ...most, length, error: f.error(R, 0.3) };
}

const SHAPES: readonly (readonly [string, readonly Polygon[]])[] = [
  ["pocket", [box(0, 0, 50, 30)]],
  ["round", [circlePolygon(0, 0, 20, 0.002)]],
  ["island", [box(0, 0, 60, 44), reversedPolygon(circlePolygon(30, 22, 7, 0.002))]],
  ["lane", [Float64Array.from([0, 0, 50, 0, 50, 50, 36, 50, 36, 14, 0, 14])]],
];

describe("clearing with bounded engagement", () => {
  test.each(SHAPES)("closed %s: bounded, inside, cleared but for corners too sharp for the bound", (_, area) => {
    const centres = offsetPolygon(area, -R - 0.001, { arcTolerance: 0.001 });
    const c = clearRegion(centres, ALL, { radius: R, limit: LIMIT });
    const a = replay(c, ALL[0], area[0]);
    expect(a.cut * DEG).toBeLessThan(LIMIT * DEG * 1.1 + a.error * DEG);
    expect(a.link * DEG).toBeLessThan(20);
    expect(c.left).toBeLessThan(8);
    expect(c.target).toBeGreaterThan(300);
    expect(c.stretches[0].kind).toBe("helix");
    for (const s of c.stretches) {
      if (s.kind === "helix") continue;
      for (let k = 0; k < s.xy.length; k += 2) expect(signedDistance(area, s.xy[k], s.xy[k + 1])).toBeLessThan(-R + 0.003);
    }
    expect(a.length).toBeLessThan((3.2 * c.target) / STEP);
  });

  test("an open strip is entered from the air and becomes long passes with next to no way back", () => {
    const wood = box(0, 0, 100, 30);
    const room = [box(-10, -10, 110, 40)];
    const c = clearRegion(room, [wood], { radius: R, limit: LIMIT });
    const a = replay(c, wood, room[0]);
    expect(a.cut * DEG).toBeLessThan(LIMIT * DEG * 1.1);
    expect(c.left).toBeLessThan(1);
    expect(c.stretches.filter((s) => s.kind === "helix")).toEqual([]);
    expect(a.length).toBeLessThan((1.35 * 3000) / STEP);
  });

  test("the uncut only on the right when asked; the same input gives the same way", () => {
    const o = { radius: R, limit: LIMIT, side: "right" as const };
    const area = [box(0, 0, 40, 30)];
    const centres = offsetPolygon(area, -R - 0.001);
    const [a, b] = [clearRegion(centres, ALL, o), clearRegion(centres, ALL, o)];
    expect(b).toEqual(a);
    expect(a.left).toBeLessThan(8);
  });

  test("what the disc cannot reach is no target; nothing to do makes no way", () => {
    expect(clearRegion([box(0, 0, 20, 20)], [box(50, 50, 60, 60)], { radius: R, limit: LIMIT }).stretches).toEqual([]);
    const c = clearRegion([box(0, 0, 20, 20)], [box(-20, -20, 40, 40)], { radius: R, limit: LIMIT });
    expect(c.target).toBeLessThan(28 * 28);
  });

  test("WebAssembly plans the same way as plain TypeScript, to the last bit", () => {
    for (const [, area] of SHAPES.slice(2)) {
      const centres = offsetPolygon(area, -R - 0.001, { arcTolerance: 0.001 });
      const planned = (["wasm", "plain"] as const).map((kind) => {
        useKernel(kind);
        const c = clearRegion(centres, ALL, { radius: R, limit: LIMIT });
        useKernel("wasm");
        return c;
      });
      expect(planned[0].stretches.length).toBeGreaterThan(3);
      expect(planned[0]).toEqual(planned[1]);
    }
  });
});
