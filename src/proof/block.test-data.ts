import type { SimulationInput } from "./simulate.ts";
import type { ProofProgram, ProofSide } from "./types.ts";

/* A block of 60 x 30 x 10 mm, its upper face at z 0, on a small machine with one flat cutter: what short texts are proved on. */

type Cutter = SimulationInput["cutters"][number];

export const FLAT: Cutter = {
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
} as unknown as Cutter;

const MACHINE = {
  spindle: { min: 5000, max: 24000 },
  feed: { x: 100, y: 100, z: 100 },
  travel: { x: 300, y: 300, z: 100 },
  controller: { dialect: "reduced" },
} as unknown as SimulationInput["machine"];

/** Lines of a program between its head and its end, as bytes. */
export const block = (lines: string, spindle = "M3 S12000\n"): Uint8Array =>
  new TextEncoder().encode(`G21 G90 G17 G94\n${spindle}G0 Z20\n${lines}\nG0 Z20\nM5\nM2\n`);

/** The board side of the block with these programs, in their order; without a neck. */
export function blockInput(
  programs: readonly Omit<ProofProgram, "side">[],
  cell: number,
  holding: ProofSide["holding"] = [],
  cutters: readonly Cutter[] = [FLAT],
): SimulationInput {
  return {
    neck: null,
    machine: MACHINE,
    cutters,
    sides: [
      {
        name: "board",
        neckToProgram: [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0],
        stock: { min: [0, 0, -10], max: [60, 30, 0] },
        bed: -10,
        holding,
        zeroOnBed: [50, 50],
      },
    ],
    programs: programs.map((p) => ({ ...p, side: "board" })),
    steps: programs.map((p) => ({ program: p.file })),
    cusps: {},
    cell,
  } as unknown as SimulationInput;
}
