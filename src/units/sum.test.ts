import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { parseLength } from "./length.ts";
import { parseSum } from "./sum.ts";

const value = (text: string, plain: "mm" | "in" = "mm"): number | string => {
  const r = parseSum(text, plain);
  return r.ok ? r.value : r.says;
};

describe("sums of lengths", () => {
  test.each([
    ["648/2", 324],
    ["25 1/2 in", 647.7],
    ["25 1/2 in - 3 mm", 644.7],
    ["(43 + 56)/2", 49.5],
    ["1/2 in + 1/4 in", 19.05],
    ["2 * 25.4 mm", 50.8],
    ["-3 + 5", 2],
    ["42,5 mm", 42.5],
    ["42,5 + 0,5", 43],
    ["3 in / 1 in", 3],
    ["2×(3 mm + 1 cm)", 26],
  ])("%s is %f mm", (text, mm) => {
    expect(value(text)).toBeCloseTo(mm, 9);
  });
  test("a plain number is in the unit of its place, a length in its own", () => {
    expect(value("2", "in")).toBeCloseTo(50.8, 9);
    expect(value("1 + 1", "in")).toBeCloseTo(50.8, 9);
    expect(value("2 mm", "in")).toBe(2);
  });
  test.each([
    "",
    "x",
    "3 +",
    "(3",
    "3)",
    "3 mm + 2",
    "3 mm * 2 mm",
    "2 / (3 mm)",
    "1/0",
    "0 * 1/0",
    "3 furlong",
    "1,234",
    "1.2.3",
    "--",
    "1 2",
    "3 4/5",
  ])("%s is refused with what to try", (text) => {
    const r = parseSum(text);
    expect(r.ok).toBe(false);
    if (!r.ok) expect(r.tryThis.length).toBeGreaterThan(5);
  });
  test("whatever is typed: a finite number or a sentence, never a crash", () => {
    const sign = fc.constantFrom(..."0123456789.,+-*/() minc\"'×e");
    fc.assert(
      fc.property(fc.string({ unit: sign, maxLength: 30 }), (text) => {
        const r = parseSum(text);
        expect(r.ok ? Number.isFinite(r.value) : r.says.length > 3).toBe(true);
        // what is a length alone stays what it is
        const alone = parseLength(text);
        if (alone.ok) expect(r.ok && r.value).toBeCloseTo(alone.value, 9);
      }),
      { seed: 20260101, numRuns: 3000 },
    );
  });
  test("sums of what was written come out as reckoned by hand", () => {
    const n = fc.integer({ min: 1, max: 9999 }).map((k) => k / 10);
    fc.assert(
      fc.property(n, n, n, (a, b, c) => {
        expect(value(`${a} mm + ${b} mm - ${c} mm`)).toBeCloseTo(a + b - c, 9);
        expect(value(`(${a} + ${b}) * ${c}`)).toBeCloseTo((a + b) * c, 6);
        expect(value(`${a} in / ${c}`)).toBeCloseTo((a * 25.4) / c, 6);
      }),
      { seed: 20260101, numRuns: 300 },
    );
  });
});
