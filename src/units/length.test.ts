import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { formatDegrees, formatInches, formatMm, MM_PER_INCH, parseAngle, parseFeed, parseLength, plainDecimal } from "./index.ts";

const seeded = { seed: 20260101, numRuns: 2000 } as const;
const mmOf = (input: unknown): number => {
  const q = parseLength(input);
  if (!q.ok) throw new Error(`${q.code}: ${q.says}`);
  return q.value;
};
const codeOf = (input: unknown): string => {
  const q = parseLength(input);
  return q.ok ? `read as ${q.value}` : q.code;
};

describe("lengths at the door", () => {
  test.each([
    [648, 648],
    [0, 0],
    [-3.5, -3.5],
    ["648", 648],
    ["648 mm", 648],
    ["648mm", 648],
    [" 648 MM ", 648],
    ["64.8 cm", 648],
    ["0.648 m", 648],
    ["42,5 mm", 42.5],
    ["0,125 in", 3.175],
    ["1234,567", 1234.567],
    ["25.5 in", 647.7],
    ['25.5"', 647.7],
    ["25.5''", 647.7],
    ["25 1/2 in", 647.7],
    ["25 1/2 inches", 647.7],
    ["1 11/16 in", 42.8625],
    ["11/16 in", 17.4625],
    ["-1/2 in", -12.7],
    [".010 in", 0.254],
    ["1/2 mm", 0.5],
  ])("%j is %d mm", (text, mm) => expect(mmOf(text)).toBe(mm));

  test.each([
    [Number.NaN, "not finite"],
    [Number.POSITIVE_INFINITY, "not finite"],
    ["1,234", "ambiguous"],
    ["1,234.5", "ambiguous"],
    ["1.234,5", "ambiguous"],
    ["1 234 mm", "ambiguous"],
    ["25-1/2 in", "ambiguous"],
    ["25 1/2", "fraction"],
    ["3/0 in", "fraction"],
    ["3/2 in", "fraction"],
    ["1.5 1/2 in", "fraction"],
    ["25 ft", "unit"],
    ["25 mm mm", "unit"],
    ["", "empty"],
    ["  ", "empty"],
    ["NaN", "number"],
    ["Infinity", "number"],
    ["1e3", "number"],
    ["0x10", "number"],
    ["5.", "number"],
    ["- 3", "number"],
    ["--3", "number"],
    ["mm", "number"],
    ["9".repeat(60), "long"],
    [null, "kind"],
    [true, "kind"],
    [[648], "kind"],
    [{ mm: 648 }, "kind"],
    [undefined, "kind"],
  ])("%j is refused: %s", (input, code) => expect(codeOf(input)).toBe(code));

  test("law: mm written and read again is the same number to the bit", () => {
    fc.assert(
      fc.property(fc.double({ min: -1e5, max: 1e5, noNaN: true }), (v) => {
        const text = formatMm(v);
        if (text.length <= 40) expect(mmOf(text)).toBe(v === 0 ? 0 : v);
      }),
      seeded,
    );
  });

  test("law: inches written and read again agree within one part in 1e15", () => {
    fc.assert(
      fc.property(fc.double({ min: 0.001, max: 1e4, noNaN: true }), (v) => {
        const back = mmOf(formatInches(v));
        expect(Math.abs(back - v)).toBeLessThanOrEqual(v * 1e-15);
      }),
      seeded,
    );
  });

  test("law: a sixty-fourth of an inch is written as a fraction and read exactly", () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 64 * 60 }), (n) => {
        const mm = (n * 127) / (64 * 5);
        const text = formatInches(mm);
        expect(text).not.toMatch(/\./);
        expect(mmOf(text)).toBe(mm);
      }),
      seeded,
    );
  });

  test("law: whole, numerator and denominator say the same as the quotient", () => {
    fc.assert(
      fc.property(fc.nat({ max: 60 }), fc.integer({ min: 2, max: 128 }), fc.nat(), (whole, den, k) => {
        const num = 1 + (k % (den - 1));
        expect(mmOf(`${whole} ${num}/${den} in`)).toBeCloseTo((whole + num / den) * MM_PER_INCH, 9);
      }),
      seeded,
    );
  });

  test("law: a text is never silently misread: digits with two kinds of mark, gaps or grouping are refused", () => {
    const group = fc.integer({ min: 0, max: 999 }).map((n) => String(n).padStart(3, "0"));
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 999 }),
        fc.array(group, { minLength: 1, maxLength: 3 }),
        fc.constantFrom(",", " ", "'", "."),
        (head, groups, mark) => {
          const q = parseLength([head, ...groups].join(mark));
          // one point is a decimal mark; everything else that groups thousands is refused
          if (q.ok) expect([mark, groups.length]).toEqual([".", 1]);
        },
      ),
      seeded,
    );
  });

  test("law: whatever is read is finite, and nothing ever throws", () => {
    fc.assert(
      fc.property(fc.oneof(fc.string(), fc.anything(), fc.stringMatching(/^[-+0-9.,/ '"minch]{0,12}$/)), (v) => {
        for (const parse of [parseLength, parseAngle, parseFeed]) {
          const q = parse(v);
          if (q.ok) expect(Number.isFinite(q.value)).toBe(true);
          else expect(q.says.length * q.tryThis.length).toBeGreaterThan(0);
        }
      }),
      seeded,
    );
  });
});

describe("angles and feeds", () => {
  test("angles", () => {
    expect(parseAngle(180)).toEqual({ ok: true, value: Math.PI });
    expect(parseAngle("12 deg")).toEqual(parseAngle(12));
    expect(parseAngle("12\u00b0")).toEqual(parseAngle(12));
    expect(parseAngle("0.25 rad")).toEqual({ ok: true, value: 0.25 });
    expect(parseAngle("12 mm").ok).toBe(false);
    expect(formatDegrees(12.5)).toBe("12.5 deg");
  });
  test("feeds", () => {
    expect(parseFeed(3000)).toEqual({ ok: true, value: 3000 });
    expect(parseFeed("50 mm/s")).toEqual({ ok: true, value: 3000 });
    expect(parseFeed("100 in/min")).toEqual({ ok: true, value: 2540 });
    expect(parseFeed("50 mm").ok).toBe(false);
  });
  test("decimals are written without an exponent", () => {
    expect([plainDecimal(1e-9), plainDecimal(-2.5e-8), plainDecimal(1e21), plainDecimal(0.1)]).toEqual([
      "0.000000001",
      "-0.000000025",
      `1${"0".repeat(21)}`,
      "0.1",
    ]);
  });
});
