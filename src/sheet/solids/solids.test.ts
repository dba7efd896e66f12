import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { makeNeck } from "../../neck/index.ts";
import { parseOrder } from "../../spec/index.ts";
import { stlBytes } from "./index.ts";

const sampleOrder = () => parseOrder(readFileSync("examples/loan-guitar-twelve.order.json")).value!;

describe("rules of the solids", () => {
  const neck = makeNeck(sampleOrder());

  test("SH-031 names what is left out, and the file is written", () => {
    const made = stlBytes(neck, { tolerance: 0.1 });
    expect(made.bytes).not.toBeNull();
    const notes = made.findings.filter((f) => f.rule === "SH-031");
    expect(notes.some((f) => f.says.includes("roller-1"))).toBe(true);
    expect(made.findings.every((f) => f.severity === "note")).toBe(true);
  });

  test("SH-030: two slots that run into one another leave no solid, and the finding says where", () => {
    const [first, second, ...rest] = neck.features.frets;
    const moved = { ...second, bass: { x: first.bass.x + 0.2, y: first.bass.y }, treble: { x: first.treble.x + 0.2, y: first.treble.y } };
    const made = stlBytes({
      ...neck,
      features: { ...neck.features, frets: [{ ...first, ends: "through" }, { ...moved, ends: "through" }, ...rest] },
    });
    expect(made.bytes).toBeNull();
    const stop = made.findings.find((f) => f.rule === "SH-030");
    expect(stop?.severity).toBe("stop");
    expect(stop?.says).toMatch(/x [-\d.]+, y [-\d.]+ mm: .*run into one another/);
  });

  test("the same neck gives the same bytes, whatever was made before", () => {
    const again = makeNeck(sampleOrder());
    expect(stlBytes(again, { tolerance: 0.1 }).bytes).toEqual(stlBytes(neck, { tolerance: 0.1 }).bytes);
  });
});
