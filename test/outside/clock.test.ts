import { describe, expect, it } from "vitest";
import { type ClockLimits, cornerSpeed2, timeOf, trapezoid } from "../../src/kernel/clock.ts";
import { MoveBuilder, type MoveList } from "../../src/kernel/moves.ts";

const clock = (moves: MoveList, limits: ClockLimits): number => timeOf(moves, limits).seconds;

const all = (v: number): { x: number; y: number; z: number } => ({ x: v, y: v, z: v });
const wide: ClockLimits = { feed: all(500), rapid: all(500), acceleration: all(500), junctionDeviation: 0.01 };

/*
 * Source: the junction deviation formulas as many public motion controllers have them (a convention, not a standard), worked
 * out by hand for a = 500 mm/s2 and a deviation of 0.01 mm: R = d sin(t/2) / (1 - sin(t/2)), v = sqrt(a R), t between moves.
 */
describe("corner speed by junction deviation", () => {
  const rows = [
    [30, 0.003492, 1.3214],
    [60, 0.01, 2.2361],
    [90, 0.024142, 3.4743],
    [120, 0.064641, 5.6851],
    [135, 0.121371, 7.7901],
    [150, 0.283477, 11.9054],
    [170, 2.617912, 36.1795],
    [179, 262.616, 362.3646],
  ] as const;

  it.each(rows)("at %d degrees between the moves: R %f mm, %f mm/s", (degrees, radius, speed) => {
    const v2 = cornerSpeed2(-Math.cos((degrees * Math.PI) / 180), 500, 0.01, 1e6);
    expect(Math.abs(v2 / 500 / radius - 1)).toBeLessThan(2e-4);
    expect(Math.abs(Math.sqrt(v2) / speed - 1)).toBeLessThan(5e-5);
  });

  it.each(rows)("holds in a whole list at %d degrees", (degrees, _, speed) => {
    // Both moves lean the same way from y, so that the change of direction lies along x, where the limit is 500 mm/s2.
    const half = (degrees * Math.PI) / 360;
    const b = new MoveBuilder();
    const L = 400;
    b.lineTo(L * Math.cos(half), L * Math.sin(half), 0, 400);
    b.lineTo(0, 2 * L * Math.sin(half), 0, 400);
    // The slope of the moves leaves each axis 500, so along the move a = 500 / max(|cos|, |sin|).
    const a = 500 / Math.max(Math.cos(half), Math.sin(half));
    const perMove = timeOf(b.list(), wide).perMove;
    const expected = trapezoid(L, 0, speed * speed, 400 * 400, a);
    expect(perMove[0]).toBeCloseTo(expected, 4);
    expect(perMove[1]).toBeCloseTo(expected, 4);
  });
});

/** Source: closed forms of uniformly accelerated motion, worked out by hand for a = 500 mm/s2 and a cruise of 50 mm/s. */
describe("trapezoid of speed", () => {
  it.each([
    [10, 0, 0.3],
    [1, 0, 0.0894427],
    [100, 0, 2.1],
    [10, 20, 0.268],
  ])("%d mm entered at %d mm/s takes %f s", (length, entry, seconds) => {
    expect(trapezoid(length, entry * entry, 0, 2500, 500)).toBeCloseTo(seconds, 7);
  });

  it.each([
    [10, 0.3],
    [1, 0.0894427],
    [100, 2.1],
  ])("a list of one move of %d mm takes %f s", (length, seconds) => {
    const b = new MoveBuilder();
    b.lineTo(length, 0, 0, 50);
    expect(clock(b.list(), wide)).toBeCloseTo(seconds, 7);
  });
});

/**
 * Source: NISTIR 6556, appendix C.1, its figures worked out by hand: at F20 (1/3 mm/s) the 183.4305 mm of feed take 550.29 s.
 * Here the same lengths as straight moves on a machine so quick that only the feed counts.
 */
it("approaches length over feed on a very quick machine", () => {
  const quick: ClockLimits = { feed: all(1e4), rapid: all(1e4), acceleration: all(1e7), junctionDeviation: 0.01 };
  const b = new MoveBuilder();
  for (const [x, y] of [
    [153.4305, 0],
    [153.4305, 30],
  ])
    b.lineTo(x, y, 0, 20 / 60);
  expect(clock(b.list(), quick)).toBeCloseTo(550.29, 2);
});
