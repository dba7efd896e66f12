import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { parseLength } from "../units/index.ts";
import { type FieldKind, readField } from "./field-value.ts";

const mm: FieldKind = { unit: "mm", min: 1, max: 100, whole: false, place: false, inches: false };

describe("what is typed into a field", () => {
  test.each([
    ["42,5 mm", 42.5],
    ["42.5", 42.5],
    ["84/2", 42],
    ["1 11/16 in", "1 11/16 in"],
    ["", undefined],
    ["1 in - 5 mm", 20.4],
  ])("%s is kept as %s", (typed, value) => {
    expect(readField(typed, mm)).toEqual({ ok: true, value });
  });
  test("what lies outside is refused, not moved to the limit", () => {
    for (const typed of ["425", "0", "-3", "4 in"]) expect(readField(typed, mm), typed).toMatchObject({ ok: false, outside: true });
  });
  test("inches at will: a plain number is in inches, a length in mm stays one", () => {
    const inch = { ...mm, inches: true };
    expect(readField("1.5", inch)).toEqual({ ok: true, value: "1.5 in" });
    expect(readField("20 mm", inch)).toEqual({ ok: true, value: 20 });
    expect(readField("5", inch)).toMatchObject({ ok: false, outside: true });
  });
  test("places, angles, feeds, whole numbers", () => {
    expect(readField("Fret  12", { ...mm, place: true })).toEqual({ ok: true, value: "fret 12" });
    expect(readField("fret 12", mm)).toMatchObject({ ok: false });
    expect(readField("12°", { ...mm, unit: "deg" })).toEqual({ ok: true, value: 12 });
    expect(readField("50 mm/s", { ...mm, unit: "mm/min", max: 5000 })).toEqual({ ok: true, value: 3000 });
    expect(readField("22.5", { ...mm, unit: "", whole: true })).toMatchObject({ ok: false });
    expect(readField("1,234", { ...mm, unit: "", max: 9999 })).toMatchObject({ ok: false });
  });
  test("whatever is typed: what is kept reads back inside the range, or a sentence says why not", () => {
    const sign = fc.constantFrom(..."0123456789.,+-*/() minc\"'fret°");
    fc.assert(
      fc.property(fc.string({ unit: sign, maxLength: 16 }), fc.boolean(), (typed, inches) => {
        const r = readField(typed, { ...mm, inches });
        if (!r.ok) expect(r.says.length).toBeGreaterThan(3);
        else if (r.value === undefined) expect(typed.trim()).toBe("");
        else {
          const back = parseLength(r.value);
          if (!back.ok) throw new Error(back.says);
          expect(back.value).toBeGreaterThanOrEqual(1 - 1e-6);
          expect(back.value).toBeLessThanOrEqual(100 + 1e-6);
        }
      }),
      { seed: 20260101, numRuns: 5000 },
    );
  });
});
