import { bend, compositeSection, curvatures, greatestRelief } from "../../materials/beam.ts";
import { combineMasses, massOfSections } from "../../materials/mass.ts";
import { equilibriumMoisture, fretEndsProud, movement } from "../../materials/moisture.ts";
import { hankinson } from "../../materials/strength.ts";
import { musicWireStrength, noteFrequency, plainUnitWeight, stringStress, tension, woundUnitWeight } from "../../materials/strings.ts";
import type { Wood } from "../../materials/types.ts";
import { VARIATION, woodByName } from "../../materials/woods.ts";
import { type Finding, finding, type Mm, type Newton } from "../../units/index.ts";
import type { Neck } from "../types.ts";
import { NF } from "./rules.ts";
import { boardFigure, girth, partsAt, shaftFigure } from "./section.ts";
import type { Figure } from "./types.ts";

export { NF_RULES } from "./rules.ts";
export type { Figure } from "./types.ts";

export interface Figures {
  readonly figures: readonly Figure[];
  readonly findings: readonly Finding[];
}

/**
 * What the neck means for the player and for the wood: strings, straightness, strength, moisture, mass, feel. Every figure
 * has a band; assumptions stand in its source. Woods the tables do not know leave their figures out.
 */
export function figuresOf(neck: Neck): Figures {
  const figures: Figure[] = [];
  const findings: Finding[] = [];
  const shaft = woodByName(neck.order.wood.shaft);
  const board = woodByName(neck.order.wood.board);
  const pull = strings(neck, figures, findings);
  if (shaft && board) {
    straightness(neck, shaft, board, pull, figures, findings);
    strength(neck, shaft, pull, figures, findings);
    moisture(neck, shaft, board, figures, findings);
    mass(neck, shaft, board, figures);
  }
  feel(neck, figures);
  return { figures, findings };
}

/** Usual pitches, bass to treble (common practice, no source). */
const PITCHES: Readonly<Record<string, readonly string[]>> = {
  "guitar 6": ["E2", "A2", "D3", "G3", "B3", "E4"],
  "guitar 7": ["B1", "E2", "A2", "D3", "G3", "B3", "E4"],
  "bass 4": ["E1", "A1", "D2", "G2"],
  "bass 5": ["B0", "E1", "A1", "D2", "G2"],
};
/** Pull of one string where the order gives no diameters (common practice, no source). */
const USUAL_PULL: Readonly<Record<string, Newton>> = { guitar: 75, bass: 180, ukulele: 45, other: 70 };
/** Strings thicker than this are wound on these instruments; their core is 0.4 of the outside, wrap of nickel-plated steel (from memory). */
const WOUND_ABOVE: Mm = 0.5;

function strings(neck: Neck, out: Figure[], findings: Finding[]): Newton {
  const { strings: spec, instrument } = neck.order;
  const notes = PITCHES[`${instrument} ${spec.count}`];
  if (!notes || spec.diameters.length !== spec.count) {
    const each = USUAL_PULL[instrument];
    const value = each * spec.count;
    out.push({
      id: "pull",
      what: "pull of all strings",
      unit: "N",
      value,
      low: value * 0.8,
      high: value * 1.2,
      source: `assumed ${each} N for each string: the order gives no diameters, or its pitches are not known (common practice, no source)`,
    });
    return value;
  }
  let total = 0;
  spec.diameters.forEach((d, i) => {
    const s = spec.count - i;
    const wound = d > WOUND_ABOVE;
    const mu = wound ? woundUnitWeight(0.4 * d, d, 7800, 7900) : plainUnitWeight(d);
    const value = tension(neck.scaleOf(s), noteFrequency(notes[i]), mu);
    total += value;
    const spread = wound ? 0.12 : 0.03;
    out.push({
      id: `tension-${s}`,
      what: `tension of string ${s} at ${notes[i]}`,
      unit: "N",
      value,
      low: value * (1 - spread),
      high: value * (1 + spread),
      source: `T = (2 L f)^2 mu, A = 440 Hz (ISO 16)${wound ? "; wound: unit weight estimated from a core of 0.4 of the diameter (from memory)" : "; plain steel of 7800 kg/m3"}`,
    });
    const least = wound ? undefined : musicWireStrength(d);
    const stress = stringStress(value, d);
    if (least !== undefined && stress > 0.85 * least)
      findings.push(
        finding(NF.overloaded, {
          where: `strings.diameters[${i}]`,
          value: Math.round(stress),
          limit: Math.round(0.85 * least),
          unit: "MPa",
          says: `String ${s} is drawn to ${Math.round((stress / least) * 100)} % of its wire's least strength.`,
          tryThis: "Use a shorter scale, a lower pitch or another string; a thinner one of steel is stressed the same.",
        }),
      );
  });
  out.push({
    id: "pull",
    what: "pull of all strings",
    unit: "N",
    value: total,
    low: total * 0.92,
    high: total * 1.08,
    source: "sum of the tensions",
  });
  return total;
}

/** The neck from nut to the body's joint as a beam under the strings: M = T e, e from the neutral axis to the strings. */
function straightness(neck: Neck, shaft: Wood, board: Wood, pull: Newton, out: Figure[], findings: Finding[]): void {
  const p = neck.places;
  const from = 0;
  const to = p.heelFront;
  if (!(to > from + 50)) return;
  const n = 60;
  const xs = Float64Array.from({ length: n + 1 }, (_, i) => from + ((to - from) * i) / n);
  const bending = new Float64Array(n + 1);
  const moments = new Float64Array(n + 1);
  // strings stand about a millimetre over the nut's frets and rise toward the body (common practice)
  xs.forEach((x, i) => {
    const c = compositeSection(partsAt(neck, x, shaft.moe, board.moe));
    bending[i] = c.bending;
    const height = neck.order.board.thickness + 1.2 + 1.5 * (x / to);
    moments[i] = pull * (height - c.neutral);
  });
  const line = bend(xs, curvatures(moments, bending));
  const { relief } = greatestRelief(line, from, to);
  const size = Math.abs(relief);
  const spread = VARIATION.moe;
  out.push({
    id: "stiffness",
    what: "bending stiffness at fret 5",
    unit: "N m2",
    value: at(xs, bending, neck.fretAt(5)) / 1e6,
    low: (at(xs, bending, neck.fretAt(5)) / 1e6) * (1 - spread),
    high: (at(xs, bending, neck.fretAt(5)) / 1e6) * (1 + spread),
    source: "transformed sections of the exact geometry; spread: coefficient of variation of the modulus (Wood Handbook table 5-6)",
  });
  out.push({
    id: "relief",
    what: "relief under the strings, the rod slack",
    unit: "mm",
    value: size,
    low: size / (1 + spread),
    high: size / (1 - spread),
    source: "moment over stiffness integrated twice, nut to heel; spread as the modulus",
  });
  if (size > 1 && neck.order.rod.kind === "none" && !neck.order.bars)
    findings.push(
      finding(NF.relief, {
        where: "rod",
        value: Math.round(size * 100) / 100,
        limit: 1,
        unit: "mm",
        says: `Without rod or bars the strings bow the neck by about ${size.toFixed(2)} mm.`,
        tryThis: "Order a rod or bars, a thicker carve, or a stiffer wood.",
      }),
    );
}

function at(xs: Float64Array, v: Float64Array, x: Mm): number {
  let i = 0;
  while (i < xs.length - 2 && xs[i + 1] < x) i++;
  const t = Math.min(1, Math.max(0, (x - xs[i]) / (xs[i + 1] - xs[i])));
  return v[i] + (v[i + 1] - v[i]) * t;
}

/** Bending at the root of the headstock, where the back has just become flat, against strength at the grain's angle. */
function strength(neck: Neck, shaft: Wood, pull: Newton, out: Figure[], findings: Finding[]): void {
  const { order, places } = neck;
  const x = Math.min(places.rampFoot, places.rampTop - 1);
  const s = shaftFigure(neck, x);
  const tilted = order.headstock.kind === "angled";
  const grain = (order.wood.grain ?? 0) + (tilted ? (order.headstock.angle ?? 0) : 0);
  // the pull runs from the nut's top to the posts: its arm at the root is its height over the section's centroid
  const arm = Math.max(1, neck.order.board.thickness + 1 - s.centroid);
  const bottom = neck.back(x, 0);
  const stress = (pull * arm * Math.abs(bottom - s.centroid)) / s.inertia;
  // across the grain: a twentieth of the strength along it (order of magnitude, from memory)
  const bears = hankinson(shaft.mor, shaft.mor / 20, grain, 1.75);
  out.push({
    id: "head-stress",
    what: "bending stress at the headstock's root",
    unit: "MPa",
    value: stress,
    low: stress * 0.85,
    high: stress * 1.15,
    source: "M / W of the exact section; strength at the grain's angle by Hankinson's formula (exponent and cross-grain share from memory)",
  });
  if (stress > bears / 5)
    findings.push(
      finding(NF.headRoot, {
        where: "headstock",
        value: Math.round(stress * 10) / 10,
        limit: Math.round((bears / 5) * 10) / 10,
        unit: "MPa",
        says: `At the headstock's root the strings bend the wood by ${stress.toFixed(1)} MPa; at its grain angle it bears ${bears.toFixed(0)} MPa.`,
        tryThis: "Thicken the headstock's root (a volute), scarf the headstock, or turn the grain.",
      }),
    );
  const limit = tilted ? 15 : 6;
  if ((grain * 180) / Math.PI > limit)
    findings.push(
      finding(NF.shortGrain, {
        where: "wood.grain",
        value: Math.round((grain * 1800) / Math.PI) / 10,
        limit,
        unit: "deg",
        says: "The grain runs out of the wood at the headstock's root: short grain.",
        tryThis: "Scarf the headstock, lessen its angle, or choose straighter wood.",
      }),
    );
}

function moisture(neck: Neck, shaft: Wood, board: Wood, out: Figure[], findings: Finding[]): void {
  const cut = neck.order.blank.moisture;
  const home = equilibriumMoisture(21, 45).moisture;
  const dry = equilibriumMoisture(21, 35).moisture;
  const last = neck.boardEdges(neck.fretAt(neck.order.frets.count));
  const width = last[1] - last[0];
  out.push({
    id: "home-moisture",
    what: "moisture content at home (21 C, 45 %)",
    unit: "%",
    value: home,
    low: dry,
    high: equilibriumMoisture(21, 60).moisture,
    source: "Wood Handbook equation 4-5; band: 35 to 60 % relative humidity",
  });
  if (board.coefficients) {
    const c = board.coefficients;
    const flat = fretEndsProud(c, width, 0, cut, dry);
    const quarter = fretEndsProud(c, width, Math.PI / 2, cut, dry);
    out.push({
      id: "fret-ends",
      what: "fret ends proud on each side in a dry room (35 %)",
      unit: "mm",
      value: (flat + quarter) / 2,
      low: Math.min(flat, quarter),
      high: Math.max(flat, quarter),
      source: "shrinkage of the board's width, quarter-sawn to flat-sawn (Wood Handbook chapter 13)",
    });
    if (flat > 0.2)
      findings.push(
        finding(NF.proud, {
          where: "blank.moisture",
          value: Math.round(flat * 100) / 100,
          limit: 0.2,
          unit: "mm",
          says: `Cut at ${cut} % moisture, a flat-sawn board shrinks until the fret ends stand ${flat.toFixed(2)} mm proud in a dry room.`,
          tryThis: `Cut at about ${home.toFixed(1)} %, or use a quarter-sawn board.`,
        }),
      );
  }
  if (shaft.coefficients) {
    const m = movement(shaft.coefficients, width, 0, cut, dry).change;
    const q = movement(shaft.coefficients, width, Math.PI / 2, cut, dry).change;
    out.push({
      id: "shaft-width",
      what: "change of the shaft's width in a dry room",
      unit: "mm",
      value: (m + q) / 2,
      low: Math.min(m, q),
      high: Math.max(m, q),
      source: "quarter-sawn to flat-sawn (Wood Handbook chapter 13)",
    });
  }
}

function mass(neck: Neck, shaft: Wood, board: Wood, out: Figure[]): void {
  const p = neck.places;
  const slices = (from: Mm, to: Mm, area: (x: Mm) => number): { xs: Float64Array; areas: Float64Array } => {
    const n = Math.max(2, Math.ceil((to - from) / 2));
    const xs = Float64Array.from({ length: n + 1 }, (_, i) => from + 0.01 + ((to - from - 0.02) * i) / n);
    return { xs, areas: xs.map(area) };
  };
  const s = slices(p.tip, p.shaftEnd, (x) => shaftFigure(neck, x).area);
  const b = slices(p.boardFront, p.boardEnd, (x) => boardFigure(neck, x)?.area ?? 0);
  const whole = combineMasses([massOfSections(s.xs, s.areas, shaft.density), massOfSections(b.xs, b.areas, board.density)]);
  const spread = VARIATION.gravity;
  out.push({
    id: "mass",
    what: "mass of the bare neck (wood)",
    unit: "g",
    value: whole.grams,
    low: whole.grams * (1 - spread),
    high: whole.grams * (1 + spread),
    source:
      "sections of the exact geometry times density at 12 %; spread: coefficient of variation of the gravity (Wood Handbook table 5-6)",
  });
  out.push({
    id: "balance",
    what: "balance point from the nut, toward the body",
    unit: "mm",
    value: whole.x,
    low: whole.x,
    high: whole.x,
    source: "centre of mass of shaft and board",
  });
}

function feel(neck: Neck, out: Figure[]): void {
  for (const [name, x] of [
    ["nut", 1],
    ["fret 1", neck.fretAt(1)],
    ["fret 5", neck.fretAt(5)],
    ["fret 9", neck.fretAt(9)],
    ["fret 12", neck.fretAt(12)],
  ] as const) {
    if (x > neck.places.heelFront) continue;
    const g = girth(neck, x);
    out.push({
      id: `girth-${name.replace(" ", "-")}`,
      what: `around the neck at the ${name}`,
      unit: "mm",
      value: g,
      low: g - 0.5,
      high: g + 0.5,
      source: "exact geometry; band: sanding of a quarter millimetre",
    });
    const area = shaftFigure(neck, x).area + (boardFigure(neck, x)?.area ?? 0);
    out.push({
      id: `area-${name.replace(" ", "-")}`,
      what: `section at the ${name}`,
      unit: "mm2",
      value: area,
      low: area - g * 0.1,
      high: area + g * 0.1,
      source: "exact geometry; band as above",
    });
  }
}
