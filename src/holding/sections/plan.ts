import { flatten } from "../../kernel/contour.ts";
import type { Neck } from "../../neck/types.ts";
import type { MachineSpec } from "../../spec/types.ts";
import { type Finding, finding, type Mm, radToDeg } from "../../units/index.ts";
import { BOW_LIMIT, contactsOf, planningForce, worstBow } from "../bow.ts";
import { extent, SWATH } from "../extent.ts";
import { HO } from "../rules.ts";
import type { Holding, Side } from "../types.ts";
import { pinPlay, seamBudget } from "./budget.ts";
import { checkCombined } from "./combine.ts";
import { keptWhole, seamCost, slopesAt } from "./cost.ts";
import { chooseSeams } from "./seams.ts";
import { moved, settingOf } from "./setting.ts";
import { blankFrame, INSIDE, type Reach, solidsOf, upOf } from "./solids.ts";
import type { IndexHole, SectionPlan, SideSection } from "./types.ts";

/** Finished surfaces run over a seam by this much; roughing so much more, so that finishing never meets full wood. */
const OVERLAP: Mm = 5;
const ROUGH_MORE: Mm = 2;
/** Wood between an index hole and the blank's edge, and between a hole and what a cutter sweeps in the section before. */
const WALL: Mm = 5;
const BEYOND: Mm = 5;
/** The slotted index hole is so much longer than its pin: the blank's width may move with the weather. */
const SLOT: Mm = 2;
const GRID: Mm = 0.5;
const MOST_SEAMS = 5;

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
  const { rotation } = plan.placement;
  if (rotation !== undefined) {
    const says = "The neck is turned in its blank and longer than the bed; sections are planned for a neck along the datum edge only.";
    const tryThis = "Plane a new datum edge at that angle, so that the neck lies along it, and give the blank as it is then.";
    const askew = { where: "blank.rotation", value: r1(radToDeg(rotation)), limit: 0, unit: "deg", says, tryThis };
    return { ...plan, findings: [...plan.findings, finding(HO.askew, askew)] };
  }
  const made = planSections(neck, machine, plan);
  const others = plan.findings.filter((f) => f.rule !== HO.bed.id);
  if (made.plan === null) return { ...plan, findings: [...plan.findings, ...made.findings] };
  const sides = { board: sideOf(neck, machine, plan, made.plan, "board"), carve: sideOf(neck, machine, plan, made.plan, "carve") };
  return {
    ...plan,
    sides,
    sections: made.plan,
    findings: [...others, ...made.findings, ...checkSections(neck, machine, sides, made.plan), ...checkCombined(neck, machine, plan.sides)],
  };
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

/** From the finished sides: every section is held by blocks at two places at least, and all that holds it lies on the bed. */
export function checkSections(neck: Neck, machine: MachineSpec, sides: Holding["sides"], plan: SectionPlan): Finding[] {
  const out: Finding[] = [];
  for (const s of neck.order.holding.supports ? (sides.carve.sections ?? []) : []) {
    const contacts = contactsOf({ holding: settingOf(sides.carve, s.number).holding, neckToProgram: sides.carve.neckToProgram });
    const force = planningForce(machine);
    const bow = worstBow(neck, contacts, force);
    if (bow === null || bow.bow < BOW_LIMIT) continue;
    out.push(
      finding(HO.bow, {
        where: `carve side, section ${s.number} of ${plan.count}`,
        value: Math.round(bow.bow * 1000) / 1000,
        limit: BOW_LIMIT,
        unit: "mm",
        says: `Between two supports the turned piece bows ${bow.bow.toFixed(3)} mm under ${Math.round(force)} N at ${Math.round(bow.at)} mm from the nut, and is carved that much too thick there.`,
        tryThis: "Lay a strip under it there by hand, or cut with less depth.",
      }),
    );
  }
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
