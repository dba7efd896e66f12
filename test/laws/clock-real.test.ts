/** The clock on programs of the demo neck, read back from their text, beside a slow integration in steps of 0.1 ms. */
import { describe, expect, test } from "vitest";
import { clockLimits } from "../../src/cutting/clock-limits.ts";
import { timeOf } from "../../src/kernel/clock.ts";
import { interpretProgram } from "../../src/proof/index.ts";
import { planned, SHOPS } from "../jobs.ts";
import { integrate } from "./slow-clock.ts";

/** Programs longer than this are left to the eye: the integration takes ten thousand steps a second. */
const MOST_SECONDS = 150;

describe.each(SHOPS)("programs of the demo neck on the %s", (shop) => {
  const { input } = planned("loan-guitar", shop, 1);
  const limits = clockLimits(input.machine);
  const programs = input.programs.map((p) => {
    const { moves } = interpretProgram(p.text);
    return { file: p.file, moves, seconds: timeOf(moves, limits).seconds };
  });
  const short = programs.filter((p) => p.seconds <= MOST_SECONDS);

  test("some of them are short enough to integrate, arcs and slopes among them", () => expect(short.length).toBeGreaterThanOrEqual(3));

  test("agree within 1 %", () => {
    for (const p of short) {
      const slow = integrate(p.moves, limits, 1e-4);
      // a step of time where it comes to rest, at each of its stops
      const off = Math.abs(p.seconds / slow - 1);
      expect(off, `${p.file}: ${p.seconds.toFixed(2)} s beside ${slow.toFixed(2)} s`).toBeLessThan(0.01);
    }
  });
});
