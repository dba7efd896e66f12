import { beforeAll, describe, expect, it } from "vitest";
import { planHolding } from "../src/holding/index.ts";
import { groupCuts } from "../src/job/programs.ts";
import { writePrograms } from "../src/job/write-programs.ts";
import type { Cut } from "../src/paths/types.ts";
import { proveSide } from "../src/proof/index.ts";
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
