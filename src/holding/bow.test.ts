import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { guitar } from "../neck/fixture.test-data.ts";
import { makeNeck } from "../neck/neck.ts";
import { BOW_LIMIT, contactsOf, deflectionUnder, planningForce, worstBow } from "./bow.ts";
import { machine } from "./holding.test-data.ts";
import { planHolding } from "./plan.ts";

const seeded = { seed: 20260101, numRuns: 200 };

describe("bow between supports", () => {
  it("of an even beam is the closed form F a2 b2 / 3 EI L wherever the force stands", () => {
    // Gere and Goodno, Mechanics of Materials, table of deflections of simple beams, concentrated load, at the load
    fc.assert(
      fc.property(fc.double({ min: 20, max: 500, noNaN: true }), fc.double({ min: 0.05, max: 0.95, noNaN: true }), (length, share) => {
        const [a, ei, force] = [length * share, 4e8, 120];
        const closed = (force * a * a * (length - a) ** 2) / (3 * ei * length);
        expect(deflectionUnder({ from: 30, to: 30 + length }, 30 + a, force, () => ei) / closed).toBeCloseTo(1, 9);
      }),
      seeded,
    );
  });

  it("stays under its limit on every kind of machine, with more supports where the machine pushes harder", () => {
    const neck = makeNeck(guitar);
    const counts = [100, 500, 1500, 3000].map((k) => {
      const m = { ...machine, stiffness: { x: k, y: k, z: k } };
      const h = planHolding(neck, m);
      const bow = worstBow(neck, contactsOf(h.sides.carve), planningForce(m));
      expect(bow?.bow).toBeLessThan(BOW_LIMIT);
      expect(h.findings.filter((f) => f.rule === "HO-021")).toEqual([]);
      return contactsOf(h.sides.carve).length;
    });
    expect([...counts].sort((a, b) => a - b)).toEqual(counts);
    expect(counts[3]).toBeGreaterThan(counts[0]);
  });

  it("is found where no number of supports is enough", () => {
    const h = planHolding(makeNeck(guitar), { ...machine, stiffness: { x: 1e5, y: 1e5, z: 1e5 } });
    const [f] = h.findings.filter((q) => q.rule === "HO-021");
    expect(f?.value).toBeGreaterThan(BOW_LIMIT);
    expect(f?.where).toMatch(/from the nut/);
  });
});
