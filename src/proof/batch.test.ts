import { describe, expect, test } from "vitest";
import { type BedPiece, proveBed } from "./batch.ts";
import { cutPart, toldMoves, woodBefore } from "./resume.ts";
import type { SimulationInput } from "./simulate.ts";
import type { ProofProgram } from "./types.ts";

/* Two blocks of 60 x 30 x 10 mm beside each other, 50 mm apart in y; a groove in each. */

const FLAT = {
  number: 1,
  name: "flat",
  shape: "flat",
  diameter: 6,
  cornerRadius: 0,
  tipDiameter: 0,
  tipAngle: 0,
  fluteLength: 12,
  reach: 16,
  shankDiameter: 6,
  holder: [{ diameter: 20, length: 20 }],
  flutes: 2,
  maxRpm: 24000,
} as unknown as SimulationInput["cutters"][number];

const machine = {
  spindle: { min: 5000, max: 24000 },
  feed: { x: 100, y: 100, z: 100 },
  travel: { x: 300, y: 300, z: 100 },
  controller: { dialect: "reduced" },
} as unknown as SimulationInput["machine"];

const text = (lines: string): Uint8Array => new TextEncoder().encode(`G21 G90 G17 G94\nG0 Z20\n${lines}\nG0 Z20\nM5\nM2\n`);
const groove = (y: number, to = 55): string => `S12000 M3\nG0 X5 Y${y}\nG1 Z-4 F300\nX${to} F1200\nG0 Z20`;
const own: ProofProgram = { file: "own.ngc", side: "board", cutter: 1, cuts: ["a"], text: text(groove(15)) };

const input = {
  neck: null,
  machine,
  cutters: [FLAT],
  sides: [
    {
      name: "board",
      neckToProgram: [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0],
      stock: { min: [0, 0, -10], max: [60, 30, 0] },
      bed: -10,
      holding: [{ kind: "box", min: [-10, 5, -10], max: [0, 25, 5], name: "block", role: "block" }],
      zeroOnBed: [50, 50],
    },
  ],
  programs: [own],
  steps: [{ program: "own.ngc" }],
  cusps: {},
  cell: 0.5,
} as unknown as SimulationInput;

const [side] = input.sides;
const wood = woodBefore(input, side, null)!.map;

function bed(lines: string): string[] {
  const piece = (n: number, y: number): BedPiece => ({
    name: `piece ${n}`,
    input,
    side,
    real: [1, 0, 0, 0, 0, 1, 0, -y, 0, 0, 1, 0],
    at: [0, y],
    prefix: `p${n}-`,
  });
  const program: ProofProgram = { file: "both.ngc", side: "board", cutter: 1, cuts: ["p1-a", "p2-a"], text: text(lines) };
  const proof = proveBed(
    {
      machine,
      cutters: [FLAT],
      pieces: [piece(1, 0), piece(2, 50)],
      programs: [program],
      steps: [{ program: "both.ngc" }],
      zeroOnBed: [50, 50],
      cell: 0.5,
    },
    [wood, wood],
  );
  return [...new Set(proof.findings.map((f) => f.rule))].sort();
}

const both = (one: string, two: string): string => `(CUT 1 OF 2: p1-a - one)\n${one}\n(CUT 2 OF 2: p2-a - two)\n${two}`;

describe("several pieces on one bed", () => {
  test("each comes out as by its own program", () => {
    expect(bed(both(groove(15), groove(65)))).toEqual([]);
  });

  test("a cut of one that takes wood of another is stopped: PF-265", () => {
    expect(bed(both(`${groove(15)}\nG0 X20 Y65\nG1 Z-5\nX30\nG0 Z20`, groove(65)))).toEqual(
      expect.arrayContaining(["PF-233", "PF-265", "PF-266"]),
    );
  });

  test("a piece that comes out otherwise is stopped: PF-266", () => {
    expect(bed(both(groove(15), groove(65, 54)))).toEqual(["PF-266"]);
  });

  test("a cut that meets a neighbour's block, and a rapid that is too low between them, are stopped", () => {
    expect(bed(both(groove(15), `${groove(65)}\nG0 X-5 Y15\nG1 Z2 F300\nG0 Z20`))).toContain("PF-233");
    expect(bed(both(`${groove(15).replace(/G0 Z20$/, "G0 Z4")}\nG0 X-5 Y60\nG0 Z20`, groove(65)))).toContain("PF-232");
  });

  test("the wood of a piece is that of its own text", () => {
    const stock = woodBefore(input, side, "own.ngc")!;
    const told = toldMoves(own, 0)!.moves;
    cutPart(stock, side, FLAT, own, told, 0, told.count);
    expect(stock.map.z).toEqual(wood.z);
  });
});
