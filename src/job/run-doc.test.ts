import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { entryOf, mergeRuns, type RunDoc, type RunEntry, readRun, runText, withEntry } from "./run-doc.ts";

const HEAD: RunDoc = {
  neckwright: "run/1",
  name: "loan-one-20260101",
  order: "loan-one",
  orderMark: "0".repeat(64),
  shop: "shed",
  begun: "2026-01-01T08:00:00.000Z",
  programs: [{ file: "programs/01.ngc", sha256: "0".repeat(64), cutter: 1, length: 1200 }],
  entries: {},
};
const entry: fc.Arbitrary<RunEntry> = fc.record({
  value: fc.oneof(fc.boolean(), fc.integer(), fc.constantFrom("worn", "good"), fc.constant(null)),
  at: fc.integer({ min: 0, max: 5 }).map((n) => new Date(Date.UTC(2026, 0, 1, 9, 0, n)).toISOString()),
  by: fc.constantFrom("tablet", "bench"),
});
const run: fc.Arbitrary<RunDoc> = fc
  .dictionary(fc.constantFrom("done/a", "done/b", "measured/x", "note/1", "ended"), entry, { maxKeys: 5 })
  .map((entries) => ({ ...HEAD, entries: { ...entries } }));
const SEED = { seed: 20260101, numRuns: 300 };

describe("a run on several devices", () => {
  test("comes out the same whichever way and however often it is put together", () => {
    fc.assert(
      fc.property(run, run, run, (a, b, c) => {
        expect(runText(mergeRuns(a, b))).toBe(runText(mergeRuns(b, a)));
        expect(runText(mergeRuns(mergeRuns(a, b), c))).toBe(runText(mergeRuns(a, mergeRuns(b, c))));
        expect(runText(mergeRuns(a, a))).toBe(runText(a));
      }),
      SEED,
    );
  });

  test("nothing said is lost but what was said again later", () => {
    fc.assert(
      fc.property(run, run, (a, b) => {
        const both = mergeRuns(a, b);
        for (const side of [a, b])
          for (const [key, e] of Object.entries(side.entries)) {
            expect(Object.hasOwn(both.entries, key)).toBe(true);
            expect(both.entries[key].at >= e.at).toBe(true);
          }
      }),
      SEED,
    );
  });

  test("is read back as it was written, and what is no run is refused with the place", () => {
    fc.assert(
      fc.property(run, (a) => {
        const back = readRun(runText(a));
        expect(typeof back === "string" ? back : runText(back)).toBe(runText(a));
      }),
      SEED,
    );
    const bad = (part: object): string | RunDoc => readRun(JSON.stringify({ ...HEAD, ...part }));
    expect(readRun("{")).toBe("This is not JSON.");
    expect(readRun("null")).toContain("not a run");
    expect(bad({ name: "../x" })).toContain('"name"');
    expect(bad({ begun: "soon" })).toContain("head");
    expect(bad({ programs: [{ file: "a", length: -1 }] })).toContain("programs");
    expect(bad({ entries: { "odd/a": { value: 1, at: HEAD.begun, by: "x" } } })).toContain("no entry called");
    expect(bad({ entries: { "done/a": { value: {}, at: HEAD.begun, by: "x" } } })).toContain("no value");
    expect(bad({ entries: { "note/a": { value: "x".repeat(4001), at: HEAD.begun, by: "x" } } })).toContain("longer");
    expect(bad({ entries: { "done/a": { value: true, at: "never", by: "x" } } })).toContain("not whole");
  });

  test("a later entry takes the place of an earlier one", () => {
    const said = (n: number): string => new Date(Date.UTC(2026, 0, 1, 10, n)).toISOString();
    const one = withEntry(HEAD, "done/a", { value: true, at: said(2), by: "tablet" });
    expect(entryOf(withEntry(one, "done/a", { value: false, at: said(1), by: "bench" }), "done/a")).toBe(true);
    expect(entryOf(withEntry(one, "done/a", { value: null, at: said(3), by: "bench" }), "done/a")).toBeNull();
    expect(entryOf(one, "done/b")).toBeNull();
  });
});
