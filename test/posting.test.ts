import { beforeAll, describe, expect, it } from "vitest";
import { planHolding } from "../src/holding/index.ts";
import { groupCuts } from "../src/job/programs.ts";
import { writePrograms } from "../src/job/write-programs.ts";
import { MoveKind } from "../src/kernel/moves.ts";
import type { Cut } from "../src/paths/types.ts";
import { proveSide } from "../src/proof/index.ts";
import { interpretProgram } from "../src/proof/reader/index.ts";
import type { ProofInput, SideProof } from "../src/proof/types.ts";
import { plannedFor } from "./jobs.ts";

/*
 * Programs posted for a machine that is out of scale and out of square and a piece that lies elsewhere after the turn. Proved on the
 * machine as it is they cut the neck that was ordered; on a machine that did what it is told the same text would not.
 */

const real = { x: 1.004, y: 0.997, z: 1.002, square: 0.004 };
const day = { date: "2026-03-31", reason: "test" } as const;
const corrections = [
  { kind: "turn", x: 0.4, y: -0.3, ...day },
  { kind: "height", side: "board", by: 0.2, ...day },
] as const;

describe("programs posted with corrections in force", () => {
  let good: SideProof;
  let plain: SideProof;
  beforeAll(() => {
    const { neck, shop, plan, input } = plannedFor("loan-ukulele", "stiff-router", 0.8);
    // frets and outline show where things lie; clearing shows nothing of it
    const cuts = plan.cuts.filter((c: Cut) => c.side === "board" && /fret|tuner|outline/.test(c.id));
    const steps = plan.steps.filter((s) => s.kind === "cut" && cuts.some((c) => c.id === s.cut));
    const ordered = { ...neck, order: { ...neck.order, corrections } };
    const holding = planHolding(ordered, { ...shop.machine, real });
    const posted = (h: typeof holding): Pick<ProofInput, "programs" | "steps"> => {
      const grouped = groupCuts({ cuts, steps });
      const written = writePrograms(grouped.groups, neck.order, "0".repeat(64), shop, h);
      expect(written.findings).toEqual([]);
      return { programs: written.programs, steps: grouped.steps };
    };
    const prove = (h: typeof holding, p: ReturnType<typeof posted>): SideProof =>
      proveSide({ ...input, ...p, sides: [h.sides.board, h.sides.carve] }, "board");
    const own = planHolding(neck, shop.machine);
    good = prove(holding, posted(holding));
    plain = prove(own, posted(holding));
  }, 60_000);

  const frets = (p: SideProof) => p.measures.filter((m) => /^fret-\d+$/.test(m.id));
  const wrong = (p: SideProof): string[] =>
    p.findings.filter((f) => f.severity === "stop" && /^(fret|tuner)/.test(f.where)).map((f) => `${f.rule} ${f.where}`);
  it("the machine as it is cuts every slot and bore where it was ordered", () => {
    expect(frets(good).length).toBeGreaterThan(10);
    expect(wrong(good)).toEqual([]);
    for (const m of frets(good)) if (m.what.startsWith("centreline")) expect(Math.abs(m.measured - m.ordered), m.id).toBeLessThan(0.01);
  });
  it("a machine that does what it is told cuts them elsewhere with the same text", () => {
    expect(wrong(plain).length).toBeGreaterThan(10);
  });
});

/*
 * The same, sharing nothing with the maps by which programs are posted and proved: every end of a move, as the text has it, is put through what a
 * machine with these faults does, written out here, and has to come to lie on a slot of the neck.
 */
describe("the text of the fret slots on a machine with these faults", () => {
  it("takes the cutter along every slot, within 0.02 mm across it, at the depth that was planned", () => {
    const { neck, shop, plan } = plannedFor("loan-ukulele", "stiff-router", 0.8);
    const slots = plan.cuts.filter((c: Cut) => c.id === "board-fret-slots");
    const holding = planHolding({ ...neck, order: { ...neck.order, corrections } }, { ...shop.machine, real });
    const textOf = (h: typeof holding): Uint8Array => {
      const grouped = groupCuts({ cuts: slots, steps: slots.map((c) => ({ kind: "cut", cut: c.id })) });
      return writePrograms(grouped.groups, neck.order, "0".repeat(64), shop, h).programs[0].text;
    };
    const side = planHolding(neck, shop.machine).sides.board;
    const top = side.stock.max[2];
    // what the machine does: x and y stretched, y leaning toward +x; the board side comes out 0.2 mm too high
    const done = (x: number, y: number, z: number): readonly [number, number, number] => [
      1.004 * x + 0.997 * y * Math.tan(0.004),
      0.997 * y,
      1.002 * z + 0.2,
    ];
    const deep = (text: Uint8Array, does: (x: number, y: number, z: number) => readonly [number, number, number]) => {
      const { moves } = interpretProgram(text);
      const out: (readonly [number, number, number])[] = [];
      for (let k = 0; k < moves.count; k++) {
        const at = does(moves.x[k], moves.y[k], moves.z[k]);
        if (moves.kind[k] !== MoveKind.rapid && at[2] < top - 0.5) out.push(at);
      }
      return out;
    };
    const [, , , tx, , , , ty] = side.neckToProgram;
    const off = ([x, y]: readonly [number, number, number]): number =>
      Math.min(
        ...neck.features.frets.map((f) => {
          const [ax, ay] = [f.bass.x + tx, side.neckToProgram[5] * f.bass.y + ty];
          const [bx, by] = [f.treble.x + tx, side.neckToProgram[5] * f.treble.y + ty];
          return Math.abs((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / Math.hypot(bx - ax, by - ay);
        }),
      );
    // a cutter as wide as the kerf goes along its middle; a thinner one to either side by half of what is missing
    const aside = Math.max(...deep(textOf(planHolding(neck, shop.machine)), (x, y, z) => [x, y, z]).map(off));
    expect(aside).toBeLessThan(0.1);
    const places = deep(textOf(holding), done);
    expect(places.length).toBeGreaterThan(2 * neck.features.frets.length);
    for (const p of places) expect(off(p)).toBeLessThan(aside + 0.02);
    const lowest = (list: readonly (readonly [number, number, number])[]): number => Math.min(...list.map((p) => p[2]));
    const planned = lowest(deep(textOf(planHolding(neck, shop.machine)), (x, y, z) => [x, y, z]));
    expect(lowest(places)).toBeCloseTo(planned, 2);
    // and would not on a machine that did what it is told
    expect(Math.max(...deep(textOf(holding), (x, y, z) => [x, y, z]).map(off))).toBeGreaterThan(aside + 0.3);
  });
});
