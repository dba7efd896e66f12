import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { stiffnessOf } from "./stiffness.ts";

const number = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });

describe("stiffness from pushes", () => {
  test("one reading is a quotient: 20 N, 0.08 mm, 250 N/mm", () => {
    expect(stiffnessOf([{ force: 20, moved: 0.08 }])).toMatchObject({ ok: true, stiffness: 250, slack: 0 });
  });

  test("readings on a line with slack give their own line back", () => {
    fc.assert(
      fc.property(number(30, 800), number(0, 0.2), (k, slack) => {
        const m = stiffnessOf([15, 30, 45, 60].map((force) => ({ force, moved: force / k + slack })));
        if (15 / k + slack < 0.01) return;
        expect(m.ok).toBe(true);
        if (!m.ok) return;
        expect(m.stiffness / k).toBeCloseTo(1, 9);
        expect(m.slack).toBeCloseTo(slack, 9);
      }),
      { seed: 20260101, numRuns: 200, endOnFailure: true },
    );
  });

  test("repeats of one force are averaged, not drawn as a line through noise", () => {
    const m = stiffnessOf([
      { force: 20, moved: 0.1 },
      { force: 20.2, moved: 0.11 },
      { force: 19.8, moved: 0.09 },
    ]);
    expect(m).toMatchObject({ ok: true, slack: 0 });
    if (m.ok) expect(m.stiffness).toBeCloseTo(200, -1);
  });

  test.each([
    ["nothing", [], "no readings"],
    ["no force", [{ force: 0, moved: 0.1 }], "not between 0"],
    ["a car's weight", [{ force: 9000, moved: 0.1 }], "not between 0"],
    ["nothing moved", [{ force: 20, moved: 0.001 }], "less than an indicator"],
    ["it slid", [{ force: 20, moved: 12 }], "something slipped"],
    ["not a number", [{ force: Number.NaN, moved: 0.1 }], "not between 0"],
    [
      "falling",
      [
        { force: 10, moved: 0.2 },
        { force: 40, moved: 0.1 },
      ],
      "do not grow",
    ],
    [
      "scattered",
      [
        { force: 10, moved: 0.1 },
        { force: 20, moved: 0.9 },
        { force: 30, moved: 0.3 },
      ],
      "do not lie on a line",
    ],
    ["softer than a sponge", [{ force: 10, moved: 4 }], "not what a router has"],
    ["harder than a mill", [{ force: 450, moved: 0.011 }], "not what a router has"],
    [
      "zero not set",
      [
        { force: 20, moved: 0.05 },
        { force: 40, moved: 0.3 },
      ],
      "grow faster",
    ],
  ])("refused: %s", (_what, pushes, says) => {
    const m = stiffnessOf(pushes);
    expect(m.ok).toBe(false);
    if (!m.ok) expect(m.says).toContain(says);
  });
});
