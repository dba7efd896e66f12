import fc from "fast-check";
import { expect, test } from "vitest";
import { makeNeck } from "../../src/neck/index.ts";
import { parseOrderObject } from "../../src/spec/index.ts";
import { anyOrder } from "../arbitrary.ts";

/** A slotted headstock with more tuners than strings asked for a string that is not there, and the checks crashed instead of speaking. */
test("more tuners than strings: findings, no crash", () => {
  const { value } = parseOrderObject({
    neckwright: "order/1",
    name: "x",
    instrument: "guitar",
    strings: { count: 2 },
    headstock: {
      tuners: { layout: "split", bass: 3, treble: 10 },
      slotted: { width: 12, wall: 9, from: 44, length: 95, rollerBore: 10, rollerDepth: 26 },
    },
  });
  if (!value) throw new Error("the order is readable, with stops");
  expect(makeNeck(value).features.rollers.length).toBe(13);
});

test("any order that can be read gives a neck and findings, never a crash", () => {
  fc.assert(
    fc.property(anyOrder(), (doc) => {
      const { value } = parseOrderObject(doc);
      if (value) expect(Array.isArray(makeNeck(value).findings)).toBe(true);
    }),
    { seed: 20260101, numRuns: 60 },
  );
});
