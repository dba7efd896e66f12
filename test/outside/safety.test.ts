import { describe, expect, test } from "vitest";
import { DUST_LIMITS, NIOSH_NOISE, OSHA_NOISE, permittedHours, UK_NOISE } from "../../src/materials/noise-dust.ts";

/* OSHA 29 CFR 1910.95, Table G-16 and its formula, hours printed to two decimals. */
const OSHA: readonly (readonly [number, number])[] = [
  [85, 16],
  [90, 8],
  [92, 6.06],
  [95, 4],
  [97, 3.03],
  [100, 2],
  [102, 1.52],
  [105, 1],
  [110, 0.5],
  [115, 0.25],
];
test.each(OSHA)("OSHA: %d dBA, %d h", (level, hours) => {
  expect(Number(permittedHours(level, OSHA_NOISE).toFixed(2))).toBe(hours);
});

/* NIOSH recommended exposure limit, 85 dBA for 8 h, 3 dB exchange rate. */
const NIOSH: readonly (readonly [number, number])[] = [
  [85, 8],
  [90, 2.52],
  [95, 0.794],
  [100, 0.25],
];
test.each(NIOSH)("NIOSH: %d dBA, %d h", (level, hours) => {
  expect(permittedHours(level, NIOSH_NOISE)).toBeCloseTo(hours, 3 - Math.ceil(Math.log10(hours + 1)));
});

test("Control of Noise at Work Regulations 2005: 80/135, 85/137, 87/140", () => {
  expect(UK_NOISE.map((row) => [row.daily, row.peak])).toEqual([
    [80, 135],
    [85, 137],
    [87, 140],
  ]);
});

describe("wood dust, mg/m3 over eight hours", () => {
  const limit = (place: string, what: string): readonly number[] =>
    DUST_LIMITS.filter((l) => l.place.startsWith(place) && l.what.includes(what)).map((l) => l.value);

  /* osha.gov, wood dust, evaluation page. The 1989 figures (5, 10; cedar 2.5) were remanded and must not appear. */
  test("United States: 15 total and 5 respirable in law, 1 recommended; cedar 0.5", () => {
    expect(limit("United States, law", "total")).toEqual([15]);
    expect(limit("United States, law", "respirable")).toEqual([5]);
    expect(limit("United States, recommended", "wood dust")).toEqual([1]);
    expect(limit("recommended (ACGIH", "cedar")).toEqual([0.5]);
    expect(DUST_LIMITS.some((l) => l.value === 10 || l.value === 2.5)).toBe(false);
  });

  /* Great Britain and the European Union differ for hardwood: both stand. */
  test("hardwood: 3 in Great Britain, 2 in the European Union", () => {
    expect(limit("Great Britain", "hardwood")).toEqual([3]);
    expect(limit("European Union", "hardwood")).toEqual([2]);
    expect(limit("Great Britain", "softwood")).toEqual([5]);
  });
});
