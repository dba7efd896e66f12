import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { timeOf } from "../kernel/clock.ts";
import { MoveBuilder, MoveKind, type MoveList } from "../kernel/moves.ts";
import { clockLimits } from "./clock-limits.ts";
import { lightRouter } from "./examples.ts";
import { type FeedOptions, feedsAlong } from "./feeds-along.ts";

const { acceleration } = lightRouter;
const FEED = 40;
const plain: FeedOptions = { acceleration };

const place = fc.double({ min: -40, max: 40, noNaN: true });
const someMoves: fc.Arbitrary<MoveList> = fc
  .array(
    fc.record({
      kind: fc.constantFrom("line", "near", "rapid", "arc", "dwell"),
      x: place,
      y: place,
      z: place,
      r: fc.double({ min: 0.3, max: 30, noNaN: true }),
    }),
    {
      minLength: 1,
      maxLength: 25,
    },
  )
  .map((steps) => {
    const b = new MoveBuilder();
    for (const s of steps) {
      if (s.kind === "line") b.lineTo(s.x, s.y, s.z / 10, FEED);
      else if (s.kind === "near") b.lineTo(b.px + s.x / 50, b.py + s.y / 50, b.pz, FEED);
      else if (s.kind === "rapid") b.rapid(s.x, s.y, s.z);
      else if (s.kind === "dwell") b.dwell(0.5);
      else b.arcTo(b.px + 2 * s.r, b.py, b.pz, b.px + s.r, b.py, b.pz, s.x > 0 ? Math.PI : -Math.PI, FEED);
    }
    return b.list();
  });
const someOptions: fc.Arbitrary<FeedOptions> = fc.record({
  acceleration: fc.constant(acceleration),
  plunge: fc.double({ min: 2, max: 15, noNaN: true }),
  least: fc.double({ min: 1, max: 20, noNaN: true }),
  cutterRadius: fc.double({ min: 0.3, max: 6, noNaN: true }),
  wood: fc.constantFrom("left" as const, "right" as const),
  engagement: fc.double({ min: 0.3, max: Math.PI, noNaN: true }),
});

/** Corner points of a list without those that lie on the straight between their neighbours. */
function corners(m: MoveList): string[] {
  const out: string[] = [];
  for (let k = 0; k < m.count; k++) {
    const [px, py, pz] = k === 0 ? m.start : [m.x[k - 1], m.y[k - 1], m.z[k - 1]];
    const here = `${m.kind[k]} ${m.x[k].toFixed(6)} ${m.y[k].toFixed(6)} ${m.z[k].toFixed(6)} ${m.sweep[k].toFixed(6)}`;
    const onward = k + 1 < m.count && m.kind[k] === MoveKind.line && m.kind[k + 1] === MoveKind.line;
    if (onward) {
      const [ux, uy, uz] = [m.x[k] - px, m.y[k] - py, m.z[k] - pz];
      const [vx, vy, vz] = [m.x[k + 1] - m.x[k], m.y[k + 1] - m.y[k], m.z[k + 1] - m.z[k]];
      const cross = Math.hypot(uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx);
      if (cross < 1e-9 * Math.hypot(ux, uy, uz) * Math.hypot(vx, vy, vz) + 1e-12 && ux * vx + uy * vy + uz * vz > 0) continue;
    }
    out.push(here);
  }
  return out;
}

describe("feed along a path", () => {
  test("only lowers feeds, keeps the way, and makes no dwell", () => {
    fc.assert(
      fc.property(someMoves, someOptions, (m, o) => {
        const out = feedsAlong(m, o);
        expect(corners(out)).toEqual(corners(m));
        for (let k = 0; k < out.count; k++) {
          if (out.kind[k] === MoveKind.line || out.kind[k] === MoveKind.arc) {
            expect(out.feed[k]).toBeLessThanOrEqual(FEED);
            expect(out.feed[k]).toBeGreaterThan(0);
          }
        }
        const dwells = (l: MoveList): number => l.kind.filter((k) => k === MoveKind.dwell).length;
        expect(dwells(out)).toBe(dwells(m));
        // again changes nothing more than the steps that feeds come down by
        expect(feedsAlong(out, o).count).toBeLessThanOrEqual(out.count + out.kind.length);
      }),
      { seed: 20260101, numRuns: 200, endOnFailure: true },
    );
  });

  test("a limit below the feed by rounding alone asks for no step, so that every engine writes the same feeds", () => {
    const b = new MoveBuilder([0, 0, 5]);
    b.lineTo(0, 0, 0, FEED);
    const just = feedsAlong(b.list(), { ...plain, plunge: FEED * (1 - 4 * Number.EPSILON) });
    expect(just.feed[0]).toBe(FEED);
    // a millionth less is a limit that was meant
    const less = feedsAlong(b.list(), { ...plain, plunge: FEED * (1 - 1e-6) });
    expect(less.feed[0]).toBeCloseTo(0.95 * FEED, 9);
  });

  test("no more than the plunge feed points straight down", () => {
    fc.assert(
      fc.property(someMoves, someOptions, (m, o) => {
        const out = feedsAlong(m, o);
        let [px, py, pz] = m.start;
        for (let k = 0; k < out.count; k++) {
          const length = Math.hypot(out.x[k] - px, out.y[k] - py, out.z[k] - pz);
          if (out.kind[k] === MoveKind.line && pz > out.z[k])
            expect((out.feed[k] * (pz - out.z[k])) / length).toBeLessThanOrEqual(o.plunge! + 1 / 60);
          [px, py, pz] = [out.x[k], out.y[k], out.z[k]];
        }
      }),
      { seed: 20260101, numRuns: 200, endOnFailure: true },
    );
  });

  test("an arc is never faster than acceleration can keep it on: v^2 <= a r; and the way takes no longer by the clock", () => {
    for (const r of [0.5, 2, 8, 50]) {
      const b = new MoveBuilder([r, 0, 0]);
      b.arcTo(r, 0, 0, 0, 0, 0, 2 * Math.PI, FEED);
      const out = feedsAlong(b.list(), plain);
      expect(out.feed[0] ** 2).toBeLessThanOrEqual(acceleration.x * r * (1 + 1e-9));
      expect(out.feed[0]).toBeGreaterThan(0.93 * Math.min(FEED, Math.sqrt(acceleration.x * r)));
      const [before, after] = [b.list(), out].map((l) => timeOf(l, clockLimits(lightRouter)).seconds);
      expect(after / before).toBeLessThan(1.08);
    }
  });

  test("a fine polyline is held like the arc it stands for", () => {
    const b = new MoveBuilder([2, 0, 0]);
    for (let k = 1; k <= 120; k++) b.lineTo(2 * Math.cos((k * Math.PI) / 60), 2 * Math.sin((k * Math.PI) / 60), 0, FEED);
    const out = feedsAlong(b.list(), plain);
    for (let k = 5; k < 115; k++) {
      expect(out.feed[k] ** 2).toBeLessThanOrEqual(acceleration.x * 2 * 1.42);
      expect(out.feed[k] ** 2).toBeGreaterThan(acceleration.x * 2 * 0.8);
    }
    // a straight way keeps its feed
    const s = new MoveBuilder();
    for (let k = 1; k < 20; k++) s.lineTo(k, 2 * k, 0, FEED);
    expect([...new Set(feedsAlong(s.list(), plain).feed)]).toEqual([FEED]);
  });

  test("in a hollow the rim keeps the feed; round a hump nothing changes", () => {
    const ring = (sweep: number): MoveList => {
      const b = new MoveBuilder([30, 0, 0]);
      b.arcTo(30, 0, 0, 0, 0, 0, sweep, 20);
      return b.list();
    };
    const o: FeedOptions = { acceleration, cutterRadius: 10, wood: "right" };
    // counter-clockwise with the wood outside
    expect(feedsAlong(ring(2 * Math.PI), o).feed[0]).toBeLessThanOrEqual(15);
    expect(feedsAlong(ring(2 * Math.PI), o).feed[0]).toBeGreaterThan(14);
    expect(feedsAlong(ring(-2 * Math.PI), o).feed[0]).toBe(20);
  });

  test("into a corner of the wood only the end of a line is slow; out of it, and at a corner outward, nothing is", () => {
    const b = new MoveBuilder();
    b.lineTo(50, 0, 0, FEED);
    b.lineTo(50, 50, 0, FEED);
    const o: FeedOptions = { acceleration, cutterRadius: 4, engagement: 1, wood: "right" };
    const out = feedsAlong(b.list(), o);
    expect(out.count).toBe(3);
    expect(out.x[0]).toBeCloseTo(46, 9);
    expect(out.feed[0]).toBe(FEED);
    expect(out.feed[1]).toBeLessThan(0.5 * FEED);
    expect(out.feed[2]).toBe(FEED);
    expect(feedsAlong(b.list(), { ...o, wood: "left" }).count).toBe(2);
    expect(feedsAlong(b.list(), { ...o, least: 30 }).feed[1]).toBeGreaterThanOrEqual(28);
  });

  test("where the engagement was measured to be more than planned, feed goes down so that no more wood comes off in a second", () => {
    const b = new MoveBuilder();
    for (let k = 1; k <= 4; k++) b.lineTo(10 * k, 0, 0, FEED);
    const o: FeedOptions = {
      acceleration,
      engagement: Math.PI / 3,
      along: Float64Array.from([Math.PI / 3, Math.PI / 2, Math.PI, Number.NaN]),
    };
    const out = feedsAlong(b.list(), o);
    expect(out.feed[0]).toBe(FEED);
    expect(out.feed[1]).toBeGreaterThan(0.47 * FEED);
    expect(out.feed[1]).toBeLessThanOrEqual(0.5 * FEED);
    expect(out.feed[2]).toBeLessThanOrEqual(0.25 * FEED);
    expect(out.feed[3]).toBe(FEED);
  });
});
