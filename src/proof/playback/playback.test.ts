import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { ClockLimits } from "../../kernel/clock.ts";
import { block, blockInput, FLAT } from "../block.test-data.ts";
import type { SimulationInput } from "../simulate.ts";
import { Playback } from "./playback.ts";

/* A clearing by lines and a ring by arcs, a second cutter after the first. */

const LONG = { ...FLAT, fluteLength: 20, reach: 30 };
const text = (lines: string): Uint8Array => block(`G0 X5 Y5\n${lines}`);
const input = (): SimulationInput =>
  blockInput(
    [
      { file: "a.ngc", cutter: 1, cuts: ["a"], text: text("G1 Z-2 F300\nX55 F1500\nY12\nX5\nG3 X5 Y20 I0 J4 F900") },
      { file: "b.ngc", cutter: 2, cuts: ["b"], text: text("G1 Z-4 F300\nG2 X5 Y5 I10 J0 Z-6 F800\nG1 X40 Y25 Z-5") },
    ],
    0.5,
    [],
    [LONG, { ...LONG, number: 2, shape: "ball", cornerRadius: 3 }],
  );

const XYZ = (v: number): { x: number; y: number; z: number } => ({ x: v, y: v, z: v });
const LIMITS: ClockLimits = { feed: XYZ(50), rapid: XYZ(100), acceleration: XYZ(500), junctionDeviation: 0.01 };
const open = (keep: number): Playback => new Playback(input(), "board", LIMITS, { cell: 0.5, keep });
const most = (a: Float32Array, b: Float32Array): number => a.reduce((m, v, k) => Math.max(m, Math.abs(v - b[k])), 0);

describe("playing a side back", () => {
  const one = open(6);

  test("any moment looks the same from wherever it is reached", () => {
    const moment = fc.double({ min: 0, max: one.seconds, noNaN: true });
    fc.assert(
      fc.property(moment, moment, (t, u) => {
        one.seek(t);
        one.seek(u);
        const fresh = open(2);
        fresh.seek(u);
        expect(most(one.stock.map.z, fresh.stock.map.z)).toBeLessThan(1e-4);
      }),
      { seed: 20260101, numRuns: 40 },
    );
  });

  test("wood only ever goes away, and at the end all that both programs take is gone", () => {
    let before = Number.POSITIVE_INFINITY;
    for (let k = 0; k <= 20; k++) {
      one.seek((one.seconds * k) / 20);
      const left = one.stock.map.z.reduce((a, v) => a + v, 0);
      expect(left).toBeLessThanOrEqual(before + 1e-6);
      before = left;
    }
    const { map } = one.stock;
    const at = (x: number, y: number): number => map.z[Math.round((y - map.y0) / map.cell) * map.nx + Math.round((x - map.x0) / map.cell)];
    expect(at(30, 5)).toBeCloseTo(-2, 5);
    // the nearest cell's centre may lie up to 0.36 mm from the ball's lowest point
    expect(Math.abs(at(40, 25) + 5)).toBeLessThan(3 - Math.sqrt(9 - 0.36 ** 2));
    one.seek(0);
    expect(Math.min(...map.z)).toBe(0);
  });

  test("times, lines and places agree with the text", () => {
    const p = one.programs[0];
    expect(one.programs[1].from).toBeCloseTo(p.ends.at(-1)!, 9);
    const t = one.secondOf("a.ngc", 9)!;
    const m = one.momentAt(t + 1e-9);
    expect(m.line).toBe(9);
    expect(m.tip[0]).toBeCloseTo(5, 3);
    expect(m.tip[1]).toBeCloseTo(12, 3);
    // half of the half circle about (5, 16): x is 4 to the right
    const half = one.momentAt((t + one.secondOf("a.ngc", 10)!) / 2);
    expect(Math.hypot(half.tip[0] - 5, half.tip[1] - 16)).toBeCloseTo(4, 6);
    expect(p.rpm.at(-2)).toBe(12000);
    expect(one.secondOf("a.ngc", 999)).toBeNull();
  });

  test("the wood each move takes adds up to what is gone", () => {
    const { map } = one.stock;
    const rest = (): number => map.z.reduce((a, v) => a + v, 0) * map.cell ** 2;
    const p = one.programs[1];
    one.seek(p.from);
    const before = rest();
    const wood = one.woodAlong(1);
    const taken = wood.reduce((sum, v, k) => sum + v * (p.ends[k] - (k > 0 ? p.ends[k - 1] : 0)), 0);
    expect(taken).toBeGreaterThan(100);
    expect(taken).toBeCloseTo(before - rest(), 0);
    // the first moves are rapids in the air
    expect(wood[0]).toBe(0);
  });
});
