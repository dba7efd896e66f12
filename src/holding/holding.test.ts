import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { guitar } from "../neck/fixture.test-data.ts";
import { makeNeck } from "../neck/neck.ts";
import type { MachineSpec, OrderSpec } from "../spec/types.ts";
import { unturned } from "./check.ts";
import { machine } from "./holding.test-data.ts";
import { planHolding } from "./plan.ts";
import { HO_RULES } from "./rules.ts";
import { apply, compose, inverse } from "./transform.ts";
import type { Holding } from "./types.ts";

const plan = (o: OrderSpec = guitar, m: MachineSpec = machine): Holding => planHolding(makeNeck(o), m);
const seeded = { seed: 20260101, numRuns: 100 };

/** Ways an order and a machine can differ that change how the piece lies. */
const ways = fc.record({
  hand: fc.constantFrom("right", "left"),
  datumEdge: fc.constantFrom("bass", "treble"),
  turn: fc.constantFrom("x", "y"),
  along: fc.constantFrom("x", "y"),
  centre: fc.double({ min: 45, max: 65, noNaN: true }),
  rotation: fc.oneof(fc.constant(0), fc.double({ min: -0.05, max: 0.05, noNaN: true })),
});

describe("turning the piece", () => {
  it("lays the datum edge and the end on the carve side's own zero lines, whatever the blank's true width and length", () => {
    fc.assert(
      fc.property(ways, ({ hand, datumEdge, turn, along, centre, rotation }) => {
        const order = {
          ...guitar,
          hand,
          datumEdge,
          blank: { ...guitar.blank, datumEdge, centreFromDatum: centre, rotation },
          holding: { ...guitar.holding, turn },
        } as OrderSpec;
        const h = plan(order, { ...machine, along: along as "x" | "y", bed: { x: 1000, y: 1000 } });
        const b = unturned(h.sides.board);
        const c = unturned(h.sides.carve);
        const back = inverse(b.neckToProgram);
        for (const [x, y] of [
          [0, 0],
          [h.blank.length, 0],
        ]) {
          const p = apply(back, b.stock.min[0] + x, y, 0);
          expect(Math.abs(apply(c.neckToProgram, p[0], p[1], p[2])[1])).toBeLessThan(1e-9);
        }
        const end = apply(back, 0, 1, 0);
        expect(Math.abs(apply(c.neckToProgram, end[0], end[1], end[2])[0])).toBeLessThan(1e-9);
        // the face that lay up lies on the bed, the one that lay on the bed is up
        const top = apply(back, 10, 10, h.blank.thickness);
        expect(apply(c.neckToProgram, top[0], top[1], top[2])[2]).toBeCloseTo(0, 9);
        expect(h.findings.filter((f) => f.rule === "HO-007")).toEqual([]);
      }),
      seeded,
    );
  });

  it("keeps the neck inside the stock on both sides", () => {
    fc.assert(
      fc.property(ways, ({ hand, datumEdge, turn, along, rotation }) => {
        const order = {
          ...guitar,
          hand,
          blank: { ...guitar.blank, datumEdge, rotation },
          holding: { ...guitar.holding, turn },
        } as OrderSpec;
        const neck = makeNeck(order);
        const h = planHolding(neck, { ...machine, along: along as "x" | "y", bed: { x: 1000, y: 1000 } });
        for (const side of [h.sides.board, h.sides.carve])
          for (const x of [neck.places.tip, 0, 200, neck.places.boardEnd])
            for (const y of neck.edges(x)) {
              const p = apply(side.neckToProgram, x, y, 0);
              for (const k of [0, 1, 2]) {
                expect(p[k]).toBeGreaterThan(side.stock.min[k] - 1e-9);
                expect(p[k]).toBeLessThan(side.stock.max[k] + 1e-9);
              }
            }
      }),
      seeded,
    );
  });

  it("is a rigid motion: its inverse undoes it and turning twice is nothing", () => {
    const h = plan();
    const t = h.sides.carve.neckToProgram;
    const one = compose(t, inverse(t));
    [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0].forEach((v, i) => {
      expect(one[i]).toBeCloseTo(v, 12);
    });
  });
});

describe("what holds the piece", () => {
  it("never stands in the wood that the neck needs, and supports never pass into the board", () => {
    for (const rotation of [0, 0.014, -0.02])
      for (const datumEdge of ["bass", "treble"] as const) clear({ ...guitar, blank: { ...guitar.blank, datumEdge, rotation } });
  });
  const clear = (order: OrderSpec): void => {
    const neck = makeNeck(order);
    const h = planHolding(neck, machine);
    const inv = inverse(h.sides.carve.neckToProgram);
    for (const s of h.sides.carve.holding.filter((q) => q.role === "support")) {
      if (s.kind !== "box") throw new Error("supports are boxes");
      for (const x of [s.min[0], (s.min[0] + s.max[0]) / 2, s.max[0]])
        for (const y of [s.min[1], s.max[1]]) {
          const p = apply(inv, x, y, s.max[2]);
          expect(p[2]).toBeGreaterThanOrEqual(neck.top(p[0], p[1]) - 1e-9);
        }
    }
    expect(h.sides.carve.holding.filter((s) => s.role === "support").length).toBeGreaterThanOrEqual(6);
    expect(h.findings).toEqual([]);
  };
});

/** Every holding rule, and an order or machine that breaks it. The turn (HO-007) is broken by hand: no order can. */
const BREAKS: Record<string, () => Holding> = {
  "HO-001": () => plan({ ...guitar, blank: { ...guitar.blank, length: 500 } }),
  "HO-002": () => plan({ ...guitar, blank: { ...guitar.blank, shaftThickness: 19 } }),
  "HO-003": () => plan({ ...guitar, blank: { ...guitar.blank, boardThickness: 5 } }),
  "HO-004": () => plan(guitar, { ...machine, bed: { x: 400, y: 300 }, sections: false }),
  "HO-005": () => plan(guitar, { ...machine, travel: { ...machine.travel, z: 40 } }),
  "HO-006": () => plan({ ...guitar, holding: { ...guitar.holding, block: { ...guitar.holding.block, grip: 66 } } }),
  "HO-008": () => plan({ ...guitar, holding: { ...guitar.holding, supports: false } }),
  "HO-009": () => plan({ ...guitar, holding: { ...guitar.holding, screw: { count: 2, head: 30, height: 3 } } }),
  "HO-010": () => plan({ ...guitar, blank: { ...guitar.blank, length: 650 } }),
  "HO-011": () => plan({ ...guitar, holding: { ...guitar.holding, pin: { diameter: 10, height: 40 } } }),
};

describe("holding rules", () => {
  // those from HO-012 on are broken in placement/neck.test.ts
  it.each(HO_RULES.filter((r) => r.id !== "HO-007" && r.id < "HO-012").map((r) => r.id))("%s is broken by a plan that earns it", (id) => {
    const make = BREAKS[id];
    expect(make, `nothing breaks ${id}`).toBeDefined();
    expect(make().findings.map((f) => f.rule)).toContain(id);
  });

  it("HO-007 is broken by a turn about a shifted edge", async () => {
    const { checkHolding } = await import("./check.ts");
    const { contourBounds } = await import("../kernel/contour.ts");
    const neck = makeNeck(guitar);
    const h = planHolding(neck, machine);
    const t = [...h.sides.carve.neckToProgram];
    t[7] += 1e-6;
    const wrong = {
      ...h,
      sides: { ...h.sides, carve: { ...h.sides.carve, neckToProgram: t as unknown as typeof h.sides.carve.neckToProgram } },
    };
    expect(checkHolding(neck, machine, wrong, contourBounds(neck.outline)).map((f) => f.rule)).toContain("HO-007");
  });
});
