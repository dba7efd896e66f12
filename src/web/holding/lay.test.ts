import { describe, expect, test } from "vitest";
import { machine } from "../../holding/holding.test-data.ts";
import { planHolding } from "../../holding/plan.ts";
import { middleOf } from "../../job/live.ts";
import { guitar } from "../../neck/fixture.test-data.ts";
import { makeNeck } from "../../neck/neck.ts";
import { inBlank, onPage } from "./lay.ts";

/** Where a part is seen to stand on the page, in the blank's words. */
const seen = (h: ReturnType<typeof planHolding>, side: "board" | "carve", name: string): readonly [number, number] => {
  const s = h.sides[side].holding.find((q) => q.name === name);
  if (s === undefined) throw new Error(`no ${name}`);
  return inBlank(h.sides[side], onPage(h.sides[side], middleOf(s, { along: 1, up: 1 })));
};

describe.each([
  ["x", "x", "bass"],
  ["x", "y", "bass"],
  ["y", "x", "treble"],
  ["y", "y", "treble"],
] as const)("a bed along %s, turned about %s, datum on the %s side", (along, turn, datumEdge) => {
  const plan = (placed: NonNullable<typeof guitar.holding.placed>): ReturnType<typeof planHolding> =>
    planHolding(makeNeck({ ...guitar, blank: { ...guitar.blank, datumEdge }, holding: { ...guitar.holding, turn, placed } }), {
      ...machine,
      along,
      bed: { x: 1000, y: 1000 },
    });

  test("what is dropped at a place is seen at that place on both sides, and nowhere else", () => {
    const h = plan([
      { name: "fence pin 2", x: 333 },
      { name: "block, body end, far side", y: 47 },
    ]);
    for (const side of ["board", "carve"] as const) {
      expect(seen(h, side, "fence pin 2")[0]).toBeCloseTo(333, 6);
      // a pin stands outside the datum edge
      expect(seen(h, side, "fence pin 2")[1]).toBeCloseTo(-guitar.holding.pin.diameter / 2, 6);
      expect(seen(h, side, "block, body end, far side")[1]).toBeCloseTo(47, 6);
      expect(seen(h, side, "end stop")[0]).toBeCloseTo(-guitar.holding.pin.diameter / 2, 6);
    }
  });
});
