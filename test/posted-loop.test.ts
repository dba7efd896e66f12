import { describe, expect, it } from "vitest";
import { readPattern } from "../src/holding/correct/machine.ts";
import { readStep } from "../src/holding/correct/piece.ts";
import { measurePattern } from "./machine.ts";
import { postedTrials } from "./posted-loop.ts";

describe("a faulty machine measured to a tenth, corrected, and let cut again", () => {
  it("seed 20260101: 2,000 machines keep the limits of the error budget in 99 of 100, where hardly one did before", () => {
    const found = postedTrials(2000, 20260101);
    expect(found.refused).toEqual([]);
    expect(found.within / found.trials, JSON.stringify(found.worst)).toBeGreaterThanOrEqual(0.99);
    expect(found.withinBefore / found.trials).toBeLessThan(0.05);
  });
  it("a machine too far out to be posted away is refused at the reading, and says so", () => {
    const still = { blank: { y: 0, turn: 0 }, worn: 0, runOut: 0, high: 0 };
    const read = readPattern(measurePattern({ ...still, axes: { x: 1.03, y: 1, square: 0 } }, 400, 150));
    expect(read.ok ? "" : `${read.says} ${read.tryThis}`).toMatch(/more than two parts in a hundred.*steps per millimetre/);
    const step = readStep(4.2, 0);
    expect(step.ok ? "" : step.says).toMatch(/4.2 mm apart/);
  });
});
