import type { Mm, Rad } from "../../units/index.ts";
import { slip } from "./odd.ts";
import type { Effect, Found } from "./types.ts";

const r2 = (v: number): number => Math.round(v * 100) / 100;

/** A scribed rectangle of `along` x `across`, measured on all four sides and both diagonals, mm. */
export interface PatternReading {
  /** Programmed. */
  readonly along: Mm;
  readonly across: Mm;
  /** The two sides along x, the two along y. */
  readonly x: readonly [Mm, Mm];
  readonly y: readonly [Mm, Mm];
  /** From the corner at the origin to the far one, and the other one. */
  readonly diagonals: readonly [Mm, Mm];
}

export interface Axes {
  /** True way per programmed way. */
  readonly x: number;
  readonly y: number;
  /** How far the y axis leans toward +x. */
  readonly square: Rad;
  /** By how much the six readings disagree with any rectangle so scaled and leaned. */
  readonly off: Mm;
}

/** Largest error of an axis that is believed: more is a mistyped reading or a machine to be mended, not corrected. */
const MOST = 0.02;
/** What six readings to a tenth may disagree by. */
const AGREE: Mm = 0.5;

/**
 * Scale and squareness from a scribed test pattern. A parallelogram with sides a and b whose y side leans by g has diagonals
 * d^2 = a^2 + b^2 +- 2 a b sin g (law of cosines), so sin g = (d1^2 - d2^2) / (4 a b), and d1^2 + d2^2 = 2 (a^2 + b^2) is the check.
 */
export function readPattern(p: PatternReading): Found<Axes> {
  const bad = (says: string, tryThis: string): Found<Axes> => ({ ok: false, says, tryThis });
  const diagonal = Math.hypot(p.along, p.across);
  const all: readonly (readonly [string, Mm, Mm])[] = [
    ["first side along x", p.x[0], p.along],
    ["second side along x", p.x[1], p.along],
    ["first side along y", p.y[0], p.across],
    ["second side along y", p.y[1], p.across],
    ["first diagonal", p.diagonals[0], diagonal],
    ["second diagonal", p.diagonals[1], diagonal],
  ];
  const near = (v: Mm, want: Mm): boolean => Math.abs(v / want - 1) < MOST;
  const odd = all.filter(([, v, want]) => !near(v, want));
  if (near(p.x[0], p.across) && near(p.y[0], p.along) && odd.length > 0)
    return bad(
      "The sides along x read like those along y, and the other way round.",
      "Were the two changed over? x is the machine's own x axis.",
    );
  if (odd.length === 6 && all.every(([, v, want]) => near(v * 25.4, want)))
    return bad("All six readings fit if they are inches.", "Give millimetres, or write the unit behind each.");
  if (odd.length > 0) {
    const [name, v, want] = odd[0];
    const guess = slip(v, (u) => near(u, want));
    return bad(
      `The ${name} reads ${r2(v)} mm, but ${r2(want)} mm was scribed: more than two parts in a hundred off.`,
      guess === null
        ? "Measure it again. If it is really so, set the machine's steps per millimetre first."
        : `Look at it again: ${guess}?`,
    );
  }
  const a = (p.x[0] + p.x[1]) / 2;
  const b = (p.y[0] + p.y[1]) / 2;
  const [d1, d2] = p.diagonals;
  const off = Math.max(
    Math.abs(Math.sqrt((d1 * d1 + d2 * d2) / 2) - Math.hypot(a, b)),
    Math.abs(p.x[0] - p.x[1]) / 2,
    Math.abs(p.y[0] - p.y[1]) / 2,
  );
  if (off > AGREE)
    return bad(
      `Sides and diagonals do not belong to one rectangle: they disagree by ${r2(off)} mm.`,
      "Measure all six again, from line to line, on the same edge of the scribed line.",
    );
  return { ok: true, value: { x: a / p.along, y: b / p.across, square: Math.asin((d1 * d1 - d2 * d2) / (4 * a * b)), off } };
}

/** Where a programmed place really comes to lie, by what the pattern showed. */
export const trueOf = (m: Pick<Axes, "x" | "y" | "square">, x: Mm, y: Mm): readonly [Mm, Mm] => [
  m.x * x + Math.tan(m.square) * m.y * y,
  m.y * y,
];
/** What is to be programmed so that a place comes to lie right: the inverse. */
export const toProgram = (m: Pick<Axes, "x" | "y" | "square">, x: Mm, y: Mm): readonly [Mm, Mm] => {
  const v = y / m.y;
  return [(x - Math.tan(m.square) * m.y * v) / m.x, v];
};

/** Cents by which a note at `fret` is sharp when every fret lies at `ratio` times its distance from the nut and the saddle where it belongs. */
export const centsOfScale = (ratio: number, fret: number): number => {
  const d = 1 - 2 ** (-fret / 12);
  return 1200 * Math.log2((1 - d) / (1 - ratio * d));
};

/** What putting an axis along the neck right changes at its frets; `after` is what half of the reading's step leaves. */
export function effectOfScale(ratio: number, along: Mm, step: Mm, scale: Mm): Effect[] {
  const left = 1 + step / 2 / along;
  return [
    { what: "fret 12 from the nut", unit: "mm", before: (ratio - 1) * (scale / 2), after: (left - 1) * (scale / 2) },
    { what: "note at fret 12", unit: "cent", before: centsOfScale(ratio, 12), after: centsOfScale(left, 12) },
  ];
}

export interface CutterWidth {
  readonly diameter: Mm;
  readonly runOut: Mm | null;
}

/** The width a cutter cuts, from a slot cut in one pass along its middle; with the cutter's own width by calliper its run-out. */
export function readSlot(nominal: Mm, slot: Mm, calliper: Mm | null): Found<CutterWidth> {
  const bad = (says: string, tryThis: string): Found<CutterWidth> => ({ ok: false, says, tryThis });
  const most = Math.max(0.1, Math.min(0.5, nominal * 0.12));
  const near = (v: Mm): boolean => Math.abs(v - nominal) <= most;
  for (const [name, v] of [
    ["slot", slot],
    ["cutter by calliper", calliper],
  ] as const) {
    if (v === null || near(v)) continue;
    const guess = slip(v, near);
    return bad(
      `The ${name} reads ${r2(v)} mm, but the cutter is ${r2(nominal)} mm wide by its name.`,
      guess === null ? "Is it the right cutter? Measure it, and give its own diameter in the shop file." : `Look at it again: ${guess}?`,
    );
  }
  if (calliper !== null && slot < calliper - 0.03)
    return bad(
      `A cutter ${r2(calliper)} mm wide cannot leave a slot of ${r2(slot)} mm.`,
      "Clean the slot's edges of fibres and measure both again.",
    );
  return { ok: true, value: { diameter: slot, runOut: calliper === null ? null : Math.max(0, slot - calliper) } };
}

/** How much too high a side came out, from the thickness measured after a first pass. */
export function readThickness(expected: Mm, measured: Mm): Found<Mm> {
  const near = (v: Mm): boolean => Math.abs(v - expected) <= 1.5;
  if (near(measured)) return { ok: true, value: measured - expected };
  const guess = slip(measured, near);
  return {
    ok: false,
    says: `It reads ${r2(measured)} mm where ${r2(expected)} mm was to be: ${r2(Math.abs(measured - expected))} mm off is no matter of a zero.`,
    tryThis:
      guess === null
        ? "Do not cut on. Check which face the zero was taken from, and the blank's thickness."
        : `Look at it again: ${guess}?`,
  };
}
