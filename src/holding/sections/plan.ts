import { flatten } from "../../kernel/contour.ts";
import type { Neck } from "../../neck/types.ts";
import type { CutterSpec, MachineSpec } from "../../spec/types.ts";
import { type Finding, finding, type Mm } from "../../units/index.ts";
import { CLEAR, extent } from "../extent.ts";
import { HO } from "../rules.ts";
import { gapOf, waysOf } from "../sweep.ts";
import type { Holding, Side, SideName } from "../types.ts";
import { zeroSaysOf } from "../zero-says.ts";
import { acrossOnly, checkSections } from "./check.ts";
import { planSections } from "./places.ts";
import { checkPut, nowhere } from "./put.ts";
import { blankFrame, latticeOf, type Reach, reachOf, zeroAcross } from "./reach.ts";
import { moved } from "./setting.ts";
import { bedIn, pinsIn, solidsOf } from "./solids.ts";
import type { SectionPlan, SideSection } from "./types.ts";

/**
 * The plan as it is, or in sections when blank and blocks are longer than the bed: the sides then carry them. Where even sections fail the
 * plan stays as it was, with what failed. Findings of the sections alone are given; what holds for any plan is checked by its own rules.
 */
export function withSections(
  neck: Neck,
  machine: MachineSpec,
  plan: Holding,
  cutters: readonly CutterSpec[] = [],
): { readonly plan: Holding; readonly findings: readonly Finding[] } {
  const short = (["board", "carve"] as const).some((name) => {
    const e = extent(plan.sides[name].stock, plan.sides[name].holding);
    const size = machine.along === "x" ? e.maxX - e.minX : e.maxY - e.minY;
    return size > machine.bed[machine.along];
  });
  if (!short || machine.sections === false) return { plan, findings: [] };
  const reach = reachOf(neck, machine, plan);
  if (reach === null) return { plan, findings: [noColumn(machine)] };
  const made = planSections(neck, machine, plan, reach);
  if (made.plan === null) return { plan, findings: made.findings };
  const sections = made.plan;
  const side = (name: SideName): Side => sideOf(neck, machine, plan, sections, reach, name, cutters);
  const sides = { board: side("board"), carve: side("carve") };
  const bedOf = (name: SideName, number: number): readonly [Mm, Mm] => bedIn(reach, shiftIn(neck, machine, sections, name, number - 1)[0]);
  return {
    plan: { ...plan, sides, sections },
    findings: [
      ...made.findings,
      ...checkSections(neck, machine, sides, sections),
      ...checkPut(neck, sides, bedOf, machine.grid?.pitch),
      ...(["board", "carve"] as const).flatMap((name) => nowhere(neck, plan.sides[name].holding, sides[name])),
    ],
  };
}

const noColumn = (machine: MachineSpec): Finding =>
  finding(HO.noHole, {
    where: "machine.grid",
    value: machine.grid?.pitch ?? null,
    limit: null,
    unit: "mm",
    says: "The neck is cut in sections, and no column of the bed's holes has room for the end stop within the travel.",
    tryThis: "Look at machine.grid.first and machine.grid.pitch, or lay a sub-plate on the bed and leave the grid out of the shop.",
  });

/**
 * How a section's blank lies, against section 1 of a side that lies on fence pins: shifted along toward the headstock, and across. Turned
 * onto pins over a grid's holes, the first section is shifted too, until its holes stand over columns and rows.
 */
function shiftIn(neck: Neck, machine: MachineSpec, sections: SectionPlan, name: SideName, k: number): readonly [Mm, Mm] {
  if (k > 0) return [sections.shifts[k], sections.aside?.[k] ?? 0];
  const [pin] = pinsIn(neck, { name }, sections, 0);
  if (pin === undefined || machine.grid === undefined) return [0, 0];
  const { pitch } = machine.grid;
  const r = pin.diameter / 2;
  return [pin.along + r - pitch * Math.floor((pin.along + r) / pitch + 1e-9), sections.aside?.[1] ?? 0];
}

/** The side with what holds it in each section; its own holding is section 1's. */
function sideOf(
  neck: Neck,
  machine: MachineSpec,
  plan: Holding,
  sections: SectionPlan,
  reach: Reach,
  name: SideName,
  cutters: readonly CutterSpec[],
): Side {
  // holes for turn pins are those of the sections
  const { bores: _, ...side } = plan.sides[name];
  const frame = blankFrame(side);
  const outline = flatten(neck.outline, 0.02);
  const ways = waysOf(neck, cutters, name, side.neckToProgram, side.stock.max[2]);
  const made = sections.shifts.map((_, k): SideSection => {
    const shift = shiftIn(neck, machine, sections, name, k);
    const whole = solidsOf(neck, plan, side, sections, {
      k,
      shift,
      lattice: latticeOf(neck, machine, side, reach, shift),
      reach,
      outline,
      clear: (parts) => parts.every((s) => gapOf(s, side.neckToProgram, ways) >= CLEAR),
    });
    const [dx, dy] = frame.xy(...shift);
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
  const acrossAxis = frame.turned ? "x" : "y";
  const [lo, hi] = frame.turned ? [e.minX, e.maxX] : [e.minY, e.maxY];
  const acrossZero = zeroAcross(neck, machine, side) ?? Math.round(((machine.bed[acrossAxis] - (hi - lo)) / 2 - lo) * 10) / 10;
  const alongZero = reach.zero[name];
  const [first] = made;
  const onPins = first.holding.some((s) => s.role === "index pin");
  const says = onPins ? zeroSaysOf(first.holding, frame.up, side.stock.min[2], "the index pins' middles of section 1") : side.zeroSays;
  return {
    ...side,
    holding: first.holding.map((s) => moved(s, ...first.shift)),
    sections: made,
    zeroOnBed: frame.turned ? [acrossZero, alongZero] : [alongZero, acrossZero],
    zeroSays: `${says}; the zero stays where it is in all sections`,
  };
}
