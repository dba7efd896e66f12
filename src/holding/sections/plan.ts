import { flatten } from "../../kernel/contour.ts";
import { signedDistance } from "../../kernel/polygon.ts";
import type { Neck } from "../../neck/types.ts";
import type { MachineSpec } from "../../spec/types.ts";
import { type Finding, finding, type Mm } from "../../units/index.ts";
import { extent, SWATH } from "../extent.ts";
import { HO } from "../rules.ts";
import type { Holding, Side, Solid } from "../types.ts";
import { pinPlay, seamBudget } from "./budget.ts";
import { keptWhole, seamCost, slopesAt } from "./cost.ts";
import { chooseSeams } from "./seams.ts";
import { moved } from "./setting.ts";
import type { IndexHole, SectionPlan, SideSection } from "./types.ts";

/** Finished surfaces run over a seam by this much; roughing so much more, so that finishing never meets full wood. */
const OVERLAP: Mm = 5;
const ROUGH_MORE: Mm = 2;
/** A tip stays so far inside the travel's ends. */
const INSIDE: Mm = 1;
/** Wood between an index hole and the blank's edge, and between a hole and what a cutter sweeps in the section before. */
const WALL: Mm = 5;
const BEYOND: Mm = 5;
/** The slotted index hole is so much longer than its pin: the blank's width may move with the weather. */
const SLOT: Mm = 2;
/** Holders pass so far beside a hole that is being bored (radius of a spindle nose, and air). */
const HOLDER: Mm = 24;
/** Room between a block's nose and the outline: as much as a holder needs where there is wood for it, else what a cutter sweeps. */
const ROOMS: readonly Mm[] = [24, 16, SWATH];
const GRID: Mm = 0.5;
const MOST_SEAMS = 5;

/** Distances along the blank that the machine must reach, and what of them one setting reaches. */
export interface Reach {
  /** Of the bed and the travel the shorter. */
  readonly span: Mm;
  readonly first: Mm;
  readonly last: Mm;
  /** Bed's left end in section 1, along the blank. */
  readonly start: Mm;
}

export function reachOf(neck: Neck, machine: MachineSpec, plan: Holding): Reach {
  const span = Math.min(machine.bed[machine.along], machine.travel[machine.along]);
  const shift = plan.placement.tipFromEnd - neck.places.tip;
  return {
    span,
    first: neck.places.tip + shift - SWATH,
    last: Math.max(neck.places.end, neck.places.shaftEnd) + shift + SWATH,
    start: -(neck.order.holding.pin.diameter + INSIDE),
  };
}

/**
 * The plan as it is, or in sections when blank and blocks are longer than the bed. With sections the sides carry them, and the finding
 * of the bed goes; where even sections fail it stays, with what failed.
 */
export function withSections(neck: Neck, machine: MachineSpec, plan: Holding): Holding {
  const short = (["board", "carve"] as const).some((name) => {
    const e = extent(plan.sides[name].stock, plan.sides[name].holding);
    const size = machine.along === "x" ? e.maxX - e.minX : e.maxY - e.minY;
    return size > machine.bed[machine.along];
  });
  if (!short || machine.sections === false) return plan;
  const made = planSections(neck, machine, plan);
  const others = plan.findings.filter((f) => f.rule !== HO.bed.id);
  if (made.plan === null) return { ...plan, findings: [...plan.findings, ...made.findings] };
  const sides = { board: sideOf(neck, machine, plan, made.plan, "board"), carve: sideOf(neck, machine, plan, made.plan, "carve") };
  return { ...plan, sides, sections: made.plan, findings: [...others, ...made.findings, ...checkSections(machine, sides, made.plan)] };
}

const noSections = (where: string, value: number | null, limit: number | null, says: string, tryThis: string): Finding =>
  finding(HO.noSections, {
    where,
    value: value === null ? null : r1(value),
    limit: limit === null ? null : r1(limit),
    unit: "mm",
    says,
    tryThis,
  });
const r1 = (v: number): number => Math.round(v * 10) / 10;

/** Seams, holes and shifts along the blank; the same for both sides. */
export function planSections(
  neck: Neck,
  machine: MachineSpec,
  plan: Holding,
): { readonly plan: SectionPlan | null; readonly findings: readonly Finding[] } {
  const { blank, holding } = neck.order;
  const { diameter, height } = holding.pin;
  const reach = reachOf(neck, machine, plan);
  const r = diameter / 2;
  const shift = plan.placement.tipFromEnd - neck.places.tip;
  const overlap = OVERLAP + ROUGH_MORE;
  // from a seam to its holes: past what the section before sweeps, and some wood
  const beyond = overlap + BEYOND + r;
  // from the bed's left end to the seam in the section behind it
  const behind = overlap + INSIDE;
  const n = Math.floor(blank.length / GRID);
  const places = new Float64Array(n).map((_, k) => k * GRID);
  const whole = keptWhole(neck);
  const play = pinPlay(diameter);
  const sigma = Math.hypot(play.half / Math.sqrt(3), machine.repeat);
  const arm = blank.width - 2 * WALL - diameter;
  const wood = wasteAt(neck, plan);
  const needed = SWATH + WALL + diameter;
  let narrow = Number.POSITIVE_INFINITY;
  const costs = places.map((s) => {
    const x = s - shift;
    if (x <= neck.places.tip + 5 || x >= neck.places.shaftEnd - 5) return Number.POSITIVE_INFINITY;
    const cost = seamCost(neck, x, whole, { along: sigma, across: sigma, turn: (Math.SQRT2 * sigma) / arm, end: neck.places.end });
    if (!Number.isFinite(cost)) return cost;
    const waste = Math.min(...[-r - 1, 0, r + 1].flatMap((d) => wood(s + beyond + d)));
    if (waste < needed) {
      narrow = Math.min(narrow, needed - waste);
      return Number.POSITIVE_INFINITY;
    }
    return cost;
  });
  const ends = beyond + r + INSIDE;
  const lastLeast = reach.last + INSIDE - reach.span + behind;
  const chosen =
    reach.first < reach.start || reach.span < 3 * (ends + behind)
      ? null
      : chooseSeams({
          places,
          costs,
          firstMost: reach.start + reach.span - ends,
          reach: reach.span - ends - behind,
          lastLeast,
          apart: ends + behind,
          most: MOST_SEAMS,
        });
  if (chosen === null) {
    const waste = Number.isFinite(narrow);
    return {
      plan: null,
      findings: [
        noSections(
          waste ? "blank.width" : `machine.bed.${machine.along}`,
          waste ? blank.width : reach.span,
          waste ? blank.width + 2 * narrow : null,
          waste
            ? `Sections need index holes in the waste beside the shaft: ${r1(needed)} mm of it at both edges.`
            : `No choice of up to ${MOST_SEAMS} seams keeps slots, bores, ramp and heel whole and every section within ${r1(reach.span)} mm of travel.`,
          waste ? `Take a blank ${r1(2 * narrow)} mm wider, or thinner pins (holding.pin.diameter).` : "Use a larger machine.",
        ),
      ],
    };
  }
  const holes: IndexHole[] = [];
  const seams = chosen.map((k, i) => {
    const at = places[k];
    const hole = { section: i + 2, along: at + beyond, diameter };
    holes.push({ ...hole, id: `index-${i + 2}-datum`, across: WALL + r, slot: 0 });
    holes.push({ ...hole, id: `index-${i + 2}-far`, across: blank.width - WALL - r - SLOT / 2, slot: SLOT });
    return { at, neckX: at - shift, cost: costs[k], holesAt: at + beyond };
  });
  const shifts = [0, ...seams.map((s) => s.at - behind - reach.start)];
  const budget = seams.flatMap((s, i) => {
    const slopes = slopesAt(neck, s.neckX);
    const to = seams[i + 1]?.at ?? reach.last;
    return seamBudget(
      {
        arm: holes[1].across - holes[0].across,
        toSeam: beyond,
        toEnd: to - s.holesAt,
        edgeSlope: slopes.edge,
        backSlope: slopes.surface,
        half: slopes.half,
        pin: diameter,
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
        tryThis: `Most of it (${Math.round(100 * (o.shares[0]?.share ?? 0))} %) comes from: ${o.shares[0]?.says.toLowerCase() ?? "nothing"}. Leave the seam a little proud and scrape it, or use a larger machine.`,
      }),
    );
  return {
    plan: {
      count: seams.length + 1,
      seams,
      holes,
      shifts,
      overlap: OVERLAP,
      roughOverlap: overlap,
      pins: holes.slice(0, 2).map((h) => ({ along: reach.start + behind + beyond, across: h.across, diameter, height })),
      budget,
    },
    findings: found,
  };
}

/** Wood between the outline and the datum edge, and between the outline and the far edge, at a distance along the blank. */
function wasteAt(neck: Neck, plan: Holding): (along: Mm) => readonly [Mm, Mm] {
  const { blank } = neck.order;
  const { tipFromEnd, centreFromDatum } = plan.placement;
  const shift = tipFromEnd - neck.places.tip;
  const up = Math.sign(upOf(plan));
  return (along) => {
    const x = along - shift;
    if (x < neck.places.tip || x > neck.places.end) return [blank.width / 2, blank.width / 2];
    const ys = neck.edges(Math.min(neck.places.end - 0.01, Math.max(neck.places.tip, x))).map((y) => centreFromDatum + up * y);
    return [Math.min(...ys), blank.width - Math.max(...ys)];
  };
}

/** +1 when the blank lies on the plus side of the datum edge's line on the board side (with x along the neck). */
const upOf = ({ sides }: Holding): 1 | -1 => {
  const { neckToProgram: t, stock } = sides.board;
  return Math.abs(t[0]) > 0.5 ? (stock.max[1] > 0 ? 1 : -1) : stock.min[0] < 0 ? 1 : -1;
};

/** Maps places along and across the blank to a side's program frame. */
export interface BlankFrame {
  readonly turned: boolean;
  readonly along: 1 | -1;
  readonly up: 1 | -1;
  readonly xy: (along: Mm, across: Mm) => readonly [Mm, Mm];
}

/** The program frame's origin is where datum edge and end stop meet, so stock bounds tell where the blank lies from there. */
export function blankFrame(side: Pick<Side, "stock" | "neckToProgram">): BlankFrame {
  const turned = Math.abs(side.neckToProgram[0]) < 0.5;
  const { min, max } = side.stock;
  const along = turned ? (max[1] > 0 ? 1 : -1) : max[0] > 0 ? 1 : -1;
  const up = turned ? (min[0] < 0 ? 1 : -1) : max[1] > 0 ? 1 : -1;
  return { turned, along, up, xy: (u, v) => (turned ? [-up * v + 0, along * u] : [along * u, up * v]) };
}

/** The side with what holds it in each section; its own holding is section 1's. */
function sideOf(neck: Neck, machine: MachineSpec, plan: Holding, sections: SectionPlan, name: "board" | "carve"): Side {
  const side = plan.sides[name];
  const frame = blankFrame(side);
  const reach = reachOf(neck, machine, plan);
  const outline = flatten(neck.outline, 0.02);
  const made = sections.shifts.map((shift, k): SideSection => {
    const whole = solidsOf(neck, plan, side, sections, k, reach, outline);
    const [dx, dy] = frame.xy(shift, 0);
    return {
      number: k + 1,
      from: k === 0 ? 0 : sections.seams[k - 1].at,
      to: k === sections.count - 1 ? neck.order.blank.length : sections.seams[k].at,
      shift: [dx + 0, dy + 0],
      holding: whole.map((s) => moved(s, -dx, -dy)),
    };
  });
  const e = extent(
    acrossOnly(side),
    made.flatMap((s) => s.holding),
  );
  // along: the bed's end stands `start` before the end stop's line
  const alongZero = frame.along > 0 ? -reach.start : reach.start + reach.span;
  const acrossAxis = frame.turned ? "x" : "y";
  const [lo, hi] = frame.turned ? [e.minX, e.maxX] : [e.minY, e.maxY];
  const acrossZero = r1((machine.bed[acrossAxis] - (hi - lo)) / 2 - lo);
  return {
    ...side,
    holding: made[0].holding,
    sections: made,
    zeroOnBed: frame.turned ? [acrossZero, alongZero] : [alongZero, acrossZero],
    zeroSays: `${side.zeroSays}; the zero stays where it is in all sections`,
  };
}

/** The stock's extent across alone: along, it may stand out over the bed. */
function acrossOnly(side: Side): Side["stock"] {
  const { min, max } = side.stock;
  return Math.abs(side.neckToProgram[0]) < 0.5
    ? { min: [min[0], 0, min[2]], max: [max[0], 0, max[2]] }
    : { min: [0, min[1], min[2]], max: [0, max[1], max[2]] };
}

/** What holds the piece in section k, in the side's whole program frame. */
function solidsOf(neck: Neck, plan: Holding, side: Side, sections: SectionPlan, k: number, reach: Reach, outline: Float64Array): Solid[] {
  const frame = blankFrame(side);
  const { pin, block } = neck.order.holding;
  const { width } = neck.order.blank;
  const top = side.stock.max[2];
  const bed: readonly [Mm, Mm] = [reach.start + sections.shifts[k] + INSIDE, reach.start + sections.shifts[k] + reach.span - INSIDE];
  const cylinder = (name: string, role: Solid["role"], u: Mm, v: Mm): Solid => {
    const [x, y] = frame.xy(u, v);
    return { kind: "cylinder", name, role, x, y, diameter: pin.diameter, zMin: 0, zMax: pin.height };
  };
  const out: Solid[] = [];
  const keep: [Mm, Mm][] = [];
  if (k === 0) {
    // fence pins at the ends of what the bed and the holes leave
    const f1 = Math.max(neck.order.blank.length * 0.05, 20);
    const f2 = Math.min(sections.seams[0].at - 30, bed[1] - 60);
    out.push(cylinder("fence pin 1", "fence pin", f1, -pin.diameter / 2));
    out.push(cylinder("fence pin 2", "fence pin", f2, -pin.diameter / 2));
    out.push(cylinder("end stop", "end stop", -pin.diameter / 2, width / 2));
    keep.push([f1, pin.diameter / 2 + 2], [f2, pin.diameter / 2 + 2]);
  } else
    for (const h of sections.holes.filter((q) => q.section === k + 1)) {
      out.push(cylinder(`index pin, ${h.slot > 0 ? "far" : "datum"} side`, "index pin", h.along, h.across));
      keep.push([h.along, pin.diameter / 2 + 2]);
    }
  // holes that this section bores
  for (const h of sections.holes.filter((q) => q.section === k + 2)) keep.push([h.along, h.diameter / 2 + HOLDER]);
  out.push(...edgeBlocks());
  const inBed = (s: Solid): boolean => {
    const e = extent({ min: [Infinity, Infinity, 0], max: [-Infinity, -Infinity, 0] }, [s]);
    const ends = (frame.turned ? [e.minY, e.maxY] : [e.minX, e.maxX]).map((v) => v * frame.along);
    return Math.min(...ends) >= bed[0] && Math.max(...ends) <= bed[1];
  };
  const clear = (s: Solid): boolean => {
    if (s.kind !== "cylinder") return true;
    const u = (frame.turned ? s.y : s.x) * frame.along;
    return keep.every(([at, room]) => Math.abs(u - at) > room + s.diameter / 2);
  };
  for (const s of side.holding) if ((s.role === "support" && inBed(s)) || (s.role === "screw" && inBed(s) && clear(s))) out.push(s);
  return out;

  /** Two blocks along each edge, as far apart as bed, wood, pins and holes allow. */
  function edgeBlocks(): Solid[] {
    const blocks: Solid[] = [];
    const { tipFromEnd, centreFromDatum } = plan.placement;
    const shift = tipFromEnd - neck.places.tip;
    const up = upOf(plan);
    for (const edge of ["datum", "far"] as const) {
      const inner = edge === "datum" ? block.grip : width - block.grip;
      const outer = edge === "datum" ? block.grip - block.length : width - block.grip + block.length;
      const rim = edge === "datum" ? -0.5 : width + 0.5;
      for (const room of ROOMS) {
        const free: Mm[] = [];
        for (let u = bed[0] + block.width / 2; u <= Math.min(bed[1], neck.order.blank.length) - block.width / 2; u += 2.5) {
          if (u - block.width / 2 < 0) continue;
          if (keep.some(([at, wide]) => Math.abs(u - at) <= wide + block.width / 2)) continue;
          let gap = Number.POSITIVE_INFINITY;
          for (const du of [-0.5, 0, 0.5]) {
            const y = (inner - centreFromDatum) * up;
            gap = Math.min(gap, signedDistance([outline], u + du * block.width - shift, y));
          }
          if (gap >= room) free.push(u);
        }
        if (free.length === 0 || (free[free.length - 1] - free[0] < 60 && room !== SWATH)) continue;
        const at = free[free.length - 1] - free[0] > block.width + 5 ? [free[0], free[free.length - 1]] : [free[0]];
        at.forEach((u, n) => {
          const name = `block, ${edge} side, ${n + 1}`;
          blocks.push(box(name, u, inner, outer, top, top + block.height));
          blocks.push(box(`${name}, foot`, u, rim, outer, 0, top));
        });
        break;
      }
    }
    return blocks;
  }

  function box(name: string, u: Mm, v0: Mm, v1: Mm, z0: Mm, z1: Mm): Solid {
    const [ax, ay] = frame.xy(u - block.width / 2, v0);
    const [bx, by] = frame.xy(u + block.width / 2, v1);
    return {
      kind: "box",
      name,
      role: "block",
      min: [Math.min(ax, bx), Math.min(ay, by), z0],
      max: [Math.max(ax, bx), Math.max(ay, by), z1],
    };
  }
}

/** From the finished sides: every section is held by blocks at two places at least, and all that holds it lies on the bed. */
export function checkSections(machine: MachineSpec, sides: Holding["sides"], plan: SectionPlan): Finding[] {
  const out: Finding[] = [];
  for (const side of [sides.board, sides.carve])
    for (const s of side.sections ?? []) {
      const where = `${side.name} side, section ${s.number} of ${plan.count}`;
      const noses = s.holding.filter((h) => h.role === "block" && !h.name.endsWith("foot")).length;
      if (noses < 2)
        out.push(
          noSections(
            where,
            noses,
            2,
            "There is no wood for two blocks in this section.",
            "Take a wider blank or a shorter grip (holding.block.grip).",
          ),
        );
      const e = extent(acrossOnly(side), s.holding);
      const [zx, zy] = side.zeroOnBed;
      const over = Math.max(-(e.minX + zx), e.maxX + zx - machine.bed.x, -(e.minY + zy), e.maxY + zy - machine.bed.y);
      if (over > 1e-6)
        out.push(
          noSections(
            where,
            over,
            0,
            `Pins and blocks stand ${r1(over)} mm out over the bed.`,
            "Use shorter blocks, a narrower blank, or a larger machine.",
          ),
        );
    }
  return out;
}
