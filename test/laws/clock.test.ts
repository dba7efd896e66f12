import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type ClockLimits, timeOf } from "../../src/kernel/clock.ts";
import { MoveBuilder, type MoveList } from "../../src/kernel/moves.ts";
import { addArc, moveListArb } from "./programs.ts";
import { integrate, lengthOf, topOf } from "./slow-clock.ts";

const clock = (moves: MoveList, limits: ClockLimits): number => timeOf(moves, limits).seconds;

const router: ClockLimits = {
  feed: { x: 60, y: 60, z: 20 },
  rapid: { x: 100, y: 80, z: 25 },
  acceleration: { x: 400, y: 300, z: 150 },
  junctionDeviation: 0.02,
};
const seed = 20260101;

const place = fc.double({ min: 0, max: 40, noNaN: true });
const feed = fc.double({ min: 8, max: 90, noNaN: true });
const someMoves: fc.Arbitrary<MoveList> = fc
  .array(
    fc.record({
      kind: fc.constantFrom("line", "rapid", "arc", "nudge", "dwell"),
      x: place,
      y: place,
      z: fc.double({ min: 0, max: 10, noNaN: true }),
      r: fc.double({ min: 0.5, max: 25, noNaN: true }),
      angle: fc.double({ min: 0, max: 6, noNaN: true }),
      sweep: fc.double({ min: -7, max: 7, noNaN: true }),
      plane: fc.constantFrom(0, 0, 1, 2),
      feed,
    }),
    { minLength: 1, maxLength: 9 },
  )
  .map((steps) => {
    const b = new MoveBuilder();
    for (const s of steps) {
      if (s.kind === "line") b.lineTo(s.x, s.y, s.z, s.feed);
      else if (s.kind === "rapid") b.rapid(s.x, s.y, s.z);
      else if (s.kind === "nudge") b.lineTo(b.px + s.x / 80, b.py + s.y / 80, b.pz, s.feed);
      else if (s.kind === "dwell") b.dwell(s.z / 20);
      else addArc(b, s.r, s.angle, s.sweep, s.z / 3, s.plane, s.feed);
    }
    return b.list();
  });

describe("clock", () => {
  it("agrees within 1 % with a slow integration in steps of 0.1 ms", () => {
    fc.assert(
      fc.property(someMoves, (m) => {
        const slow = integrate(m, router, 1e-4);
        // The integration itself is off by up to five of its steps where it comes to rest.
        expect(Math.abs(clock(m, router) - slow)).toBeLessThanOrEqual(0.01 * slow + 5e-4 * m.count);
      }),
      { seed, numRuns: 60 },
    );
  });

  it("agrees with it on a fine polyline round a circle, where junction deviation alone would be too fast", () => {
    const b = new MoveBuilder([5, 0, 0]);
    for (let k = 1; k <= 720; k++) b.lineTo(5 * Math.cos((k * Math.PI) / 360), 5 * Math.sin((k * Math.PI) / 360), 0, 60);
    const perMove = timeOf(b.list(), router).perMove;
    const seconds = clock(b.list(), router);
    const slow = integrate(b.list(), router, 1e-4);
    expect(Math.abs(seconds / slow - 1)).toBeLessThan(0.01);
    // In the middle of the way no chord is faster than sqrt(a r) with the axes' 300 to 400 mm/s2 along the way to the centre.
    const chord = 10 * Math.sin(Math.PI / 720);
    for (let k = 300; k < 420; k++) expect(chord / perMove[k]).toBeLessThanOrEqual(Math.sqrt(5 * Math.hypot(400, 300)) * 1.001);
    // The same circle as one arc takes about as long.
    const arc = new MoveBuilder([5, 0, 0]);
    addArc(arc, 5, 0, 2 * Math.PI, 0, 0, 60);
    const even: ClockLimits = { ...router, acceleration: { x: 300, y: 300, z: 300 } };
    expect(clock(arc.list(), even) / clock(b.list(), even)).toBeGreaterThan(0.95);
    expect(clock(arc.list(), even) / clock(b.list(), even)).toBeLessThan(1.2);
  });

  it("is never quicker than every move alone at its top speed, and never slower than stopping at every corner", () => {
    fc.assert(
      fc.property(moveListArb, (m) => {
        const perMove = timeOf(m, router).perMove;
        const seconds = clock(m, router);
        const stopping = clock(m, { ...router, junctionDeviation: 0 });
        expect(seconds).toBeLessThanOrEqual(stopping * (1 + 1e-12) + 1e-12);
        expect(perMove.reduce((a, b) => a + b, 0)).toBeCloseTo(seconds, 6);
        for (let k = 0; k < m.count; k++) expect(perMove[k]).toBeGreaterThanOrEqual(lengthOf(m, k) / topOf(m, k, router) - 1e-9);
      }),
      { seed, numRuns: 150 },
    );
  });

  it("takes as long backward as forward when the moves are straight", () => {
    fc.assert(
      fc.property(fc.array(fc.tuple(place, place, place), { minLength: 2, maxLength: 20 }), (points) => {
        const run = (list: readonly (readonly [number, number, number])[]): number => {
          const b = new MoveBuilder(list[0]);
          for (const p of list.slice(1)) b.lineTo(...p, 45);
          return clock(b.list(), router);
        };
        expect(run([...points].reverse())).toBeCloseTo(run(points), 9);
      }),
      { seed, numRuns: 200 },
    );
  });

  it("does not care whether a straight way is one move or many", () => {
    const one = new MoveBuilder();
    one.lineTo(100, 50, 5, 50);
    const many = new MoveBuilder();
    for (let k = 1; k <= 64; k++) many.lineTo((100 * k) / 64, (50 * k) / 64, (5 * k) / 64, 50);
    expect(clock(many.list(), router)).toBeCloseTo(clock(one.list(), router), 6);
  });

  it("stops for a dwell and counts it; a move to nowhere costs nothing", () => {
    const b = new MoveBuilder();
    b.lineTo(10, 0, 0, 50);
    b.lineTo(10, 0, 0, 50);
    b.lineTo(20, 0, 0, 50);
    const through = clock(b.list(), router);
    const d = new MoveBuilder();
    d.lineTo(10, 0, 0, 50);
    d.dwell(1.5);
    d.lineTo(20, 0, 0, 50);
    const one = new MoveBuilder();
    one.lineTo(10, 0, 0, 50);
    expect(clock(d.list(), router)).toBeCloseTo(1.5 + 2 * clock(one.list(), router), 9);
    const whole = new MoveBuilder();
    whole.lineTo(20, 0, 0, 50);
    expect(through).toBeCloseTo(clock(whole.list(), router), 9);
  });

  it("gives nothing for an empty list and refuses nonsense", () => {
    expect(clock(new MoveBuilder().list(), router)).toBe(0);
    const b = new MoveBuilder();
    b.lineTo(Number.NaN, 0, 0, 50);
    expect(() => clock(b.list(), router)).toThrow("move 0 has no finite length");
    const c = new MoveBuilder();
    c.lineTo(1, 0, 0, 0);
    expect(() => clock(c.list(), router)).toThrow("move 0 has no feed above zero");
    expect(() => clock(c.list(), { ...router, acceleration: { x: 0, y: 1, z: 1 } })).toThrow("must be above zero, not 0");
  });
});
