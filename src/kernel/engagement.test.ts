import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { EngagementField } from "./engagement.ts";
import { useKernel } from "./wasm/load.ts";

const WOOD = { xMin: 0, yMin: 0, xMax: 60, yMax: 40 };
const DEG = 180 / Math.PI;
const STEP = 0.4;

/** Angle of the front half circle that lies in the wood and outside all capsules, by brute force on 4000 points. */
function exact(caps: readonly number[][], x: number, y: number, ux: number, uy: number, r: number): number {
  const n = 4000;
  let hit = 0;
  for (let k = 0; k < n; k++) {
    const a = Math.PI * ((k + 0.5) / n - 0.5);
    const px = x + r * (Math.cos(a) * ux - Math.sin(a) * uy);
    const py = y + r * (Math.sin(a) * ux + Math.cos(a) * uy);
    if (px < WOOD.xMin || px > WOOD.xMax || py < WOOD.yMin || py > WOOD.yMax) continue;
    const cut = caps.some(([ax, ay, bx, by]) => {
      const dx = bx - ax;
      const dy = by - ay;
      const t = Math.max(0, Math.min(1, ((px - ax) * dx + (py - ay) * dy) / (dx * dx + dy * dy || 1)));
      return Math.hypot(px - ax - t * dx, py - ay - t * dy) < r + 1e-4;
    });
    if (!cut) hit++;
  }
  return (hit / n) * Math.PI;
}

describe("engagement measured on pixels", () => {
  test("a strip of width ae at the side: acos(1 - ae / R), at any heading; a full slot: a half circle", () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.1, max: 1.9, noNaN: true }),
        fc.constantFrom(1.5, 3, 4),
        fc.double({ min: 0, max: 6.28, noNaN: true }),
        (share, r, heading) => {
          const f = new EngagementField(WOOD, 0, WOOD, Math.min(0.2, r / 10));
          const [ux, uy] = [Math.cos(heading), Math.sin(heading)];
          const ae = share * r;
          // the first pass, then one beside it on the right
          const at = (along: number, left: number): [number, number] => [30 + along * ux - left * uy, 20 + along * uy + left * ux];
          const [a, b] = [at(-9, 0), at(9, 0)];
          f.measure(...at(-8.6, 0), -1, ux, uy, r, 1);
          const slot = f.angle;
          f.stamp(...a, -1, ...b, -1, r, false);
          f.measure(...at(0, -ae), -1, ux, uy, r, 1);
          expect(Math.abs(slot - Math.PI)).toBeLessThan(0.001);
          // a slot beside a slot as wide as both meets the strip and no more
          const want = ae < 2 * r ? Math.acos(1 - ae / r) : Math.PI;
          expect(Math.abs(f.angle - want) * DEG).toBeLessThan(f.error(r, STEP) * DEG);
          expect(f.load).toBeCloseTo(f.angle, 6);
        },
      ),
      { seed: 20260101, numRuns: 60 },
    );
  });

  test("after any winding of passes the angle is that of the exact capsules, within the error it states", () => {
    const point = fc.tuple(fc.double({ min: -3, max: 63, noNaN: true }), fc.double({ min: -3, max: 43, noNaN: true }));
    fc.assert(
      fc.property(fc.array(point, { minLength: 2, maxLength: 9 }), fc.constantFrom(1.5, 3, 4), (points, r) => {
        const f = new EngagementField(WOOD, 0, WOOD, Math.min(0.2, r / 10));
        const caps: number[][] = [];
        for (let k = 1; k < points.length; k++) {
          const [ax, ay] = points[k - 1];
          const [bx, by] = points[k];
          const L = Math.hypot(bx - ax, by - ay);
          if (L < 1) continue;
          const [ux, uy] = [(bx - ax) / L, (by - ay) / L];
          for (const s of [STEP, L / 2, L]) {
            f.measure(ax + s * ux, ay + s * uy, -2, ux, uy, r, 2);
            const want = exact(caps, ax + s * ux, ay + s * uy, ux, uy, r);
            // two edges of each of the horns that passes leave between them may be off
            expect(Math.abs(f.angle - want) * DEG).toBeLessThan(2 * f.error(r, STEP) * DEG);
          }
          f.stamp(ax, ay, -2, bx, by, -2, r, caps.length > 0);
          caps.push([ax, ay, bx, by]);
        }
      }),
      { seed: 20260101, numRuns: 60 },
    );
  });

  test("wood half as high as the depth asked weighs half; what a shallower level took is not wood any more", () => {
    const f = new EngagementField(WOOD, 0, WOOD, 0.2);
    f.stamp(-5, 20, -3, 65, 20, -3, 4, false);
    f.measure(30, 20, -5, 1, 0, 4, 4);
    expect(f.angle * DEG).toBeCloseTo(180, 1);
    expect((f.load * DEG) / 180).toBeCloseTo(0.5, 1.5);
    f.measure(30, 20, -3, 1, 0, 4, 4);
    expect(f.angle).toBe(0);
    f.stamp(-5, 20, -5, 65, 20, -5, 4, false);
    f.measure(30, 18, -5, 1, 0, 4, 4);
    expect(f.angle * DEG).toBeCloseTo(60, -1);
  });

  test("a filled recess is wood again", () => {
    const f = new EngagementField(WOOD, 0, WOOD, 0.2);
    f.stamp(-5, 20, -3, 65, 20, -3, 4, false);
    f.fill({ xMin: 20, yMin: 10, xMax: 40, yMax: 30 }, 0, (x) => Math.abs(x - 30) - 10);
    f.measure(30, 20, -3, 1, 0, 4, 3);
    expect(f.angle * DEG).toBeCloseTo(180, 1);
    f.measure(10, 20, -3, 1, 0, 4, 3);
    expect(f.angle).toBe(0);
  });

  test("a joined stamp leaves what a fresh one leaves, for the rim", () => {
    const path = Array.from({ length: 60 }, (_, k) => [20 + 8 * Math.cos(k / 9), 20 + 8 * Math.sin(k / 9)] as const);
    const make = (joined: boolean): EngagementField => {
      const f = new EngagementField(WOOD, 0, WOOD, 0.2);
      for (let k = 1; k < path.length; k++) f.stamp(...path[k - 1], -1, ...path[k], -1, 4, joined && k > 1);
      return f;
    };
    const [a, b] = [make(true), make(false)];
    for (let k = 0; k < 50; k++) {
      const [x, y, h] = [8 + (k % 10) * 3, 8 + Math.floor(k / 10) * 6, k];
      a.measure(x, y, -1, Math.cos(h), Math.sin(h), 4, 1);
      b.measure(x, y, -1, Math.cos(h), Math.sin(h), 4, 1);
      expect(a.angle).toBeCloseTo(b.angle, 6);
    }
  });

  test("told where it will be looked, and when for the last time, a field measures there exactly what a whole one does", () => {
    const place = fc.tuple(fc.integer({ min: 0, max: 600 }), fc.integer({ min: 0, max: 400 }), fc.integer({ min: 1, max: 30 }));
    const cut = fc.record({ path: fc.array(place, { minLength: 2, maxLength: 6 }), asked: fc.boolean(), joined: fc.boolean() });
    fc.assert(
      fc.property(fc.array(cut, { minLength: 1, maxLength: 5 }), (cuts) => {
        const whole = new EngagementField(WOOD, 0, WOOD, 0.2);
        const told = new EngagementField(WOOD, 0, WOOD, 0.2, true);
        const legs = cuts.map(({ path, asked, joined }) => {
          const at = path.map(([x, y, z]) => [x / 10, y / 10, -z / 10] as const);
          return { asked, joined, legs: at.slice(1).map((b, k) => [at[k], b] as const) };
        });
        for (const [turn, c] of legs.entries()) if (c.asked) for (const [a, b] of c.legs) told.willLook(turn, a[0], a[1], b[0], b[1], 3);
        for (const [turn, c] of legs.entries()) {
          told.begin(turn);
          for (const [n, [a, b]] of c.legs.entries()) {
            const L = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
            for (const share of c.asked ? [0.3, 1] : []) {
              const at = [0, 1, 2].map((d) => a[d] + share * (b[d] - a[d])) as [number, number, number];
              for (const f of [whole, told]) f.measure(...at, (b[0] - a[0]) / L, (b[1] - a[1]) / L, 3, 1);
              expect([told.angle, told.load]).toEqual([whole.angle, whole.load]);
            }
            for (const f of [whole, told]) f.stamp(...a, ...b, 3, c.joined && n > 0);
          }
        }
      }),
      { seed: 20260101, numRuns: 60 },
    );
  });

  test("down a ramp in a slot, beside its wall: three heights meet, and the load is that of the layer above alone", () => {
    const wood = { xMin: -60, yMin: -60, xMax: 60, yMax: 60 };
    const slope = Math.tan(15 / DEG);
    const [top, above, depth, r] = [26.3, 17.14, 1.9, 4];
    for (let heading = 0; heading < 360; heading += 7) {
      const [ux, uy] = [Math.cos(heading / DEG), Math.sin(heading / DEG)];
      const f = new EngagementField(wood, top, { xMin: -14, yMin: -14, xMax: 14, yMax: 14 }, 0.2);
      f.stamp(-20 * ux, -20 * uy, above, 20 * ux, 20 * uy, above, r, false);
      for (let k = 0; k < 14; k++) {
        const [s, n] = [-4 + STEP * k, -4 + STEP * (k + 1)];
        const [z, next] = [s, n].map((v) => 16.8 - (v + 4) * slope);
        f.measure(n * ux, n * uy, next, ux, uy, r, depth, "middle");
        expect(f.load).toBeCloseTo((Math.PI * (above - next)) / depth, 4);
        f.stamp(s * ux, s * uy, z, n * ux, n * uy, next, r, k > 0);
      }
    }
  });

  test("WebAssembly measures the same as plain TypeScript, to the last bit: ramps, plunges, layers, refilled wood", () => {
    const place = fc.record({
      x: fc.double({ min: -4, max: 64, noNaN: true }),
      y: fc.double({ min: -4, max: 44, noNaN: true }),
      z: fc.constantFrom(-6, -3, -1.5, -0.04, 1),
      near: fc.boolean(),
      refill: fc.boolean(),
    });
    fc.assert(
      fc.property(fc.array(place, { minLength: 20, maxLength: 60 }), fc.constantFrom(1.5, 4), fc.boolean(), (places, r, told) => {
        const run = (kind: "wasm" | "plain"): number[] => {
          useKernel(kind);
          const f = new EngagementField(WOOD, 0, WOOD, Math.min(0.2, r / 10), told);
          useKernel("wasm");
          if (told) f.willLook(1, 5, 5, 50, 30, r);
          f.begin(1);
          const out: number[] = [];
          let [x, y, z] = [30, 20, 1];
          let joined = false;
          for (const [k, p] of places.entries()) {
            const to = p.near ? { ...p, x: x + (p.x - 30) / 60, y: y + (p.y - 20) / 60, z } : p;
            const l = Math.hypot(to.x - x, to.y - y) || 1;
            f.measure(to.x, to.y, to.z, (to.x - x) / l, (to.y - y) / l, r, 3, (["front", "whole", "middle"] as const)[k % 3]);
            out.push(f.angle, f.load);
            f.stamp(x, y, z, to.x, to.y, to.z, r, joined);
            joined = true;
            [x, y, z] = [to.x, to.y, to.z];
            if (p.refill && k % 7 === 0)
              f.fill({ xMin: 10, yMin: 10, xMax: 20, yMax: 20 }, 0, (px, py) => Math.hypot(px - 15, py - 15) - 5);
          }
          return out;
        };
        expect(run("wasm")).toEqual(run("plain"));
      }),
      { seed: 20261126, numRuns: 60 },
    );
  });
});
