import { type BentLine, bend, compositeSection, curvatures, greatestRelief, reliefAt, rodForce } from "../../materials/beam.ts";
import type { Wood } from "../../materials/woods.ts";
import { setupOf } from "../../spec/setup.ts";
import { type Finding, finding, type Mm, type Newton } from "../../units/index.ts";
import type { Neck, RodChannel } from "../types.ts";
import { NF } from "./rules.ts";
import { channelMiddle, partsAt } from "./section.ts";
import { between, together, within } from "./tolerances.ts";
import type { AlongNeck, Figure, Tolerances } from "./types.ts";

/*
 * The neck from nut to heel as a beam under the strings: moment = pull times the height of the strings over the neutral axis (they pull at
 * both ends and lie along it); slender, no shear, small slopes. The heel is held by the body.
 */

/** Height of a fret's crown, where the order knows no wire (common practice, no source). */
const CROWN: Mm = 1.2;
/** Tensile stress area of an M5 and an M4 thread, mm2 (ISO 898-1, from memory), and a stress that mild steel bears (from memory). */
const THREAD = { m5: 14.2, m4: 8.78 } as const;
const ROD_STRESS = 250;

/** Sections and lines of the beam, for one newton of string pull. */
export interface Beam {
  readonly from: Mm;
  readonly to: Mm;
  readonly xs: Float64Array;
  /** N mm2. */
  readonly bending: Float64Array;
  readonly neutral: Float64Array;
  /** Bent by strings that pull one newton together. */
  readonly perNewton: BentLine;
}

export function beamOf(neck: Neck, shaft: Wood, board: Wood, thicker: Mm = 0, steps = 48): Beam | null {
  const from = 0;
  const to = neck.places.heelFront;
  if (!(to > from + 50)) return null;
  const ends = neck.features.rod.flatMap((c) => [c.xMin - 1e-3, c.xMin + 1e-3, c.xMax - 1e-3, c.xMax + 1e-3]);
  const even = Array.from({ length: steps + 1 }, (_, i) => (i === steps ? to : from + ((to - from) * i) / steps));
  const xs = Float64Array.from(
    [...even, ...ends.filter((x) => x > from && x < to)].sort((a, b) => a - b).filter((x, i, all) => i === 0 || x - all[i - 1] > 1e-6),
  );
  const bending = new Float64Array(xs.length);
  const neutral = new Float64Array(xs.length);
  const arms = new Float64Array(xs.length);
  const { nut, twelfth } = setupOf(neck.order);
  xs.forEach((x, i) => {
    const c = compositeSection(partsAt(neck, x, shaft.moe, board.moe, thicker));
    bending[i] = c.bending;
    neutral[i] = c.neutral;
    const height = neck.order.board.thickness + CROWN + nut + ((twelfth - nut) * x) / (neck.order.scale / 2);
    arms[i] = height - c.neutral;
  });
  return { from, to, xs, bending, neutral, perNewton: bend(xs, curvatures(arms, bending)) };
}

/** What a rod can do: the line it bends per newton of its own force, and the most force it bears. */
export interface Rod {
  readonly action: "single" | "double";
  readonly perNewton: BentLine;
  readonly most: Newton;
  readonly says: string;
}

/**
 * Single action: a rod in tension in a curved channel, an eccentric tendon: moment = force times the depth of its middle under the
 * neutral axis (statics, as in prestressed beams). Double action: one bar pulls, the other pushes; the pair bends the neck by force times the
 * distance of the two, the same all along. How such rods are made: common practice, no source.
 */
export function rodOf(neck: Neck, beam: Beam): Rod | null {
  const { rod } = neck.order;
  const channel = neck.features.rod.find((c): c is RodChannel => c.id === "rod-channel");
  if (rod.kind !== "channel" || !channel) return null;
  const action = rod.action ?? "double";
  const thread = Math.min(rod.width, rod.height) >= 5 ? "m5" : "m4";
  const lever = Math.max(2, channel.rodHeight - (thread === "m5" ? 5 : 4));
  const moments = Float64Array.from(beam.xs, (x, i) => {
    if (x < channel.xMin || x > channel.xMax) return 0;
    return action === "single" ? channelMiddle(channel, x) - beam.neutral[i] : -lever;
  });
  const says =
    action === "single"
      ? `single action: tension under the neutral axis, at most ${ROD_STRESS} MPa in an ${thread.toUpperCase()} thread`
      : `double action: two bars ${lever.toFixed(1)} mm apart, at most ${ROD_STRESS} MPa in an ${thread.toUpperCase()} thread`;
  return { action, perNewton: bend(beam.xs, curvatures(moments, beam.bending)), most: ROD_STRESS * THREAD[thread], says };
}

/** Depth of a hollow built into the board, at x. */
function builtIn(neck: Neck, x: Mm): Mm {
  const { relief } = neck.order.board;
  if (!relief) return 0;
  const u = (2 * x) / neck.fretAt(relief.to) - 1;
  return relief.depth * Math.max(0, 1 - u * u);
}

export interface Straight {
  readonly along: readonly AlongNeck[];
  readonly beam: Beam;
}

export function straightness(
  neck: Neck,
  woods: { readonly shaft: Wood; readonly board: Wood },
  pull: { readonly value: Newton; readonly spread: number },
  tol: Tolerances,
  out: Figure[],
  findings: Finding[],
): Straight | null {
  const beam = beamOf(neck, woods.shaft, woods.board);
  if (beam === null) return null;
  const { from, to, xs, bending } = beam;
  const peak = greatestRelief(beam.perNewton, from, to);
  const thick = tol.thickness > 0 ? beamOf(neck, woods.shaft, woods.board, tol.thickness, 12) : null;
  const coarse = tol.thickness > 0 ? beamOf(neck, woods.shaft, woods.board, 0, 12) : null;
  // a thicker neck is stiffer by this share at fret 5, and bends less by that one
  const five = Math.min(to - 1, neck.fretAt(5));
  const stiffer = thick && coarse ? at(thick.xs, thick.bending, five) / at(coarse.xs, coarse.bending, five) - 1 : 0;
  const straighter =
    thick && coarse ? 1 - greatestRelief(thick.perNewton, from, to).relief / greatestRelief(coarse.perNewton, from, to).relief : 0;
  const stiffness = at(xs, bending, five) / 1e6;
  const stiffSpread = together(tol.moe, stiffer);
  const stiffSource = `transformed sections of the exact geometry; spread: modulus ${percent(tol.moe)} (Wood Handbook table 5-6), ${tol.thickness} mm of thickness`;
  out.push(
    within(
      { id: "stiffness", what: "bending stiffness at fret 5", unit: "N m2", source: stiffSource, short: true },
      stiffness,
      stiffSpread,
    ),
  );
  const relief = pull.value * peak.relief;
  const spread = Math.min(0.9, together(tol.moe, straighter, pull.spread));
  const bandOf = (v: number): readonly [number, number] => [v / (1 + spread), v / (1 - spread)];
  out.push(
    between(
      {
        id: "relief",
        what: "relief under the strings, the rod slack",
        unit: "mm",
        source: "moment over stiffness integrated twice, nut to heel; spread: modulus, pull and thickness",
        short: true,
      },
      relief,
      bandOf(relief),
    ),
  );
  const asked = setupOf(neck.order).relief;
  const hollow = builtIn(neck, peak.x);
  const rod = rodOf(neck, beam);
  if (rod) askRod({ neck, beam, rod, peak: peak.x, pull, relief, hollow, asked, spread, straighter }, tol, out, findings);
  else if (relief + hollow > Math.max(1, asked + 0.5) && !neck.order.bars)
    findings.push(
      finding(NF.relief, {
        where: "rod",
        value: Math.round((relief + hollow) * 100) / 100,
        limit: Math.max(1, asked + 0.5),
        unit: "mm",
        says: `Without rod or bars the strings bow the neck by about ${(relief + hollow).toFixed(2)} mm.`,
        tryThis: "Order a rod or bars, a thicker carve, or a stiffer wood.",
      }),
    );
  const line = Array.from({ length: 41 }, (_, i) => (i === 40 ? to : from + ((to - from) * i) / 40));
  const bent = line.map((x) => pull.value * reliefAt(beam.perNewton, from, to, x) + builtIn(neck, x));
  const ei = line.map((x) => at(xs, bending, x) / 1e6);
  return {
    beam,
    along: [
      {
        id: "relief",
        what: "relief, the rod slack",
        unit: "mm",
        xs: line,
        value: bent,
        low: bent.map((v) => Math.min(...bandOf(v))),
        high: bent.map((v) => Math.max(...bandOf(v))),
      },
      {
        id: "stiffness",
        what: "bending stiffness EI",
        unit: "N m²",
        xs: line,
        value: ei,
        low: ei.map((v) => v * (1 - stiffSpread)),
        high: ei.map((v) => v * (1 + stiffSpread)),
      },
    ],
  };
}

interface Ask {
  readonly neck: Neck;
  readonly beam: Beam;
  readonly rod: Rod;
  readonly peak: Mm;
  readonly pull: { readonly value: Newton; readonly spread: number };
  readonly relief: Mm;
  readonly hollow: Mm;
  readonly asked: Mm;
  readonly spread: number;
  readonly straighter: number;
}

/** The force that leaves the asked relief, and whether the rod bears it. */
function askRod(a: Ask, tol: Tolerances, out: Figure[], findings: Finding[]): void {
  const { beam, rod, peak, pull, asked, hollow } = a;
  const { from, to } = beam;
  if (Math.abs(reliefAt(rod.perNewton, from, to, peak)) < 1e-12) return;
  const force = rodForce(scaled(beam.perNewton, pull.value), rod.perNewton, from, to, peak, asked - hollow);
  // force = pull x (strings' bend over the rod's) - asked x stiffness: the stiffness moves the second part alone
  const perPull = rodForce(beam.perNewton, rod.perNewton, from, to, peak, 0);
  const perAsked = perPull * pull.value - force;
  const moved = together(perPull * pull.value * pull.spread, perAsked * together(tol.moe, a.straighter));
  out.push({
    id: "rod-force",
    what: `force in the rod for ${asked.toFixed(2)} mm of relief`,
    unit: "N",
    value: force,
    low: force - moved,
    high: force + moved,
    source: `${rod.says}; it bears about ${rod.most.toFixed(0)} N (common practice, no source)`,
    short: true,
  });
  const least = rod.action === "double" ? -rod.most : 0;
  const reach = [least, rod.most].map((f) => a.relief + hollow + f * reliefAt(rod.perNewton, from, to, peak));
  out.push(
    between(
      { id: "rod-straightens-to", what: "relief with the rod at its strongest", unit: "mm", source: rod.says },
      Math.min(...reach),
      [1 / (1 + a.spread), 1 / (1 - a.spread)].map((k) => hollow + (Math.min(...reach) - hollow) * k),
    ),
    between(
      { id: "rod-bows-to", what: "relief with the rod slack or turned the other way", unit: "mm", source: rod.says },
      Math.max(...reach),
      [1 / (1 + a.spread), 1 / (1 - a.spread)].map((k) => hollow + (Math.max(...reach) - hollow) * k),
    ),
  );
  if (force > rod.most || force < least)
    findings.push(
      finding(NF.rod, {
        where: "rod",
        value: Math.round(force),
        limit: Math.round(force > rod.most ? rod.most : least),
        unit: "N",
        says:
          force < 0
            ? `For ${asked} mm of relief the rod would have to push with ${Math.round(-force)} N; a single-action rod only pulls.`
            : `For ${asked} mm of relief the rod would have to pull with ${Math.round(force)} N; it bears about ${Math.round(rod.most)} N.`,
        tryThis:
          force < 0
            ? "Ask for less relief, order a double-action rod, or build relief into the board."
            : "Take a thicker carve, bars beside the rod, or a stiffer wood.",
      }),
    );
}

const scaled = (line: BentLine, k: number): BentLine => ({
  xs: line.xs,
  curvature: line.curvature.map((v) => v * k),
  slope: line.slope.map((v) => v * k),
  height: line.height.map((v) => v * k),
});

const percent = (v: number): string => `${Math.round(v * 100)} %`;

/** Linear between the places. */
export function at(xs: ArrayLike<number>, v: ArrayLike<number>, x: Mm): number {
  let i = 0;
  while (i < xs.length - 2 && xs[i + 1] < x) i++;
  const t = Math.min(1, Math.max(0, (x - xs[i]) / (xs[i + 1] - xs[i])));
  return v[i] + (v[i + 1] - v[i]) * t;
}
