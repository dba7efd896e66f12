import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { numbers } from "./brute.ts";
import { type ClockLimits, cornerSpeed2, secondsOf, timeOf, trapezoid } from "./clock.ts";
import { MoveBuilder, type MoveList } from "./moves.ts";
import { useKernel } from "./wasm/load.ts";

const clock = (moves: MoveList, limits: ClockLimits): number => timeOf(moves, limits).seconds;

const all = (v: number): { x: number; y: number; z: number } => ({ x: v, y: v, z: v });
const LIMITS: ClockLimits = { feed: all(100), rapid: all(200), acceleration: all(500), junctionDeviation: 0.01 };

function list(build: (b: MoveBuilder) => void): MoveList {
  const b = new MoveBuilder([0, 0, 0]);
  build(b);
  return b.list();
}

describe("the clock", () => {
  test("a long line: s/v + v/a, from rest to rest", () => {
    const t = clock(
      list((b) => b.lineTo(300, 0, 0, 50)),
      LIMITS,
    );
    expect(t).toBeCloseTo(300 / 50 + 50 / 500, 12);
  });

  test("a short line never reaches its feed: 2 sqrt(s/a)", () => {
    const t = clock(
      list((b) => b.lineTo(0, 0.5, 0, 50)),
      LIMITS,
    );
    expect(t).toBeCloseTo(2 * Math.sqrt(0.5 / 500), 12);
  });

  test("the slowest axis limits a slanting move, and the feed is along the path", () => {
    const slow: ClockLimits = { ...LIMITS, rapid: { x: 200, y: 200, z: 20 }, acceleration: { x: 500, y: 500, z: 1e9 } };
    const t = clock(
      list((b) => b.rapid(300, 0, 400)),
      slow,
    );
    // z moves 400 of 500 mm at no more than 20 mm/s: 25 mm/s along the path; x may accelerate 500 of 0.6 of the path
    expect(t).toBeCloseTo(500 / 25 + 25 / (500 / 0.6), 9);
  });

  test("a line cut into pieces takes as long as the whole", () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0.01, max: 20, noNaN: true }), { minLength: 1, maxLength: 30 }),
        fc.integer({ min: 1, max: 90 }),
        (steps, feed) => {
          const pieces = list((b) => {
            let s = 0;
            for (const step of steps) {
              s += step;
              b.lineTo(0.6 * s, 0, 0.8 * s, feed);
            }
          });
          const total = steps.reduce((a, b) => a + b, 0);
          const whole = list((b) => b.lineTo(0.6 * total, 0, 0.8 * total, feed));
          expect(clock(pieces, LIMITS)).toBeCloseTo(clock(whole, LIMITS), 6);
        },
      ),
      { seed: 20260101, numRuns: 200 },
    );
  });

  test("a full circle: its length at the feed, or at the speed its radius allows", () => {
    const circle = (r: number, feed: number): number =>
      clock(
        list((b) => b.arcTo(0, 0, 0, r, 0, 0, 2 * Math.PI, feed)),
        LIMITS,
      );
    const time = (r: number, v: number): number => (2 * Math.PI * r) / v + v / 500;
    expect(circle(20, 50)).toBeCloseTo(time(20, 50), 9);
    // v^2 = a r
    expect(circle(2, 90)).toBeCloseTo(time(2, Math.sqrt(500 * 2)), 9);
  });

  test("arcs joined to their tangents need no stop, corners do", () => {
    const smooth = list((b) => {
      b.lineTo(100, 0, 0, 20);
      b.arcTo(120, 20, 0, 100, 20, 0, Math.PI / 2, 20);
      b.lineTo(120, 120, 0, 20);
    });
    expect(clock(smooth, LIMITS)).toBeCloseTo((200 + 10 * Math.PI) / 20 + 20 / 500, 6);
    const back = list((b) => {
      b.lineTo(100, 0, 0, 20);
      b.lineTo(0, 0, 0, 20);
    });
    expect(clock(back, LIMITS)).toBeCloseTo(2 * (100 / 20 + 20 / 500), 9);
    // a right angle: r = d sin h / (1 - sin h), sin h = sqrt(1/2)
    const corner = list((b) => {
      b.lineTo(100, 0, 0, 20);
      b.lineTo(100, 100, 0, 20);
    });
    const s = Math.sqrt(0.5);
    const v = Math.sqrt((500 * 0.01 * s) / (1 - s));
    const leg = 100 / 20 + (20 / 500 + (20 - v) ** 2 / (500 * 20)) / 2;
    expect(clock(corner, LIMITS)).toBeCloseTo(2 * leg, 9);
  });

  test("arcs in the other planes and helices take what the same arc takes in XY", () => {
    const inXY = list((b) => b.arcTo(0, 0, 5, 10, 0, 0, 2 * Math.PI, 50));
    const inZX = list((b) => b.arcTo(0, 5, 0, 0, 0, 10, 2 * Math.PI, 50, 1));
    const inYZ = list((b) => b.arcTo(5, 0, 0, 0, 10, 0, 2 * Math.PI, 50, 2));
    expect(clock(inZX, LIMITS)).toBeCloseTo(clock(inXY, LIMITS), 9);
    expect(clock(inYZ, LIMITS)).toBeCloseTo(clock(inXY, LIMITS), 9);
    expect(clock(inXY, LIMITS)).toBeGreaterThan(Math.hypot(20 * Math.PI, 5) / 50);
  });

  test("rapids and dwells begin and end at rest", () => {
    const t = clock(
      list((b) => {
        b.rapid(400, 0, 0);
        b.dwell(1.5);
        b.rapid(800, 0, 0);
        b.lineTo(900, 0, 0, 50);
      }),
      LIMITS,
    );
    expect(t).toBeCloseTo(2 * (400 / 200 + 200 / 500) + 1.5 + 100 / 50 + 50 / 500, 9);
  });

  test("is never shorter than the path at its feed, never negative, and finite", () => {
    const place = fc.integer({ min: -50_000, max: 50_000 }).map((v) => v / 1000);
    const move = fc.record({
      x: place,
      y: place,
      z: place,
      feed: fc.double({ min: 0.5, max: 100, noNaN: true }),
      kind: fc.integer({ min: 0, max: 1 }),
    });
    fc.assert(
      fc.property(fc.array(move, { maxLength: 40 }), (moves) => {
        const m = list((b) => {
          for (const s of moves) {
            if (s.kind === 0) b.rapid(s.x, s.y, s.z);
            else b.lineTo(s.x, s.y, s.z, s.feed);
          }
        });
        const seconds = timeOf(m, LIMITS).perMove;
        let [px, py, pz] = [0, 0, 0];
        for (let k = 0; k < m.count; k++) {
          const length = Math.hypot(m.x[k] - px, m.y[k] - py, m.z[k] - pz);
          const fastest = m.kind[k] === 0 ? 200 * Math.sqrt(3) : Math.min(m.feed[k], 100 * Math.sqrt(3));
          expect(seconds[k]).toBeGreaterThanOrEqual((length / fastest) * (1 - 1e-9));
          expect(seconds[k]).toBeLessThan(1e4);
          [px, py, pz] = [m.x[k], m.y[k], m.z[k]];
        }
      }),
      { seed: 20260101, numRuns: 300 },
    );
  });
});

/** A winding way in fine steps, some of them of no length, with rapids, dwells and arcs now and then. */
function winding(seed: number, count: number, others: boolean): MoveList {
  const r = numbers(seed);
  return list((b) => {
    for (let k = 0; b.count < count; k++) {
      const what = others ? r() : 1;
      if (what < 0.004) b.rapid(b.px, b.py, b.pz + r());
      else if (what < 0.006) b.dwell(r());
      else if (what < 0.012) b.lineTo(b.px, b.py, b.pz, 40);
      else if (what < 0.04) b.arcTo(b.px + 0.4, b.py, b.pz - 0.1 * r(), b.px + 0.2, b.py, 0, Math.PI, 30);
      else b.lineTo(b.px + 0.2 * r(), b.py + 0.3 * Math.sin(k / 40) * r(), b.pz + 0.02 * r() - 0.01, 20 + 60 * r());
    }
  });
}

describe("the clock's look ahead", () => {
  test("comes to what two passes over the whole list come to, also where braking takes more moves than are looked at", () => {
    // with 0.5 mm/s2 a way to brake is in thousands of these moves
    for (const acceleration of [500, 40, 0.5]) {
      const limits = { ...LIMITS, acceleration: all(acceleration) };
      const m = winding(acceleration, 6000, false);
      const whole = inTwoPasses(m, acceleration);
      const { seconds, perMove } = timeOf(m, limits);
      expect(Math.max(...whole.map((t, k) => Math.abs(perMove[k] / t - 1)))).toBeLessThan(1e-9);
      expect(secondsOf(m, limits)).toBe(seconds);
    }
  });

  test("in WebAssembly and in plain TypeScript every move takes the same, to the last bit", () => {
    for (let seed = 1; seed <= 8; seed++) {
      const m = winding(seed, [1, 2, 7, 511, 1024, 1025, 3000, 9000][seed - 1], true);
      const limits: ClockLimits = { ...LIMITS, acceleration: { x: 300, y: seed % 2 === 0 ? 400 : 0.8, z: 150 } };
      useKernel("plain");
      const plain = timeOf(m, limits);
      useKernel("wasm");
      const fast = timeOf(m, limits);
      expect(fast.seconds).toBe(plain.seconds);
      expect(fast.perMove).toEqual(plain.perMove);
    }
  });

  test("a move without a feed, or to no place, is named wherever it stands", () => {
    for (const at of [0, 1, 700, 1500]) {
      const m = winding(3, 2000, false);
      m.feed[at] = 0;
      expect(() => timeOf(m, LIMITS)).toThrow(`move ${at} has no feed above zero`);
      m.feed[at] = 30;
      m.y[at] = Number.NaN;
      expect(() => timeOf(m, LIMITS)).toThrow(`move ${at} has no finite length`);
    }
  });
});

/** Seconds of each of a list's straight moves on a machine with the same limits in every axis: both passes over all of them. */
function inTwoPasses(m: MoveList, a: number): number[] {
  const step = Array.from({ length: m.count }, (_, k) => {
    const from = k === 0 ? m.start : [m.x[k - 1], m.y[k - 1], m.z[k - 1]];
    return [m.x[k] - from[0], m.y[k] - from[1], m.z[k] - from[2]];
  });
  const L = step.map((d) => Math.hypot(...d));
  const unit = step.map((d, k) => d.map((v) => v / L[k]));
  const most = (d: readonly number[]): number => 1 / Math.max(...d.map(Math.abs));
  const accel = unit.map((u) => a * most(u));
  const top = unit.map((u, k) => Math.min(m.feed[k], 100 * most(u)));
  const into = unit.map((u, k) => {
    if (k === 0) return 0;
    const turn = u.map((v, i) => v - unit[k - 1][i]);
    const d = Math.hypot(...turn);
    const inward = d > 1e-9 ? a * most(turn.map((v) => v / d)) : Number.POSITIVE_INFINITY;
    const cos = u.reduce((sum, v, i) => sum + v * unit[k - 1][i], 0);
    return Math.min(
      top[k] ** 2,
      top[k - 1] ** 2,
      d > 1e-9 ? cornerSpeed2(cos, Math.min(inward, accel[k], accel[k - 1]), 0.01, Math.min(L[k], L[k - 1])) : Number.POSITIVE_INFINITY,
    );
  });
  into.push(0);
  for (let k = m.count - 1; k >= 0; k--) into[k] = Math.min(into[k], into[k + 1] + 2 * accel[k] * L[k]);
  for (let k = 0; k < m.count; k++) into[k + 1] = Math.min(into[k + 1], into[k] + 2 * accel[k] * L[k]);
  return L.map((length, k) => trapezoid(length, into[k], into[k + 1], top[k] ** 2, accel[k]));
}
