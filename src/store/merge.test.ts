import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { equal, type Json, merge, mergeTexts } from "./merge.ts";

const json = (): fc.Arbitrary<Json> =>
  fc.letrec<{ any: Json }>((tie) => ({
    any: fc.oneof(
      { depthSize: "small", maxDepth: 3 },
      fc.integer({ min: 0, max: 3 }),
      fc.constantFrom("x", null, true),
      fc.array(tie("any"), { maxLength: 2 }),
      fc.dictionary(fc.constantFrom("a", "b", "c", "__proto__"), tie("any"), { maxKeys: 3 }),
    ),
  })).any;
const LAW = { seed: 20260101, numRuns: 200 };

describe("putting two changes of one document together", () => {
  test("who changed alone is right; two who changed the same way agree", () => {
    fc.assert(
      fc.property(json(), json(), (base, mine) => {
        expect(merge(base, mine, base)).toEqual({ value: mine, clashes: [] });
        expect(merge(base, base, mine)).toEqual({ value: mine, clashes: [] });
        expect(merge(base, mine, mine)).toEqual({ value: mine, clashes: [] });
      }),
      LAW,
    );
  });

  test("without a clash it does not matter who came first; a clash holds what each of them had", () => {
    fc.assert(
      fc.property(json(), json(), json(), (base, a, b) => {
        const [one, two] = [merge(base, a, b), merge(base, b, a)];
        expect(one.clashes.length).toBe(two.clashes.length);
        if (one.clashes.length === 0) expect(equal(one.value, two.value)).toBe(true);
        for (const c of one.clashes) expect(equal(c.mine, c.theirs) || equal(c.base, c.mine) || equal(c.base, c.theirs)).toBe(false);
      }),
      LAW,
    );
  });

  test("an order changed in two places, and in one place twice", () => {
    const base = '{"scale": 648, "nut": {"width": 43, "depth": 3}, "frets": 22}';
    const both = mergeTexts(base, base.replace("648", "650"), base.replace("43", "44"));
    expect(both).toEqual({
      text: '{\n  "scale": 650,\n  "nut": {\n    "width": 44,\n    "depth": 3\n  },\n  "frets": 22\n}\n',
      clashes: [],
    });
    const clash = mergeTexts(base, base.replace("43", "42"), base.replace("43", "44"));
    expect(clash?.clashes).toEqual([{ path: ["nut", "width"], base: 43, mine: 42, theirs: 44 }]);
    expect(JSON.parse(clash?.text ?? "").nut.width).toBe(44);
    expect(mergeTexts(base, "{", base)).toBeNull();
  });
});
