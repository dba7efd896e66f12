/**
 * A proof that cannot fail proves nothing: a sound job is spoiled in one place at a time, and the proof must say so by the
 * rule that belongs to it. Coarse cells: what is looked for here does not hide between them.
 */
import { readFileSync } from "node:fs";
import { beforeAll, describe, expect, test } from "vitest";
import { planHolding } from "../../src/holding/index.ts";
import { cuspsOf, engagementOf } from "../../src/job/job-file.ts";
import { groupCuts } from "../../src/job/programs.ts";
import { writePrograms } from "../../src/job/write-programs.ts";
import { MoveKind } from "../../src/kernel/moves.ts";
import { makeNeck } from "../../src/neck/index.ts";
import { proveBoth, proveSide } from "../../src/proof/index.ts";
import { interpretProgram } from "../../src/proof/reader/index.ts";
import type { ProofInput, ProofProgram, SideProof } from "../../src/proof/types.ts";
import { parseOrder, parseShop } from "../../src/spec/index.ts";
import { planKept } from "../kept.ts";
import { type ReadMove, readText } from "./programs.ts";

const text = (p: ProofProgram): string => new TextDecoder().decode(p.text);
const bytes = (s: string): Uint8Array => new TextEncoder().encode(s);
const example = (name: string): string => readFileSync(new URL(`../../examples/${name}`, import.meta.url), "utf8");

let sound: ProofInput;
/** The same without the audit of loads, which is half of a proof's work and has no part in the rules that are looked for with it. */
let light: ProofInput;
let proofs: Readonly<Record<"board" | "carve", SideProof>>;
/** Above everything on the bed of the example. */
const SAFE_ABOVE = 80;

beforeAll(() => {
  const order = parseOrder(example("loan-ukulele.order.json")).value;
  const shop = parseShop(example("stiff-router.shop.json")).value;
  if (!order || !shop) throw new Error("the examples must be sound");
  const neck = makeNeck(order);
  const holding = planHolding(neck, shop.machine);
  const plan = planKept(neck, holding, shop);
  const { groups, steps } = groupCuts(plan);
  const { programs } = writePrograms(groups, order, "0".repeat(64), shop, holding);
  sound = {
    neck,
    machine: shop.machine,
    cutters: shop.cutters,
    sides: [holding.sides.board, holding.sides.carve],
    programs,
    steps,
    cusps: cuspsOf(plan),
    engagement: engagementOf(plan),
    cell: 0.4,
  };
  light = { ...sound, engagement: {} };
  proofs = { board: proveSide(sound, "board"), carve: proveSide(sound, "carve") };
});

const stops = (p: SideProof): string[] => [...new Set(p.findings.filter((f) => f.severity === "stop").map((f) => f.rule))].sort();

/** The job with one program's text changed. */
function edited(part: string, change: (t: string) => string, of: ProofInput = light): ProofInput {
  let hit = false;
  const programs = of.programs.map((p) => {
    if (!p.file.includes(part)) return p;
    const t = text(p);
    const next = change(t);
    hit ||= next !== t;
    return { ...p, text: bytes(next) };
  });
  if (!hit) throw new Error(`the change of ${part} changed nothing`);
  return { ...of, programs };
}

/** Every feed move below the wood's top that goes level along the wall, turned round: the same places in the opposite order. */
function reversedFeeds(t: string): string {
  const read = readText(t);
  const level = (m: ReadMove): boolean => m.kind !== "rapid" && m.kind !== "dwell" && Math.abs(m.from[2] - m.to[2]) < 1e-9;
  const n = (v: number): string => v.toFixed(5);
  const out: string[] = [];
  for (let k = 0; k < read.length; k++) {
    if (!level(read[k])) {
      const m = read[k];
      const words = m.to.map((v, a) => `${"XYZ"[a]}${n(v)}`).join(" ");
      if (m.kind === "rapid") {
        if (m.from[2] !== m.to[2]) out.push(`G0 Z${n(m.to[2])}`);
        if (m.from[0] !== m.to[0] || m.from[1] !== m.to[1]) out.push(`G0 X${n(m.to[0])} Y${n(m.to[1])}`);
      } else if (m.kind === "line") out.push(`G1 ${words} F${m.feed}`);
      else if (m.kind === "arc")
        out.push(`G17 ${m.sweep < 0 ? "G2" : "G3"} ${words} I${n(m.centre[0] - m.from[0])} J${n(m.centre[1] - m.from[1])} F${m.feed}`);
      continue;
    }
    let e = k;
    while (e + 1 < read.length && level(read[e + 1])) e++;
    // to the far end along the way, as it was, then back: the way back is the one that is looked for
    for (let i = e; i >= k; i--) {
      const m = read[i];
      if (i === e) {
        const up = SAFE_ABOVE;
        out.push(`G0 Z${up}`, `G0 X${n(m.to[0])} Y${n(m.to[1])}`, `G1 Z${n(m.to[2])} F${m.feed}`);
      }
      const words = `X${n(m.from[0])} Y${n(m.from[1])} Z${n(m.from[2])}`;
      if (m.kind === "line") out.push(`G1 ${words} F${m.feed}`);
      else out.push(`G17 ${m.sweep < 0 ? "G3" : "G2"} ${words} I${n(m.centre[0] - m.to[0])} J${n(m.centre[1] - m.to[1])} F${m.feed}`);
    }
    const end = read[e].to;
    out.push(`G0 Z${SAFE_ABOVE}`, `G0 X${n(end[0])} Y${n(end[1])}`, `G1 Z${n(end[2])} F${read[e].feed}`);
    k = e;
  }
  // the head, up to the spindle's start, stays as it is
  const head = t.slice(0, t.indexOf("G4 P3"));
  return `${head}G4 P3\n${out.join("\n")}\nG0 Z${SAFE_ABOVE}\nM5\nM2\n`;
}

/** Inserts lines after the first line that matches. */
const insertAfter = (t: string, line: RegExp, insert: string): string => t.replace(line, (m) => `${m}\n${insert}`);

describe("a sound job", () => {
  test.each(["board", "carve"] as const)("has no stop on the %s side", (side) => {
    const p = proofs[side];
    expect(stops(p)).toEqual([]);
    expect(p.programs.length).toBeGreaterThan(3);
    expect(p.regions.every((r) => r.cells > 0)).toBe(true);
    expect(p.measures.every((m) => Math.abs(m.measured - m.ordered) <= m.tolerance)).toBe(true);
  });

  test("has its thickness; half a millimetre more on the back is told: PF-260", () => {
    const { board, carve } = proofs;
    const both = proveBoth(sound, [board, carve]);
    expect(both.findings).toEqual([]);
    expect(both.measures.length).toBeGreaterThan(3);
    const thick = { ...carve, stock: { ...carve.stock, z: carve.stock.z.map((z) => z + 0.5) } };
    expect(new Set(proveBoth(sound, [board, thick]).findings.map((f) => f.rule))).toEqual(new Set(["PF-260"]));
  });

  test("is proved twice to the same bytes", () => {
    const [a, b] = [proofs.carve, proveSide(sound, "carve")];
    expect(b.stock.z).toEqual(a.stock.z);
    expect(b.findings).toEqual(a.findings);
    expect(b.measures).toEqual(a.measures);
  });
});

describe("spoiled text", () => {
  test("one fret slot moved by 0.05 mm: PF-251 and PF-252, for that fret alone", () => {
    const side = sound.sides[0];
    const slot = sound.neck.features.frets[4];
    const x = side.neckToProgram[0] * slot.bass.x + side.neckToProgram[1] * slot.bass.y + side.neckToProgram[3];
    const job = edited(
      "fret-slots",
      (t) => t.replace(/X(\d+\.\d+)/g, (m, v) => (Math.abs(Number(v) - x) < 0.01 ? `X${(Number(v) + 0.05).toFixed(5)}` : m)),
      sound,
    );
    const p = proveSide(job, "board");
    expect(stops(p)).toEqual(["PF-251", "PF-252"]);
    expect(new Set(p.findings.filter((f) => f.severity === "stop").map((f) => f.where))).toEqual(new Set([slot.id]));
  });

  test("a Z with the wrong sign: PF-234, below the bed", () => {
    const job = edited("nut-seat", (t) => t.replace(/^G1 Z(\d)/m, "G1 Z-$1"));
    expect(stops(proveSide(job, "board"))).toContain("PF-234");
  });

  test("a plunge written as a rapid: PF-231", () => {
    const job = edited("nut-seat", (t) => t.replace(/^G1 Z[\d.]+ F[\d.]+/m, "G0 Z15\nG1 Z15 F300"));
    expect(stops(proveSide(job, "board"))).toContain("PF-231");
  });

  test("a rapid lowered into a block: PF-232", () => {
    const block = sound.sides[0].holding.find((s) => s.role === "block");
    if (block?.kind !== "box") throw new Error("the example has blocks");
    const x = (block.min[0] + block.max[0]) / 2;
    const y = (block.min[1] + block.max[1]) / 2;
    const job = edited("nut-seat", (t) => insertAfter(t, /^G4 P3.*$/m, `G0 X${x} Y${y}\nZ${block.max[2] - 1}\nG0 Z80`));
    expect(stops(proveSide(job, "board"))).toContain("PF-232");
  });

  test("a cut through a pin: PF-233", () => {
    const pin = sound.sides[0].holding.find((s) => s.kind === "cylinder" && s.role === "fence pin");
    if (pin?.kind !== "cylinder") throw new Error("the example has fence pins");
    const job = edited("nut-seat", (t) =>
      insertAfter(t, /^G4 P3.*$/m, `G0 X${pin.x - 30} Y${pin.y}\nG1 Z${pin.zMax - 0.5} F300\nX${pin.x + 30}\nG0 Z80`),
    );
    expect(stops(proveSide(job, "board"))).toContain("PF-233");
  });

  test("the outline fed the other way round, against its fibres: PF-261, and nothing else", () => {
    const job = edited("board-outline", reversedFeeds, sound);
    expect(stops(proveSide(job, "board"))).toEqual(["PF-261"]);
  });

  test("a spike put into the headstock's roughing by hand: PF-271, at its line", () => {
    const file = sound.programs.find((p) => p.file.includes("headstock-rough"));
    if (file === undefined) throw new Error("the example has a headstock");
    const lines = text(file).split("\n");
    // into the wood from where a pass runs along the lowest level, and back; on one side of it wood is left
    const { moves: r } = interpretProgram(file.text, { start: [0, 0, SAFE_ABOVE] });
    const end = lines.findIndex((l) => l.startsWith("(CUT 2 OF"));
    const mine = Array.from(r.x, (_, k) => k).filter((k) => k > 0 && r.line[k] < end);
    const low = Math.min(...mine.map((k) => r.z[k]));
    const some = mine.filter((k) => r.kind[k] === MoveKind.line && Math.max(r.z[k], r.z[k - 1]) < low + 1e-3);
    const at = some[some.length >> 2];
    const m = { from: [r.x[at - 1], r.y[at - 1]], to: [r.x[at], r.y[at]], line: r.line[at] };
    const [dx, dy] = [m.to[0] - m.from[0], m.to[1] - m.from[1]];
    const far = 8 / Math.hypot(dx, dy);
    const spike = [1, -1].flatMap((side) => [
      `G1 X${(m.to[0] - side * far * dy).toFixed(4)} Y${(m.to[1] + side * far * dx).toFixed(4)}`,
      `X${m.to[0].toFixed(4)} Y${m.to[1].toFixed(4)}`,
    ]);
    lines.splice(m.line, 0, ...spike);
    const found = proveSide(
      edited("headstock-rough", () => lines.join("\n"), sound),
      "board",
    ).findings.filter((f) => f.rule === "PF-271");
    expect(found.map((f) => f.severity)).toEqual(["stop"]);
    expect(Math.abs(Number(found[0].where.split(":")[1]) - (m.line + 2))).toBeLessThanOrEqual(2);
  });

  test("cut off in the middle: PF-126, and nothing is measured", () => {
    const p = proveSide(
      edited("board-outline", (t) => t.slice(0, t.length / 2)),
      "board",
    );
    expect(stops(p)).toContain("PF-126");
    expect(p.measures).toEqual([]);
  });

  test("the spindle never started: PF-213; backward: PF-213; too fast: PF-214", () => {
    expect(
      stops(
        proveSide(
          edited("ramp", (t) => t.replace(/ M3/g, "")),
          "board",
        ),
      ),
    ).toContain("PF-213");
    expect(
      stops(
        proveSide(
          edited("ramp", (t) => t.replace(/ M3/g, " M4")),
          "board",
        ),
      ),
    ).toContain("PF-213");
    expect(
      stops(
        proveSide(
          edited("ramp", (t) => t.replace(/S\d+/g, "S90000")),
          "board",
        ),
      ),
    ).toContain("PF-214");
  });

  test("another cutter's number or length: PF-211, PF-212", () => {
    expect(
      stops(
        proveSide(
          edited("ramp", (t) => t.replace(/^T\d+/m, "T99")),
          "board",
        ),
      ),
    ).toContain("PF-211");
    expect(
      stops(
        proveSide(
          edited("ramp", (t) => t.replace(/H\d+/, "H99")),
          "board",
        ),
      ),
    ).toContain("PF-212");
    expect(
      stops(
        proveSide(
          edited("ramp", (t) => t.replace(/^G43.*\n/m, "")),
          "board",
        ),
      ),
    ).toContain("PF-212");
  });

  test("inches for millimetres: PF-216", () => {
    expect(
      stops(
        proveSide(
          edited("ramp", (t) => t.replace("G21", "G20")),
          "board",
        ),
      ),
    ).toContain("PF-216");
  });

  test("a shifted zero, a place of the machine, unbounded rounding: PF-219, PF-218, PF-220", () => {
    expect(
      stops(
        proveSide(
          edited("ramp", (t) => insertAfter(t, /^G4 P3.*$/m, "G92 X1")),
          "board",
        ),
      ),
    ).toContain("PF-219");
    expect(
      stops(
        proveSide(
          edited("ramp", (t) => insertAfter(t, /^G4 P3.*$/m, "G53 G0 Z0\nG0 Z80")),
          "board",
        ),
      ),
    ).toContain("PF-218");
    expect(
      stops(
        proveSide(
          edited("ramp", (t) => t.replace(/^G64.*$/m, "G64")),
          "board",
        ),
      ),
    ).toContain("PF-220");
  });

  test("crossing before the cutter is raised: PF-217", () => {
    expect(
      stops(
        proveSide(
          edited("ramp", (t) => t.replace(/^G0 Z[\d.]+\n/m, "")),
          "board",
        ),
      ),
    ).toContain("PF-217");
  });

  test("a finishing row 0.05 mm too deep: PF-241", () => {
    const job = edited("board-radius", (t) => {
      const zs = [...t.matchAll(/Z(\d+\.\d+)/g)].map((m) => Number(m[1]));
      const low = Math.min(...zs);
      return t.replace(/Z(\d+\.\d+)/g, (m, v) => (Math.abs(Number(v) - low) < 1e-6 ? `Z${(low - 0.05).toFixed(5)}` : m));
    });
    expect(stops(proveSide(job, "board"))).toContain("PF-241");
  });

  test("the finishing of the carve left out: PF-242", () => {
    const file = sound.programs.find((p) => p.file.includes("carve-finish"))?.file;
    const job = {
      ...light,
      programs: sound.programs.filter((p) => p.file !== file),
      steps: sound.steps.filter((s) => !("program" in s && s.program === file)),
    };
    expect(stops(proveSide(job, "carve"))).toContain("PF-242");
  });

  test("a letter that no machine knows: its line, its column, PF-108", () => {
    const p = proveSide(
      edited("ramp", (t) => insertAfter(t, /^G4 P3.*$/m, "G0 X5 W7")),
      "board",
    );
    const f = p.findings.find((e) => e.rule === "PF-108");
    expect(f?.where).toMatch(/ramp\.ngc:\d+:7$/);
  });
});

describe("spoiled job", () => {
  test("programs of the two sides swapped: PF-242 on both", () => {
    const swap = { board: "carve", carve: "board" } as const;
    const job = { ...light, programs: sound.programs.map((p) => ({ ...p, side: swap[p.side] })) };
    expect(stops(proveSide(job, "board"))).toContain("PF-242");
    expect(stops(proveSide(job, "carve"))).toContain("PF-242");
  });

  test("turned about the wrong axis: PF-203", () => {
    const order = { ...sound.neck.order, holding: { ...sound.neck.order.holding, turn: "y" as const } };
    const other = planHolding(makeNeck(order), sound.machine);
    expect(stops(proveSide({ ...light, sides: [sound.sides[0], other.sides.carve] }, "carve"))).toContain("PF-203");
  });

  test("a mirrored or tilted transform: PF-201; board side down: PF-202; blank elsewhere: PF-208", () => {
    const [b, c] = sound.sides;
    const mirrored = [...b.neckToProgram];
    mirrored[5] *= -1;
    const t = mirrored as unknown as typeof b.neckToProgram;
    expect(stops(proveSide({ ...light, sides: [{ ...b, neckToProgram: t }, c] }, "board"))).toEqual(["PF-201"]);
    expect(stops(proveSide({ ...light, sides: [{ ...b, neckToProgram: c.neckToProgram }, c] }, "board"))).toEqual(["PF-202"]);
    const moved = [...c.neckToProgram];
    moved[3] += 1;
    const shifted = { ...c, neckToProgram: moved as unknown as typeof c.neckToProgram };
    expect(stops(proveSide({ ...light, sides: [b, shifted] }, "carve"))).toContain("PF-208");
  });

  test("flutes shorter than the outline is deep: PF-235; too little stick-out: PF-236", () => {
    const outline = sound.programs.find((p) => p.file.includes("board-outline"));
    const shorter = (change: object): ProofInput => ({
      ...light,
      cutters: sound.cutters.map((c) => (c.number === outline?.cutter ? { ...c, ...change } : c)),
    });
    expect(stops(proveSide(shorter({ fluteLength: 4 }), "board"))).toContain("PF-235");
    expect(stops(proveSide(shorter({ fluteLength: 4, reach: 5 }), "board"))).toContain("PF-236");
  });

  test("a holder so wide that it rubs a block: PF-233; a cut below the flutes, written by hand: PF-235", () => {
    const bores = sound.programs.find((p) => p.file.includes("tuner-bores"));
    const wide = sound.cutters.map((c) => (c.number === bores?.cutter ? { ...c, holder: [{ diameter: 150, length: 40 }] } : c));
    const p = proveSide({ ...light, cutters: wide }, "board");
    expect(p.findings.filter((f) => f.rule === "PF-233").some((f) => /block/.test(f.says))).toBe(true);
    const side = sound.sides[0];
    const deep = edited("nut-seat", (t) =>
      insertAfter(
        t,
        /^G4 P3.*$/m,
        `G0 X${side.stock.max[0] / 2} Y${side.stock.max[1] / 2}\nG1 Z${side.bed + 1} F300\nX${side.stock.max[0] / 2 + 30}\nG0 Z80`,
      ),
    );
    expect(stops(proveSide(deep, "board"))).toContain("PF-235");
  });

  test("one side's outline shifted by 0.03 mm: the step where the sides meet, PF-244", () => {
    const shifted = edited("carve-outline", (t) => t.replace(/Y(-?\d+\.?\d*)/g, (_, y) => `Y${(Number(y) + 0.03).toFixed(5)}`));
    const p = proveSide(shifted, "carve");
    const step = p.measures.find((m) => m.what.startsWith("largest step of the wall"));
    expect(step?.measured).toBeGreaterThan(0.02);
    expect(stops(p)).toContain("PF-244");
  });

  test("an outline cutter that was ground 0.1 mm thinner: PF-244", () => {
    const outline = sound.programs.find((p) => p.file.includes("board-outline"));
    const cutters = sound.cutters.map((c) => (c.number === outline?.cutter ? { ...c, diameter: c.diameter - 0.1 } : c));
    expect(stops(proveSide({ ...light, cutters }, "board"))).toContain("PF-244");
  });

  test("a step left out, a program run twice, a cutter that is not there: PF-206, PF-205", () => {
    expect(stops(proveSide({ ...light, steps: sound.steps.slice(1) }, "board"))).toContain("PF-206");
    expect(stops(proveSide({ ...light, steps: [...sound.steps, sound.steps[0]] }, "board"))).toContain("PF-206");
    expect(stops(proveSide({ ...light, cutters: [] }, "board"))).toContain("PF-205");
  });

  test("the recesses' program left out: PF-256, before the glue hides it", () => {
    const file = sound.programs.find((p) => p.file.includes("markers"))?.file;
    const job = {
      ...light,
      programs: sound.programs.filter((p) => p.file !== file),
      steps: sound.steps.filter((s) => !("program" in s && s.program === file)),
    };
    expect(stops(proveSide(job, "board"))).toContain("PF-256");
  });

  test("a hand step that fills what is not there: PF-207", () => {
    const steps = [...sound.steps, { hand: "Glue", side: "board" as const, fills: ["marker-99"] }];
    expect(stops(proveSide({ ...light, steps }, "board"))).toContain("PF-207");
  });

  test("the zero too near the end of the bed: PF-216", () => {
    const sides = sound.sides.map((s) => ({ ...s, zeroOnBed: [-50, -50] as const }));
    expect(stops(proveSide({ ...light, sides }, "board"))).toContain("PF-216");
  });
});
