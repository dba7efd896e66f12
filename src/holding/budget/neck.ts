import { fitClearance } from "../../materials/fits.ts";
import type { Neck } from "../../neck/types.ts";
import type { MachineSpec } from "../../spec/types.ts";
import { type Finding, finding } from "../../units/index.ts";
import { HO } from "../rules.ts";
import { budgetOf } from "./budget.ts";
import type { Contributor, Outcome, OutcomeBudget } from "./types.ts";

/** What a shop knows of itself beside its file; what is left out stands as common practice has it. All mm, or mm per metre. */
export interface Sureness {
  /** Straightness of the planed datum edge over the blank, half-width. */
  readonly edge?: number;
  /** Finding the zero: along, across, and in height. */
  readonly zero?: number;
  readonly zeroZ?: number;
  /** Axis scale and squareness, mm per metre, half-width. */
  readonly scale?: number;
  readonly square?: number;
  /** Width of a cutter against its name, half-width. */
  readonly cutter?: number;
  /** Bend of a cutter under load. */
  readonly bend?: number;
  readonly blankThickness?: number;
}

const PRACTICE = "common practice, no source";

/**
 * What a scribed pattern of 400 by 150 mm read to a tenth leaves of scale and squareness, mm a metre. A side is the mean of two readings, each
 * off by up to 0.05; the sine is (d1^2 - d2^2) / (4 a b) with diagonals of 427 mm, each off by as much.
 */
const PATTERN = { scale: 0.13, square: 0.36, source: "as a test pattern of 400 by 150 mm leaves it, read to a tenth" } as const;

/** What a test pattern measures. */
const AXES: ReadonlySet<string> = new Set(["scale", "square"]);

/** Contributors and outcomes of a neck turned by its datum edge or on pins through its waste, and what they come to; findings where a limit is likely to be broken. */
export function neckBudget(
  neck: Neck,
  machine: MachineSpec,
  known: Sureness = {},
  trials = 20000,
): { readonly contributors: readonly Contributor[]; readonly outcomes: readonly OutcomeBudget[]; readonly findings: readonly Finding[] } {
  const { places, order } = neck;
  const u = (id: string, says: string, half: number, source = PRACTICE): Contributor => ({
    id,
    says,
    spread: { kind: "uniform", half },
    source,
  });
  // programs are posted for axes that were measured: what is left is what the reading leaves
  const axes = (id: string, says: string, said: number | undefined, left: number): Contributor =>
    said === undefined && machine.real !== undefined ? u(id, says, left, PATTERN.source) : u(id, says, said ?? 0.5);
  const fit = fitClearance(order.holding.pin.diameter, "H7", "g6");
  // a pin in a hole c wider can lie c/2 to either side
  const play = (fit === undefined ? 0.04 : fit.max) / 2;
  const contributors: Contributor[] = [
    {
      id: "pins",
      says: "Pins in their holes",
      spread: { kind: "uniform", half: play },
      source:
        fit === undefined
          ? `${PRACTICE}; no row for this size`
          : `ISO 286, H7/g6 at ${order.holding.pin.diameter} mm: half the largest clearance`,
    },
    u("edge", "Straightness of the datum edge", known.edge ?? 0.1),
    u("zero", "Finding the zero across", known.zero ?? 0.1),
    u("zero-z-board", "Finding the zero in height, board side", known.zeroZ ?? 0.05),
    u("zero-z-carve", "Finding the zero in height, carve side", known.zeroZ ?? 0.05),
    axes("scale", "Scale of the long axis, per metre", known.scale, PATTERN.scale),
    axes("square", "Squareness of the axes, per metre", known.square, PATTERN.square),
    {
      id: "repeat",
      says: "Coming back to a place",
      spread: { kind: "normal", sigma: machine.repeat / 2 },
      source: "machine.repeat of the shop, as two deviations",
    },
    u("cutter", "Width of the cutter against its name", known.cutter ?? 0.03),
    u("bend", "Bend of the cutter", known.bend ?? 0.03),
    u("blank-thickness", "Thickness of the blank", known.blankThickness ?? 0.1),
  ];
  const throughWaste = order.holding.way === "waste-pins";
  const reach = Math.max(Math.abs(places.tip), places.end) / 1000;
  const half = Math.max(...[places.tip + 1, 0, places.end - 1].flatMap((x) => neck.edges(x).map(Math.abs))) / 1000;
  const fret = places.boardEnd / 1000;
  const note = Math.min(12, Math.max(1, order.frets.count));
  const perMm = 1200 / Math.log(2) / (order.scale - neck.fretAt(note));
  const outcomes: Outcome[] = [
    {
      id: "margin",
      says: "Margin of the neck in its blank",
      unit: "mm",
      limit: order.blank.margin,
      sensitivity: { pins: 1, edge: 1, zero: 1, square: reach, repeat: 1, cutter: 0.5, bend: 1 },
    },
    {
      id: "step",
      says: "Step between the two sides at the edge",
      unit: "mm",
      limit: 0.3,
      // the square axes' lean shows twice: the piece is turned over; holes bored with the first side's own zero leave the second's alone
      sensitivity: {
        pins: Math.SQRT2,
        edge: throughWaste ? 0 : 1,
        zero: throughWaste ? 1 : Math.SQRT2,
        square: 2 * reach,
        repeat: Math.SQRT2,
        bend: Math.SQRT2,
      },
    },
    {
      id: "thickness",
      says: "Thickness at the stations",
      unit: "mm",
      limit: 0.3,
      sensitivity: { "zero-z-board": 1, "zero-z-carve": 1, "blank-thickness": 1, repeat: Math.SQRT2, bend: 1 },
    },
    {
      id: "fret",
      says: "Last fret from the nut",
      unit: "mm",
      limit: 0.3,
      sensitivity: { scale: fret, square: half, repeat: Math.SQRT2 },
    },
    {
      id: "cents",
      says: `Note at fret ${note}`,
      unit: "cent",
      limit: 2,
      sensitivity: { scale: (perMm * neck.fretAt(note)) / 1000, square: perMm * half, repeat: perMm * Math.SQRT2 },
    },
  ];
  const under = [places.carveStart, (places.carveStart + places.carveEnd) / 2, places.carveEnd]
    .map((x) => neck.woodUnderRod(x))
    .filter((w) => w !== null);
  if (order.rod.kind === "channel" && under.length > 0)
    outcomes.splice(2, 0, {
      id: "under-rod",
      says: "Wood under the rod",
      unit: "mm",
      limit: Math.max(0.05, Math.min(...under) - order.rod.minimumUnder + 0.3),
      sensitivity:
        order.rod.from === "back"
          ? { repeat: Math.SQRT2, bend: 1 }
          : { "zero-z-board": 1, "zero-z-carve": 1, "blank-thickness": 1, repeat: Math.SQRT2, bend: 1 },
    });
  const found = budgetOf(contributors, outcomes, trials);
  const r3 = (v: number): number => Math.round(v * 1000) / 1000;
  const findings = found
    .filter((o) => o.drawn.beyond > 0.05)
    .map((o) =>
      finding(HO.likely, {
        where: `error budget, ${o.id}`,
        value: r3(o.drawn.within99),
        limit: r3(o.limit),
        unit: o.unit,
        says: `${o.says}: of 100 necks ${Math.round(100 * o.drawn.beyond)} come out further off than ${r3(o.limit)} ${o.unit}.`,
        tryThis: `Most of it (${Math.round(100 * (o.shares[0]?.share ?? 0))} %) comes from: ${o.shares[0]?.says.toLowerCase() ?? "nothing"}. ${AXES.has(o.shares[0]?.id ?? "") && machine.real === undefined ? "Measure it with a test pattern (neckwright correct), and programs are posted for it." : "Measure that first."}`,
      }),
    );
  return { contributors, outcomes: found, findings };
}
