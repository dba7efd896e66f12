import { describe, expect, test } from "vitest";
import { type BedPiece, type BedStep, proveBed } from "./batch.ts";
import { block, blockInput, FLAT } from "./block.test-data.ts";
import { cutPart, toldMoves, woodBefore } from "./resume.ts";
import type { ProofProgram } from "./types.ts";

/* Two blocks beside each other, 50 mm apart in y; a groove in each. */

const text = (lines: string): Uint8Array => block(lines, "");
const groove = (y: number, to = 55): string => `S12000 M3\nG0 X5 Y${y}\nG1 Z-4 F300\nX${to} F1200\nG0 Z20`;
const own: ProofProgram = { file: "own.ngc", side: "board", cutter: 1, cuts: ["a"], text: text(groove(15)) };

const input = blockInput([own], 0.5, [{ kind: "box", min: [-10, 5, -10], max: [0, 25, 5], name: "block", role: "block" }]);

const [side] = input.sides;
const wood = woodBefore(input, side, null)!.map;

function bed(lines: string, steps: readonly BedStep[] = [{ program: "both.ngc" }], rest = ""): string[] {
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
      machine: input.machine,
      cutters: [FLAT],
      pieces: [piece(1, 0), piece(2, 50)],
      programs: [program, { ...program, file: "rest.ngc", text: text(rest) }].slice(0, rest === "" ? 1 : 2),
      steps,
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

  test("it goes on from where it stopped, over the wood as it stands then; a way in through wood is stopped: PF-264", () => {
    const whole = both(groove(15), groove(65));
    const { moves } = toldMoves({ ...own, text: text(whole) }, 0)!;
    // stopped in the second piece's groove, before its feed along it
    const upTo = moves.x.findLastIndex((x, k) => x === 55 && moves.y[k] === 65 && moves.kind[k] === 1);
    const stopped: readonly BedStep[] = [
      { program: "both.ngc", done: true, upTo },
      { program: "rest.ngc", resumed: true },
    ];
    const rest = (x: number): string => `(CUT 1 OF 1: p2-a - one)\nS12000 M3\nG0 X${x} Y65 Z20\nG1 Z-4 F300\nX55 F1200\nG0 Z20`;
    expect(bed(whole, stopped, rest(5))).toEqual([]);
    expect(bed(whole, stopped, rest(30))).toEqual(["PF-264", "PF-266"]);
    expect(bed(whole, stopped.slice(0, 1))).toEqual(["PF-266"]);
  });

  test("the wood of a piece is that of its own text", () => {
    const stock = woodBefore(input, side, "own.ngc")!;
    const told = toldMoves(own, 0)!.moves;
    cutPart(stock, side, FLAT, own, told, 0, told.count);
    expect(stock.map.z).toEqual(wood.z);
  });
});
