import { describe, expect, test } from "vitest";
import { block, blockInput, FLAT } from "./block.test-data.ts";
import { cutPart, proveResume, stockFrom, toldMoves, woodBefore } from "./resume.ts";
import type { SimulationInput } from "./simulate.ts";
import type { ProofSide } from "./types.ts";

/* A groove along the block, a row of plunges, a second groove. */

// lines 4 to 10
const GROOVE = "G0 X5 Y8\nG1 Z-4 F300\nX30 F1200\nX55\nG0 Z20\nG0 X10 Y22\nG1 Z-4 F300\nX50 F1200";
const input = (holding: ProofSide["holding"] = []): SimulationInput =>
  blockInput([{ file: "a.ngc", cutter: 1, cuts: ["a"], text: block(GROOVE) }], 0.25, holding);

/** Stopped before the move on `line`; goes on with `lines`. */
function resumed(line: number, lines: string, cutter = FLAT, holding: ProofSide["holding"] = []): ReturnType<typeof proveResume> {
  const all = input(holding);
  const [side] = all.sides;
  const [program] = all.programs;
  const { moves } = toldMoves(program, 0)!;
  let k = 0;
  while (moves.line[k] < line) k++;
  const wood = woodBefore(all, side, program.file)!;
  cutPart(wood, side, FLAT, program, moves, 0, k);
  const whole = stockFrom(wood.map);
  cutPart(whole, side, FLAT, program, moves, k, moves.count);
  return proveResume({ input: all, side, cutter, program: { ...program, file: "a-from.ngc", text: block(lines) }, wood, whole: whole.map });
}

const rules = (p: ReturnType<typeof proveResume>): string[] => p.findings.map((f) => f.rule);
const REST = "G0 Z20\nG0 X10 Y22\nG1 Z-4 F300\nX50 F1200";

describe("a program that goes on", () => {
  test("where the cutter has stood is proved, and leaves what the whole program leaves", () => {
    const p = resumed(7, `G0 X30 Y8\nG0 Z1\nG1 Z-4 F300\nX55 F1200\n${REST}`);
    expect(rules(p)).toEqual([]);
    expect([p.below, p.above, p.wayIn]).toEqual([0, 0, 0]);
    expect(p.figure!.removed).toBeGreaterThan(100);
  });

  test("that goes down in wood is stopped: PF-264", () => {
    expect(rules(resumed(7, `G0 X40 Y8\nG0 Z1\nG1 Z-4 F300\nX30 F1200\nX55\n${REST}`))).toEqual(["PF-264"]);
  });

  test("that leaves wood, or takes more, is stopped: PF-263", () => {
    const left = resumed(7, `G0 X30 Y8\nG0 Z1\nG1 Z-4 F300\nX54.5 F1200\n${REST}`);
    expect(rules(left)).toEqual(["PF-263"]);
    expect(left.above).toBeCloseTo(4, 6);
    const deep = resumed(7, `G0 X30 Y8\nG0 Z1\nG1 Z-4 F300\nX55 Z-4.006 F1200\n${REST}`);
    expect(rules(deep)).toEqual(["PF-263"]);
    expect(deep.below).toBeCloseTo(0.006, 3);
    expect(rules(resumed(7, `G0 X30 Y8\nG0 Z1\nG1 Z-4 F300\nX55 Z-4.003 F1200\n${REST}`))).toEqual([]);
  });

  test("with a rapid through wood is stopped", () => {
    expect(rules(resumed(7, `G0 X30 Y8\nG0 Z-4\nG0 X40\nG1 X55 F1200\n${REST}`))).toContain("PF-231");
  });

  test("whose way in meets a block, or passes one too low, is stopped; past it is not", () => {
    const goesOn = `G0 X30 Y8\nG0 Z1\nG1 Z-4 F300\nX55 F1200\n${REST}`;
    const standing = (x: number, top: number): ProofSide["holding"] => [
      { kind: "box", min: [x - 4, 4, -10], max: [x + 4, 12, top], name: "block", role: "block" },
    ];
    const stopped = (holding: ProofSide["holding"]): string[] => rules(resumed(7, goesOn, FLAT, holding));
    // under the place where it goes down; beside it, met by the holder alone; where nothing of it comes
    expect(stopped(standing(30, 4))).toContain("PF-232");
    expect(stopped(standing(20, 14)).length).toBeGreaterThan(0);
    expect(stopped(standing(-20, 4))).toEqual([]);
  });

  test("with a shorter cutter is stopped when its holder meets wood", () => {
    const short = { ...FLAT, fluteLength: 3, reach: 3 };
    expect(rules(resumed(7, `G0 X30 Y8\nG0 Z1\nG1 Z-4 F300\nX55 F1200\n${REST}`, short))).toContain("PF-236");
  });

  test("with a text that cannot be read, or no word of where it starts, is stopped", () => {
    expect(rules(resumed(7, "G1 X1 Q")).length).toBeGreaterThan(0);
    const all = input();
    const text = new TextEncoder().encode("G21 G90 G17 G94\nM3 S12000\nG1 X55 Y8 Z-4 F300\nM5\nM2\n");
    const [side] = all.sides;
    const wood = woodBefore(all, side, "a.ngc")!;
    const p = proveResume({ input: all, side, cutter: FLAT, program: { ...all.programs[0], text }, wood, whole: null });
    expect(rules(p)).toContain("PF-217");
  });
});
