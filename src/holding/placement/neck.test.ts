import { describe, expect, it } from "vitest";
import { guitar } from "../../neck/fixture.test-data.ts";
import { makeNeck } from "../../neck/neck.ts";
import type { BlankSpec, MachineSpec, OrderSpec } from "../../spec/types.ts";
import { degToRad } from "../../units/index.ts";
import { machine } from "../holding.test-data.ts";
import { planHolding } from "../plan.ts";
import { apply } from "../transform.ts";
import { bestInBlank, marginInBlank, toPlacement, upOf } from "./neck.ts";

const corners = (...p: readonly (readonly [number, number])[]) => p.map(([x, y]) => ({ x, y }));
const withBlank = (blank: Partial<BlankSpec>, rest: Partial<OrderSpec> = {}): OrderSpec => ({
  ...guitar,
  ...rest,
  blank: { ...guitar.blank, ...blank },
});
const rules = (order: OrderSpec, m: MachineSpec = machine): string[] => planHolding(makeNeck(order), m).findings.map((f) => f.rule);
const { length, width } = guitar.blank;
const whole = corners([0, 0], [length, 0], [length, width], [0, width]);

describe("a neck in a blank given by its corners", () => {
  it("lies by the placement where both sides' programs have it, to 1e-9", () => {
    for (const hand of ["right", "left"] as const)
      for (const datumEdge of ["bass", "treble"] as const)
        for (const [turn, rotation] of [
          ["x", 0],
          ["y", 0],
          ["x", 0.014],
          ["y", -0.05],
        ] as const) {
          const neck = makeNeck(withBlank({ datumEdge, outline: whole, rotation }, { hand, holding: { ...guitar.holding, turn } }));
          const h = planHolding(neck, machine);
          const at = toPlacement(neck, { rotation: 0, ...h.placement });
          const [cos, sin] = [Math.cos(rotation), Math.sin(rotation)];
          for (const [x, y] of [
            [-60, 20],
            [0, 0],
            [430, -25],
          ]) {
            const v = upOf(neck) * y;
            const [bx, by] = [cos * x - sin * v + at.shift.x, sin * x + cos * v + at.shift.y];
            const b = apply(h.sides.board.neckToProgram, x, y, 0);
            const c = apply(h.sides.carve.neckToProgram, x, y, 0);
            expect(Math.abs(b[0] - bx) + Math.abs(Math.abs(b[1]) - by)).toBeLessThan(1e-9);
            expect(Math.abs(Math.abs(c[0]) - bx) + Math.abs(Math.abs(c[1]) - by)).toBeLessThan(1e-9);
          }
        }
  });
  it("is as free in the stated rectangle as in none", () => {
    expect(rules(withBlank({ outline: whole }))).toEqual(rules(guitar));
  });
  it("HO-012: a taper or a knot that takes the margin stops it, and the finding says a place that has it", () => {
    const tapered = withBlank({ outline: corners([0, 0], [length, 0], [length, width * 0.7], [0, width]) });
    expect(rules(tapered)).toContain("HO-012");
    const knot = withBlank({ regions: [{ kind: "knot", points: corners([300, width - 34], [310, width - 34], [305, width]) }] });
    const plan = planHolding(makeNeck(knot), machine);
    const found = plan.findings.find((f) => f.rule === "HO-012");
    expect(found?.where).toBe("knot 1");
    const best = bestInBlank(makeNeck(knot), true);
    expect(best.bound - best.margin).toBeLessThan(1.001e-4);
    if (best.margin >= guitar.blank.margin) {
      const moved = withBlank({ ...knot.blank, ...{ tipFromEnd: best.inBlank.tipFromEnd, centreFromDatum: best.inBlank.centreFromDatum } });
      expect(rules(moved)).not.toContain("HO-012");
    }
    expect(marginInBlank(makeNeck(knot), { ...plan.placement, rotation: 0 }).margin).toBeLessThan(guitar.blank.margin);
  });
  it("HO-012: figure that the headstock is to show keeps it in", () => {
    const figure = (x: number) =>
      withBlank({
        regions: [{ kind: "figure", parts: ["headstock"], points: corners([x, 0], [x + 300, 0], [x + 300, width], [x, width]) }],
      });
    expect(rules(figure(0))).not.toContain("HO-012");
    expect(rules(figure(200))).toContain("HO-012");
  });
  it("HO-013: a neck is turned in its blank by 5 degrees at most, in sections too", () => {
    expect(rules(withBlank({ rotation: -0.088 }))).toContain("HO-013");
    expect(rules(withBlank({ rotation: 0.087 }))).not.toContain("HO-013");
    const short = { ...machine, bed: { x: 400, y: 300 }, travel: { ...machine.travel, x: 400, y: 300 } };
    expect(rules(withBlank({ rotation: 0.01 }), short)).not.toContain("HO-013");
    expect(rules(withBlank({ rotation: -0.088 }), short)).toContain("HO-013");
  });
  it("HO-001: turned in its blank, a neck comes to its edges by its own outline", () => {
    for (const rotation of [-0.03, 0.045]) {
      const neck = makeNeck(withBlank({ rotation, margin: 14 }));
      const h = planHolding(neck, machine);
      const found = h.findings.find((f) => f.rule === "HO-001");
      const { margin } = marginInBlank(neck, { rotation, ...h.placement });
      expect(margin < 14).toBe(found !== undefined);
      if (found !== undefined) expect(Math.abs((found.value as number) - margin)).toBeLessThan(0.02);
    }
  });
  it("HO-014: corrections that are too large to be posted away stop; just below the limit, or undone, they do not", () => {
    const entry = { kind: "height", side: "carve", by: 0.8, date: "2026-03-31", reason: "too thick at fret 5" } as const;
    expect(rules({ ...guitar, corrections: [entry, entry] })).toContain("HO-014");
    expect(rules({ ...guitar, corrections: [entry, { ...entry, by: 0.7 }] })).not.toContain("HO-014");
    expect(rules({ ...guitar, corrections: [entry, { ...entry, undone: "2026-04-01" }] })).not.toContain("HO-014");
    const turn = { kind: "turn", x: 0, y: -3.1, date: "2026-03-31", reason: "witness marks" } as const;
    expect(rules({ ...guitar, corrections: [turn] })).toContain("HO-014");
    expect(rules({ ...guitar, corrections: [{ ...turn, y: -3 }] })).not.toContain("HO-014");
    const askew = { ...turn, y: 0, angle: degToRad(0.3) };
    expect(rules({ ...guitar, corrections: [askew, askew] })).toContain("HO-014");
    expect(rules({ ...guitar, corrections: [askew, { ...askew, angle: degToRad(-0.3) }, askew] })).not.toContain("HO-014");
    const axes = (real: Partial<NonNullable<typeof machine.real>>) =>
      rules(guitar, { ...machine, real: { x: 1, y: 1, z: 1, square: 0, ...real } });
    expect(axes({ z: 0.979 })).toContain("HO-014");
    expect(axes({ square: 0.018 })).toContain("HO-014");
    expect(axes({ x: 1.02, y: 0.98, z: 1.02, square: 0.017 })).not.toContain("HO-014");
  });
  it("HO-015: pins need the outline's own wood", () => {
    expect(rules(withBlank({ outline: corners([0, 3], [length, 3], [length, width], [0, width]) }))).toContain("HO-015");
  });
  it("HO-016: an outline that crosses itself is refused", () => {
    expect(rules(withBlank({ outline: corners([0, 0], [length, width], [length, 0], [0, width]) }))).toContain("HO-016");
  });
});
