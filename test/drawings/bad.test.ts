/** Broken drawings: said clearly, never a wrong outline, and nothing is opened, fetched or run. */
import { describe, expect, test } from "vitest";
import { DRAWING_RULES, readDrawing } from "../../src/spec/drawing/index.ts";
import { BAD } from "./bad.ts";
import { bytes, dxfFile, light } from "./write.ts";

describe("broken drawings", () => {
  test("there are at least thirty, of both forms, and no name twice", () => {
    expect(BAD.length).toBeGreaterThanOrEqual(30);
    for (const kind of ["dxf", "svg"]) expect(BAD.filter((b) => b.kind === kind).length).toBeGreaterThan(12);
    expect(new Set(BAD.map((b) => b.name)).size).toBe(BAD.length);
  });

  test.each(BAD.map((b) => [b.name, b] as const))("%s", (_, bad) => {
    const options = bad.options ?? (bad.rule === "SP-311" ? { layer: "outline" } : {});
    const { outline, findings, facts } = readDrawing(bad.make(), bad.kind, options);
    const said = findings.find((f) => f.rule === bad.rule);
    expect(said, findings.map((f) => `${f.rule} ${f.where}: ${f.says}`).join("\n")).toBeDefined();
    expect(said?.where).toMatch(bad.where);
    expect(said?.says).toMatch(/^.{15,400}$/s);
    expect(said?.tryThis).toMatch(/^.{7,}\.$/);
    if (bad.repaired) {
      expect(outline).not.toBeNull();
      // the plain outline, but for half of a closed gap
      expect(Math.abs(facts.area - 7200)).toBeLessThan(4);
      expect(findings.filter((f) => f.severity === "stop")).toEqual([]);
    } else if (said?.severity === "stop") expect(outline).toBeNull();
  });

  test("every rule of drawings is broken by one of them", () => {
    // SP-324 only says what was read: the orders' tests have it
    const quiet = DRAWING_RULES.map((r) => r.id).filter((id) => id !== "SP-324" && !BAD.some((b) => b.rule === id));
    expect(quiet).toEqual([]);
  });

  test("a drawing of 100 000 segments that does close is read", () => {
    const ring = Array.from({ length: 1e5 }, (_, k): [number, number] => {
      const a = (2 * Math.PI * k) / 1e5;
      return [100 + 60 * Math.cos(a), 100 + 60 * Math.sin(a)];
    });
    const r = readDrawing(bytes(dxfFile(light(ring, true))), "dxf");
    expect(r.findings.filter((f) => f.severity === "stop")).toEqual([]);
    expect(r.facts.curves).toBe(1e5);
    expect(r.facts.area).toBeCloseTo(Math.PI * 3600, 3);
  });

  test("the same bytes give the same findings and outline", () => {
    for (const bad of BAD.filter((b) => !/00|million|double/.test(b.name)))
      expect(readDrawing(bad.make(), bad.kind)).toEqual(readDrawing(bad.make(), bad.kind));
  });
});
