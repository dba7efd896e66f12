import { neckBudget } from "../holding/budget/neck.ts";
import { planHolding } from "../holding/index.ts";
import { makeMap } from "../kernel/heightmap.ts";
import { makeNeck } from "../neck/index.ts";
import type { Cut, CutPlan } from "../paths/types.ts";
import type { SideProof } from "../proof/types.ts";
import type { OrderSpec } from "../spec/types.ts";
import type { Finding } from "../units/index.ts";
import { cutRows } from "./cut-rows.ts";
import type { ReportInput, SheetProgram, SheetStep } from "./input.ts";
import { sideMaps } from "./map-image.ts";
import { meaningOf } from "./meaning-rows.ts";
import { sampleOrder, sampleShop } from "./sample.ts";

/*
 * A whole input of the sheets for the tests of this folder: real neck and holding, made-up proof figures with a known pattern. Never shipped.
 */

const conditions: Cut["conditions"] = {
  rpm: 18000,
  feed: 30,
  plunge: 8,
  ramp: 15,
  step: 2,
  depth: 2,
  chip: 0.05,
  force: 20,
  power: 100,
  bend: 0.02,
  limitedBy: "the chip",
};
const noMoves: Cut["moves"] = {
  count: 0,
  start: [0, 0, 0],
  kind: new Uint8Array(0),
  x: new Float64Array(0),
  y: new Float64Array(0),
  z: new Float64Array(0),
  feed: new Float64Array(0),
  cx: new Float64Array(0),
  cy: new Float64Array(0),
  cz: new Float64Array(0),
  sweep: new Float64Array(0),
  plane: new Uint8Array(0),
  cut: new Uint16Array(0),
  line: new Uint32Array(0),
};

const CUTS: readonly [string, string, "board" | "carve", number, number][] = [
  ["scribe", "Scribed outline", "board", 6, 95],
  ["headstock-rough", "Headstock face, roughing", "board", 1, 640],
  ["headstock-face", "Headstock face", "board", 5, 410],
  ["markers", "Marker recesses", "board", 3, 160],
  ["tuner-bores", "Tuner bores", "board", 3, 300],
  ["nut-seat", "Nut seat", "board", 3, 75],
  ["board-radius", "Board radius", "board", 2, 1900],
  ["fret-slots", "Fret slots", "board", 4, 2450],
  ["outline-board", "Outline, from the board side", "board", 1, 900],
  ["rod-channel", "Rod channel", "carve", 1, 380],
  ["carve-rough", "Carve, roughing", "carve", 5, 1300],
  ["carve", "Carve and heel", "carve", 2, 3900],
  ["heel-screws", "Screw bores", "carve", 3, 130],
  ["outline-carve", "Outline through, with tabs", "carve", 1, 820],
];

export function sampleInput(change: Partial<OrderSpec> = {}, proved = true): ReportInput {
  const order = sampleOrder(change);
  const neck = makeNeck(order);
  const shop = sampleShop();
  const holding = planHolding(neck, shop.machine, shop.cutters);
  const plan: CutPlan = {
    cuts: CUTS.map(([id, title, side, cutter]) => ({ id, title, side, cutter, moves: noMoves, why: "sample", cusp: null, conditions })),
    steps: [],
    findings: [],
  };
  const programs = CUTS.map(([id, , side, cutter, seconds], i): SheetProgram => {
    const s = holding.sides[side].stock;
    return {
      file: `programs/${String(i + 1).padStart(2, "0")}-${side}-${id}.ngc`,
      sha256: String(i).padStart(2, "0").repeat(32),
      side,
      cutter,
      cuts: [id],
      feedLength: seconds * 30,
      seconds,
      bounds: { min: [s.min[0] + 40, s.min[1] + 12, 20.5], max: [s.max[0] - 40, s.max[1] - 12, holding.sides[side].safeZ] },
    };
  });
  const steps: SheetStep[] = programs.map((p) => ({ program: p.file }));
  steps.splice(4, 0, {
    hand: "Glue the markers into their recesses and let them cure.",
    side: "board",
    fills: neck.features.markers.map((m) => m.id),
  });
  steps.splice(11, 0, {
    hand: "Lay in the rod, glue the filler strip over it and let it cure.",
    side: "carve",
    fills: neck.features.rod.map((r) => r.id),
  });
  const findings: Finding[] = [
    ...neck.findings,
    ...holding.findings,
    {
      rule: "CU-004",
      severity: "note",
      where: "cutter 4",
      value: 0.012,
      limit: 0.015,
      unit: "mm",
      says: "The slot cutter's chip is near the most it bears.",
      tryThis: "Lower the feed if the cutter sings.",
    },
  ];
  const proof = proved ? (["board", "carve"] as const).map((name) => sampleSide(neck, holding, name, programs)) : [];
  return {
    orderName: order.name,
    orderTitle: order.title,
    orderHash: "5b1f0c4d9a".repeat(7).slice(0, 64),
    neck,
    holding,
    plan,
    shop,
    programs,
    steps,
    proof,
    maps: proof.map(sideMaps),
    rows: cutRows({ plan, shop, holding }),
    meaning: meaningOf({ neck }),
    budget: neckBudget(neck, shop.machine).outcomes,
    findings,
    version: "0.1.0",
  };
}

/** Deviation with rows of cusps, and one deep spot of a single cell at a known place. */
function sampleSide(
  neck: ReportInput["neck"],
  holding: ReportInput["holding"],
  name: "board" | "carve",
  programs: readonly SheetProgram[],
): SideProof {
  const side = holding.sides[name];
  const stock = makeMap(side.stock.min[0], side.stock.min[1], side.stock.max[0], side.stock.max[1], 0.5, 0);
  const deviation = new Float32Array(stock.nx * stock.ny).fill(Number.NaN);
  const t = side.neckToProgram;
  for (let j = 0; j < stock.ny; j++) {
    for (let i = 0; i < stock.nx; i++) {
      const px = stock.x0 + i * stock.cell - t[3];
      const py = stock.y0 + j * stock.cell - t[7];
      const x = t[0] * px + t[4] * py;
      const y = t[1] * px + t[5] * py;
      if (x < neck.places.tip || x > neck.places.boardEnd) continue;
      const [lo, hi] = neck.edges(x);
      if (y < lo || y > hi) continue;
      deviation[j * stock.nx + i] = 0.009 * Math.abs(Math.sin(py * 1.3)) + 0.004 * Math.sin(px / 40) + (x < 0 ? 0.004 : 0) - 0.003;
    }
  }
  return {
    side: name,
    programs: programs
      .filter((p) => p.side === name)
      .map((p) => ({
        file: p.file,
        moves: 4000,
        feedLength: p.feedLength,
        rapidLength: 3000,
        seconds: p.seconds,
        min: p.bounds.min,
        max: p.bounds.max,
        removed: 12000,
      })),
    regions: (name === "board" ? ["board", "headstock face", "ramp"] : ["carve", "heel", "heel transition", "headstock back"]).map(
      (region) => ({
        region,
        side: name,
        cells: 100000,
        worstBelow: 0.0061,
        worstAbove: 0.0172,
        meanAbove: 0.0051,
        p95Above: 0.0121,
        limitBelow: 0.01,
        limitAbove: 0.03,
      }),
    ),
    measures:
      name === "board"
        ? neck.features.frets.map((f) => ({
            id: f.id,
            what: "distance from the nut",
            unit: "mm",
            ordered: neck.fretAt(f.number),
            measured: neck.fretAt(f.number) + 0.003,
            tolerance: 0.02,
          }))
        : [
            { id: "thickness at fret 1", what: "on the centreline", unit: "mm", ordered: 21.2, measured: 21.214, tolerance: 0.05 },
            { id: "thickness at fret 12", what: "on the centreline", unit: "mm", ordered: 23, measured: 23.011, tolerance: 0.05 },
          ],
    findings: [],
    stock,
    deviation,
  };
}
