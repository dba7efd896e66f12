import { describe, expect, test } from "vitest";
import type { Cutter } from "../cutting/types.ts";
import { auditEngagement, isBeyond } from "./engagement.ts";
import { interpretProgram } from "./reader/index.ts";
import { ENGAGEMENT } from "./rules.ts";

const CUTTER: Cutter = {
  number: 1,
  name: "8 mm flat",
  shape: "flat",
  diameter: 8,
  cornerRadius: 0,
  tipDiameter: 0,
  tipAngle: 0,
  flutes: 2,
  fluteLength: 30,
  reach: 40,
  shankDiameter: 8,
  chip: { min: 0.04, max: 0.16 },
  maxDepth: 8,
  maxRpm: 24000,
  holder: [],
  modulus: 580000,
};
const WOOD = { xMin: 0, yMin: 0, xMax: 120, yMax: 60 };
const STEP = 3;
const LIMIT = Math.acos(1 - STEP / 4);
const head = (line: string): string[] => ["G21 G90 G17 G0 X-10 Y-10 Z20", "S10000 M3", line];

/** Rows from the edge inward, each entered from outside the wood: every pass is a step wide. */
function rows(cut: string, z: number): string[] {
  const out = [...head(`(CUT 1 OF 1: ${cut} - rows)`), "G0 X-8 Y0"];
  for (let k = 1; k <= 10; k++) {
    const y = (k * STEP - 4).toFixed(3);
    out.push(`G0 X-8 Y${y}`, `G1 Z${z} F1000`, "G1 X128", "G0 Z20");
  }
  return [...out, "M30"];
}

const audit = (lines: readonly string[], depth = 5, cuts = ["rough"]): ReturnType<typeof auditEngagement> => {
  const read = interpretProgram(`${lines.join("\n")}\n`, { start: [-10, -10, 20] });
  expect(read.errors).toEqual([]);
  const asked = { limit: LIMIT, depth };
  return auditEngagement(WOOD, 0, [{ file: "01.ngc", ...read, cutter: CUTTER, cuts: cuts.map((id) => ({ id, asked })) }]);
};

describe("the audit of how much wood a program meets", () => {
  test("rows a step wide meet the angle of that step and no more; the length is all counted", () => {
    const { figures, findings } = audit(rows("rough", -5));
    const [f] = figures.get("01.ngc") ?? [];
    expect(findings).toEqual([]);
    expect(Math.abs(f.maxDegrees - f.limitDegrees)).toBeLessThan(f.errorDegrees);
    expect(f.histogram.reduce((a, b) => a + b, 0) + f.air).toBeCloseTo(10 * 136, -1);
    expect(f.histogram[7]).toBeGreaterThan(1000);
  });

  test("a spike put into the program by hand is found at its line: PF-271", () => {
    const lines = rows("rough", -5);
    const at = lines.findIndex((l) => l.startsWith("G1 X128"));
    lines.splice(at, 1, "G1 X60", "G1 Y6", `G1 Y${(STEP - 4).toFixed(3)}`, "G1 X128");
    const { findings, figures } = audit(lines);
    expect(findings.map((f) => [f.rule, f.where])).toEqual([[ENGAGEMENT.id, `01.ngc:${at + 2}`]]);
    expect(figures.get("01.ngc")?.[0].maxDegrees).toBeGreaterThan(150);
  });

  test("twice the depth asked is twice the load: found", () => {
    const { findings, figures } = audit(rows("rough", -10));
    expect(findings.map((f) => f.rule)).toEqual([ENGAGEMENT.id]);
    expect(figures.get("01.ngc")?.[0].maxDegrees).toBeCloseTo(2 * LIMIT * (180 / Math.PI), -1);
  });

  test("a plunge into the full wood is found; down beside it is not", () => {
    const down = (y: number): string[] => [...head("(CUT 1 OF 1: rough - plunge)"), `G0 X60 Y${y}`, "G1 Z-5 F300", "G0 Z20", "M30"];
    expect(audit(down(30)).findings.map((f) => f.rule)).toEqual([ENGAGEMENT.id]);
    expect(audit(down(-4.5)).findings).toEqual([]);
  });

  test("a helix meets the full width at little depth: its load stays small", () => {
    const lines = [...head("(CUT 1 OF 1: rough - helix)"), "G0 X63 Y30", "G1 Z0.1 F300"];
    for (let k = 1; k <= 10; k++) lines.push(`G3 X63 Y30 Z${(-0.5 * k).toFixed(2)} I-3 J0 F500`);
    lines.push("G3 X63 Y30 I-3 J0", "G0 Z20", "M30");
    const [f] = audit(lines).figures.get("01.ngc") ?? [];
    expect(f.widestDegrees).toBeGreaterThan(120);
    expect(f.maxDegrees).toBeLessThan(LIMIT * (180 / Math.PI));
    expect(isBeyond(f)).toBe(false);
  });

  test("of a program of two cuts each is judged by its own limit; one without is only stamped", () => {
    const one = rows("one", -5);
    const two = rows("two", -10).slice(2);
    const lines = [...one.slice(0, -1), ...two];
    const read = interpretProgram(`${lines.join("\n")}\n`, { start: [-10, -10, 20] });
    const asked = { limit: LIMIT, depth: 5 };
    const both = auditEngagement(WOOD, 0, [
      { file: "a", ...read, cutter: CUTTER, cuts: ["one", "two"].map((id) => ({ id, asked: id === "two" ? asked : null })) },
    ]);
    const figures = both.figures.get("a") ?? [];
    expect(figures.map((f) => f.cut)).toEqual(["two"]);
    // the first cut has taken the upper half
    expect(both.findings).toEqual([]);
    expect(Math.abs(figures[0].maxDegrees - figures[0].limitDegrees)).toBeLessThan(figures[0].errorDegrees);
  });

  test("a ball is judged by its cylinder at the depth asked", () => {
    const read = interpretProgram(`${rows("rough", -2).join("\n")}\n`, { start: [-10, -10, 20] });
    const ball: Cutter = { ...CUTTER, shape: "ball" };
    const asked = { limit: LIMIT, depth: 2 };
    const { figures, along } = auditEngagement(WOOD, 0, [{ file: "a", ...read, cutter: ball, cuts: [{ id: "rough", asked }] }]);
    // the trace along the moves has the same largest load
    const trace = along.get("a")!;
    expect(trace.length).toBe(read.moves.count);
    expect((Math.max(...trace) * 180) / Math.PI).toBeCloseTo(figures.get("a")![0].maxDegrees, 1);
    const r = Math.sqrt(2 * 4 * 2 - 2 * 2);
    expect(figures.get("a")?.[0].maxDegrees).toBeCloseTo(Math.acos(1 - STEP / r) * (180 / Math.PI), -1);
  });

  test("a slot in layers, its walls high: each layer meets its own depth; twice as deep is found", () => {
    const slot = (bite: number): string[] => {
      const out = [...head("(CUT 1 OF 1: rough - slot)"), "G0 X72 Y30", "G1 Z0.1 F300"];
      for (let k = 1; k * bite <= 16; k++) out.push(`G3 X72 Y30 Z${(-bite * k).toFixed(2)} I-12 J0 F500`);
      return [...out, "G3 X72 Y30 I-12 J0", "G0 Z20", "M30"];
    };
    const declared = (bite: number): ReturnType<typeof audit> => {
      const read = interpretProgram(`${slot(bite).join("\n")}\n`, { start: [-10, -10, 20] });
      const asked = { limit: Math.PI, depth: 1 };
      return auditEngagement(WOOD, 0, [{ file: "01.ngc", ...read, cutter: CUTTER, cuts: [{ id: "rough", asked }] }]);
    };
    const { figures, findings } = declared(1);
    expect(findings).toEqual([]);
    expect(figures.get("01.ngc")?.[0].maxDegrees).toBeGreaterThan(165);
    expect(declared(2).findings.map((f) => f.rule)).toEqual([ENGAGEMENT.id]);
  });
});
