import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { MoveBuilder, MoveKind } from "../../kernel/moves.ts";
import { shapedChannel } from "./shaped.ts";

const how = { feed: 20, ramp: 10, plunge: 5, safeZ: 60, approachZ: 32, cutterDiameter: 6, depth: 3, step: 2.4 };

/** A channel along x whose surface leans by `lean` and whose floor hangs by `sag` midway. */
const along = (length: number, width: number, lean: number, sag: number, deep: number) => ({
  from: [10, 5] as const,
  to: [10 + length, 5] as const,
  width,
  top: (u: number) => 30 + lean * u,
  floor: (u: number) => 30 + lean * u - deep - (4 * sag * u * (length - u)) / (length * length),
});

describe("a channel whose floor or surface is no level plane", () => {
  const channels = fc.record({
    length: fc.double({ min: 15, max: 200, noNaN: true }),
    width: fc.double({ min: 6, max: 14, noNaN: true }),
    lean: fc.double({ min: -0.3, max: 0.3, noNaN: true }),
    sag: fc.double({ min: 0, max: 3, noNaN: true }),
    deep: fc.double({ min: 1, max: 25, noNaN: true }),
  });

  test("never lower than its floor nor outside its walls; the floor is reached all along and the walls all round", () => {
    fc.assert(
      fc.property(channels, (c) => {
        const ch = along(c.length, c.width, c.lean, c.sag, c.deep);
        const b = new MoveBuilder([0, 0, 60]);
        shapedChannel(b, ch, how);
        const m = b.list();
        const side = (c.width - how.cutterDiameter) / 2;
        let [px, py, pz] = m.start;
        const lowest = new Map<number, number>();
        let under = 0;
        let outside = 0;
        let left = 0;
        let right = 0;
        for (let k = 0; k < m.count; k++) {
          const n = m.kind[k] === MoveKind.rapid ? 1 : Math.max(1, Math.ceil(Math.hypot(m.x[k] - px, m.y[k] - py)));
          for (let i = 1; i <= n; i++) {
            const [x, y, z] = [px + ((m.x[k] - px) * i) / n, py + ((m.y[k] - py) * i) / n, pz + ((m.z[k] - pz) * i) / n];
            if (z > 29 + Math.max(0, c.lean * c.length)) continue;
            const u = x - 10;
            // a chord over a hollow floor lies above it, over a bulge below: by far less than the tolerance of a floor
            under = Math.max(under, ch.floor(u) - z);
            outside = Math.max(outside, Math.hypot(Math.max(0, -u, u - c.length), y - 5) - side);
            const at = Math.round(u);
            lowest.set(at, Math.min(lowest.get(at) ?? 99, z - ch.floor(u)));
            if (u > 2 && u < c.length - 2) {
              left = Math.max(left, y - 5);
              right = Math.max(right, 5 - y);
            }
          }
          [px, py, pz] = [m.x[k], m.y[k], m.z[k]];
        }
        expect(under).toBeLessThan(0.003);
        expect(outside).toBeLessThan(0.001);
        let short = 0;
        for (let u = 1; u < Math.floor(c.length); u++) short = Math.max(short, lowest.get(u) ?? 99);
        expect(short).toBeLessThan(0.02);
        expect(Math.min(left, right)).toBeGreaterThan(side - 0.001);
        expect(m.z[m.count - 1]).toBe(60);
      }),
      { seed: 20260101, numRuns: 30 },
    );
  });

  test("what makes no path is refused", () => {
    const b = new MoveBuilder([0, 0, 60]);
    expect(() => shapedChannel(b, along(50, 5, 0, 0, 4), how)).toThrow(/narrower than its cutter/);
    expect(() => shapedChannel(b, along(0, 8, 0, 0, 4), how)).toThrow(/two different ends/);
    expect(() => shapedChannel(b, along(50, 8, 0, 0, -1), how)).toThrow(/no depth/);
  });
});
