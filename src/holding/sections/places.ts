import type { Neck } from "../../neck/types.ts";
import type { MachineSpec } from "../../spec/types.ts";
import { type Finding, finding, type Mm } from "../../units/index.ts";
import { SWATH } from "../extent.ts";
import { congruent } from "../grid.ts";
import { HO } from "../rules.ts";
import type { Holding } from "../types.ts";
import { inBlankOf, upOf, wasteOf } from "../where.ts";
import { pinPlay, seamBudget } from "./budget.ts";
import { bendCost, keptWhole, type Lie, seamCost, slopesAt } from "./cost.ts";
import { INSIDE, type Reach } from "./reach.ts";
import { chooseSeams } from "./seams.ts";
import type { IndexHole, SectionPlan } from "./types.ts";

/** Finished surfaces run over a seam by this much; roughing so much more, so that finishing never meets full wood. */
const OVERLAP: Mm = 5;
const ROUGH_MORE: Mm = 2;
/** Wood between an index hole and the blank's edge, and between a hole and what a cutter sweeps in the section before. */
const WALL: Mm = 5;
/** Over holes of a grid, which leave no choice, so much is enough. */
const LEAST_WALL: Mm = 4;
const BEYOND: Mm = 5;
/** The slotted index hole is so much longer than its pin: the blank's width may move with the weather. */
const SLOT: Mm = 2;
const GRID: Mm = 0.5;
/** Of the blank so much at least lies on the bed behind the last seam: this share of its length, or of the bed's. Common practice, no source. */
const HELD = { ofBlank: 1 / 3, ofBed: 1 / 2 } as const;
const MOST_SEAMS = 5;
/** A wider blank is advised up to so much. */
const MOST_WIDER = 100;

const r1 = (v: number): number => Math.round(v * 10) / 10;

export const noSections = (where: string, value: number | null, limit: number | null, says: string, tryThis: string): Finding =>
  finding(HO.noSections, {
    where,
    value: value === null ? null : r1(value),
    limit: limit === null ? null : r1(limit),
    unit: "mm",
    says,
    tryThis,
  });

/** Where the holes of a pair may lie across the blank: their distance, and the datum side's between two places. */
interface Pair {
  readonly arm: Mm;
  readonly from: Mm;
  readonly to: Mm;
}

interface Chosen {
  readonly seams: readonly number[];
  readonly sum: number;
  readonly costs: Float64Array;
  readonly pair: Pair;
}

/** On a plain bed the two holes stand as far apart as the blank lets them; over holes of a grid by whole pitches, the widest first. */
function pairsOf(width: Mm, diameter: Mm, pitch: Mm | undefined): Pair[] {
  const rim = (pitch === undefined ? WALL : LEAST_WALL) + diameter / 2;
  const widest = width - 2 * rim - SLOT / 2;
  if (pitch === undefined) return [{ arm: widest, from: rim, to: rim }];
  const out: Pair[] = [];
  for (let n = Math.floor(widest / pitch + 1e-9); n >= 1; n--) out.push({ arm: n * pitch, from: rim, to: rim + widest - n * pitch });
  return out;
}

/** Seams, holes and shifts along the blank; the same for both sides. */
export function planSections(
  neck: Neck,
  machine: MachineSpec,
  plan: Holding,
  reach: Reach,
): { readonly plan: SectionPlan | null; readonly findings: readonly Finding[] } {
  const { blank, holding } = neck.order;
  const { diameter, height } = holding.pin;
  const pitch = machine.grid?.pitch;
  const r = diameter / 2;
  const at = inBlankOf(neck, plan.placement);
  const { rotation = 0 } = plan.placement;
  const lie: Lie = { cos: Math.cos(rotation), sin: upOf(neck) * Math.sin(rotation) };
  const ox = at.along(0, 0);
  const overlap = OVERLAP + ROUGH_MORE;
  // from a seam to its holes: past what the section before sweeps, and some wood
  const beyond = overlap + BEYOND + r;
  // from the bed's left end to the seam in the section behind it, and to the index pins: on a grid in the first column beyond
  const plain = reach.start + overlap + INSIDE + beyond;
  const pinAlong = pitch === undefined ? plain : -r + pitch * Math.ceil((plain + r) / pitch - 1e-9);
  const behind = pinAlong - beyond - reach.start;
  const n = Math.floor(blank.length / GRID);
  const places = new Float64Array(n).map((_, k) => k * GRID);
  const whole = keptWhole(neck, at.along);
  const play = pinPlay(diameter);
  const sigma = Math.hypot(play.half / Math.sqrt(3), machine.repeat);
  const wood = wasteAt(neck, plan);
  const end = at.along(neck.places.end, 0);
  const last = blank.length - Math.min(HELD.ofBlank * blank.length, HELD.ofBed * reach.span);
  const bare = places.map((s) => {
    const x = (s - ox) / lie.cos;
    if (x <= neck.places.tip + 5 || x >= neck.places.shaftEnd - 5 || s > last) return Number.POSITIVE_INFINITY;
    return seamCost(neck, s, x, whole, { along: sigma, across: sigma }, lie);
  });
  /** Wood beside the neck where a seam's holes go, on either edge. */
  const beside = Array.from(places, (s, k) =>
    Number.isFinite(bare[k])
      ? [-r - 1, 0, r + 1]
          .map((d) => wood(s + beyond + d))
          .reduce((a, b) => [Math.min(a[0], b[0]), Math.min(a[1], b[1])], [Infinity, Infinity])
      : ([0, 0] as const),
  );
  /** Where the datum side's hole has most room across, at the seam `k` of a blank `more` wider, and how much wood is missing beside the pair. */
  const pairAt = (k: number, p: Pair, more = 0): { readonly across: Mm; readonly lacks: Mm } => {
    const [near, far] = beside[k];
    // both rims off what the outline's cutter takes
    const most = near + more / 2 - r - SWATH;
    const least = blank.width + more / 2 - far + SLOT / 2 + r + SWATH - p.arm;
    const across = Math.min(p.to, Math.max(p.from, (most + least) / 2));
    return { across, lacks: Math.max(across - most, least - across) };
  };
  const ends = beyond + r + INSIDE;
  /** The fewest seams that have room for their holes, of those the least cost; `more`: of a blank so much wider. */
  const search = (more = 0): Chosen | null => {
    let best: Chosen | null = null;
    for (const pair of pairsOf(blank.width + more, diameter, pitch)) {
      const turn = (Math.SQRT2 * sigma) / pair.arm;
      const costs = bare.map((c, k) =>
        !Number.isFinite(c) || pairAt(k, pair, more).lacks > 1e-9 ? Number.POSITIVE_INFINITY : c + bendCost(turn, end - places[k]),
      );
      const seams = chooseSeams({
        places,
        costs,
        firstMost: reach.start + reach.span - ends,
        reach: reach.span - ends - behind,
        lastLeast: reach.last + INSIDE - reach.span + behind,
        apart: ends + behind,
        most: MOST_SEAMS,
      });
      if (seams === null) continue;
      const sum = seams.reduce((t, k) => t + costs[k], 0);
      if (best === null || seams.length < best.seams.length || (seams.length === best.seams.length && sum < best.sum))
        best = { seams, sum, costs, pair };
    }
    return best;
  };
  const possible = reach.first >= reach.start && reach.span >= 3 * (ends + behind);
  const best = possible ? search() : null;
  if (best === null) {
    const wider = possible ? Array.from({ length: MOST_WIDER }, (_, k) => k + 1).find((more) => search(more) !== null) : undefined;
    return { plan: null, findings: [whyNot(neck, machine, reach, wider)] };
  }
  const { pair } = best;
  // the pins' rows: of a grid the one nearest to the middle of where the datum side's hole may lie
  const pinAcross = pitch === undefined ? pair.from : congruent((pair.from + pair.to) / 2, -r, pitch);
  const holes: IndexHole[] = [];
  const seams = best.seams.map((k, i) => {
    const s = places[k];
    const { across } = pairAt(k, pair);
    const hole = { section: i + 2, along: s + beyond, diameter };
    holes.push({ ...hole, id: `index-${i + 2}-datum`, across, slot: 0 });
    holes.push({ ...hole, id: `index-${i + 2}-far`, across: across + pair.arm, slot: SLOT });
    return { at: s, neckX: (s - ox) / lie.cos, cost: best.costs[k], holesAt: s + beyond };
  });
  const shifts = [0, ...seams.map((s) => s.holesAt - pinAlong)];
  const aside = [0, ...seams.map((_, i) => holes[2 * i].across - pinAcross)];
  const budget = seams.flatMap((s, i) => {
    const slopes = slopesAt(neck, s.neckX, lie);
    const to = seams[i + 1]?.at ?? reach.last;
    return seamBudget(
      {
        arm: pair.arm,
        toSeam: beyond,
        toEnd: to - s.holesAt,
        edgeSlope: slopes.edge,
        backSlope: slopes.surface,
        half: slopes.half,
        pin: diameter,
        ...(pitch === undefined ? {} : { overHoles: { along: pinAlong, across: pinAcross } }),
      },
      machine,
    ).map((o) => ({ ...o, id: `${o.id}-${i + 1}` }));
  });
  const found = budget
    .filter((o) => o.drawn.within99 > o.limit)
    .map((o) =>
      finding(HO.seamStep, {
        where: `error budget, ${o.id}`,
        value: Math.round(o.drawn.within99 * 1000) / 1000,
        limit: o.limit,
        unit: "mm",
        says: `${o.says}: 99 of 100 necks stay within ${o.drawn.within99.toFixed(2)} mm, not within ${o.limit} mm.`,
        tryThis: `Most of it (${Math.round(100 * (o.shares[0]?.share ?? 0))} %) comes from: ${o.shares[0]?.says.toLowerCase() ?? "nothing"}. Leave the seam a little proud and scrape it, ${pitch === undefined ? "" : "lay a sub-plate on the bed whose seats this machine bores (and leave machine.grid out of the shop), "}or use a larger machine.`,
      }),
    );
  return {
    plan: {
      count: seams.length + 1,
      seams,
      holes,
      shifts,
      ...(pitch === undefined ? {} : { aside }),
      overlap: OVERLAP,
      roughOverlap: overlap,
      pins: [0, pair.arm].map((d) => ({ along: pinAlong, across: pinAcross + d, diameter, height })),
      budget,
    },
    findings: found,
  };
}

function whyNot({ order }: Neck, machine: MachineSpec, reach: Reach, wider: Mm | undefined): Finding {
  const { blank, holding } = order;
  const pitch = machine.grid?.pitch;
  if (wider !== undefined && pitch !== undefined)
    return finding(HO.noHole, {
      where: "machine.grid",
      value: pitch,
      limit: null,
      unit: "mm",
      says: `The neck is cut in sections, and its two index pins stand over holes of the bed, whole ${pitch} mm from each other across the blank: at no seam a pair so far apart has ${SWATH} mm to the neck and ${LEAST_WALL} mm to the edges of a blank ${blank.width} mm wide.`,
      tryThis: `Take a blank ${wider} mm wider, a plate whose holes are nearer to each other, or a sub-plate without a grid (leave machine.grid out of the shop).`,
    });
  if (wider !== undefined)
    return noSections(
      "blank.width",
      blank.width,
      blank.width + wider,
      `Sections need index holes in the waste beside the shaft: ${r1(SWATH + WALL + holding.pin.diameter)} mm of it at the datum edge, ${SLOT} mm more at the far edge.`,
      `Take a blank ${wider} mm wider, or thinner pins (holding.pin.diameter).`,
    );
  return noSections(
    `machine.bed.${machine.along}`,
    reach.span,
    null,
    `No choice of up to ${MOST_SEAMS} seams keeps slots, bores, ramp and heel whole and every section within ${r1(reach.span)} mm of travel.`,
    pitch === undefined
      ? "Use a larger machine."
      : "Use a larger machine, or a sub-plate without a grid (leave machine.grid out of the shop).",
  );
}

/** Wood between the outline and the datum edge, and between the outline and the far edge, at a distance along the blank. */
function wasteAt(neck: Neck, plan: Holding): (along: Mm) => readonly [Mm, Mm] {
  const { width } = neck.order.blank;
  const at = inBlankOf(neck, plan.placement);
  const waste = wasteOf(neck, plan.placement);
  const [tip, end] = [at.along(neck.places.tip, 0), at.along(neck.places.end, 0)];
  return (along) => (along < tip || along > end ? [width / 2, width / 2] : waste(along));
}
