import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { MoveBuilder } from "../kernel/moves.ts";
import type { Cut, WorkStep } from "../paths/types.ts";
import { groupCuts } from "./programs.ts";

const cut = (id: string, side: "board" | "carve", cutter: number): Cut => ({
  id,
  title: id,
  side,
  cutter,
  moves: new MoveBuilder().list(),
  why: "",
  cusp: null,
  conditions: {
    rpm: 1,
    feed: 1,
    plunge: 1,
    ramp: 1,
    step: 1,
    depth: 1,
    chip: 0,
    force: 0,
    power: 0,
    bend: 0,
    limitedBy: "",
  },
});
const doIt = (id: string): WorkStep => ({ kind: "cut", cut: id });
const hand = (side: "board" | "carve"): WorkStep => ({ kind: "hand", side, hand: "glue the markers in", fills: ["marker-3"] });

describe("groupCuts", () => {
  test("joins cuts of one side and cutter, starts anew at a hand step, and numbers through", () => {
    const cuts = [
      cut("board-scribe", "board", 1),
      cut("headstock-rough", "board", 1),
      cut("markers", "board", 2),
      cut("radius", "board", 2),
      cut("outline", "carve", 2),
    ];
    const { groups, steps } = groupCuts({
      cuts,
      steps: [doIt("board-scribe"), doIt("headstock-rough"), doIt("markers"), hand("board"), doIt("radius"), doIt("outline")],
    });
    expect(groups.map((g) => [g.file, g.cutter, g.cuts.map((c) => c.id)])).toEqual([
      ["programs/01-board-scribe.ngc", 1, ["board-scribe", "headstock-rough"]],
      ["programs/02-board-markers.ngc", 2, ["markers"]],
      ["programs/03-board-radius.ngc", 2, ["radius"]],
      ["programs/04-carve-outline.ngc", 2, ["outline"]],
    ]);
    expect(steps).toEqual([
      { program: "programs/01-board-scribe.ngc" },
      { program: "programs/02-board-markers.ngc" },
      { hand: "glue the markers in", side: "board", fills: ["marker-3"] },
      { program: "programs/03-board-radius.ngc" },
      { program: "programs/04-carve-outline.ngc" },
    ]);
  });

  test("keeps every cut, once, in the order of work, and never mixes sides or cutters", () => {
    const step = fc.record({
      side: fc.constantFrom("board" as const, "carve" as const),
      cutter: fc.integer({ min: 1, max: 3 }),
      hand: fc.boolean(),
    });
    fc.assert(
      fc.property(fc.array(step, { maxLength: 20 }), (list) => {
        const cuts = list.map((s, k) => cut(`cut-${k}`, s.side, s.cutter));
        const work = list.flatMap((s, k): WorkStep[] => (s.hand ? [hand(s.side), doIt(`cut-${k}`)] : [doIt(`cut-${k}`)]));
        const { groups, steps } = groupCuts({ cuts, steps: work });
        expect(groups.flatMap((g) => g.cuts.map((c) => c.id))).toEqual(cuts.map((c) => c.id));
        for (const g of groups) expect(new Set(g.cuts.map((c) => `${c.side}${c.cutter}`)).size).toBe(1);
        expect(new Set(groups.map((g) => g.file)).size).toBe(groups.length);
        expect(steps.filter((s) => "hand" in s).length).toBe(list.filter((s) => s.hand).length);
        expect(steps.flatMap((s) => ("program" in s ? [s.program] : []))).toEqual(groups.map((g) => g.file));
      }),
      { seed: 20260101, numRuns: 200 },
    );
  });

  test("refuses an order of work that names a cut that does not exist", () => {
    expect(() => groupCuts({ cuts: [], steps: [doIt("scribe")] })).toThrow(/does not exist: scribe/);
  });
});
