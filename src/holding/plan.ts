import { flatten } from "../kernel/contour.ts";
import { polygonBounds } from "../kernel/polygon.ts";
import type { Neck } from "../neck/types.ts";
import type { CutterSpec, MachineSpec } from "../spec/types.ts";
import type { Mm } from "../units/index.ts";
import { BOW_LIMIT, contactsOf, planningForce, worstBow } from "./bow.ts";
import { checkHolding } from "./check.ts";
import { realOf } from "./correct/posting.ts";
import { extent, SWATH } from "./extent.ts";
import { checkGrid, ontoGrid } from "./grid.ts";
import { checkPlaced, putWhereOrdered } from "./placed.ts";
import { checkPlacement } from "./placement/check.ts";
import { checkPress, pressOf } from "./press.ts";
import { withSections } from "./sections/plan.ts";
import { settingsOf } from "./sections/setting.ts";
import { blocks, type InBlank, type Lay, pins, screws, stationsAtLeast, supports } from "./solids.ts";
import { clearOf, outOfTheWay } from "./sweep.ts";
import { compose, QUARTER_TURN } from "./transform.ts";
import type { Holding, Side, SideName, Solid, Transform } from "./types.ts";
import { boresOf, noPins, turnPins, wastePins } from "./waste-pins.ts";
import { inBlankOf, upOf, wasteOf, whereInBlank } from "./where.ts";
import { zeroSaysOf } from "./zero-says.ts";

/**
 * Plans both sides at once. The blank lies with its planed datum edge on two fence pins and its headstock end on a stop;
 * turned, the same edge lies on a second pair of pins and the same end on the stop, so neither the blank's width nor its
 * length enters: only its two faces and that edge. z = 0 is the bed on both sides. With the shop's cutters, what would stand in the way of
 * one of them is placed elsewhere.
 */
export function planHolding(neck: Neck, machine: MachineSpec, cutters: readonly CutterSpec[] = []): Holding {
  const { blank, holding } = neck.order;
  const thickness = blank.shaftThickness + blank.boardThickness;
  // a bare shaft lies turned on its glue plane: a waste sheet under it lets the cutter reach past its edges
  const lift = blank.kind === "shaft-alone" ? WASTE_SHEET : 0;
  const box = polygonBounds(flatten(neck.outline, 0.01));
  const up = upOf(neck);
  const placement = whereInBlank(neck, box);
  const { tipFromEnd, centreFromDatum, rotation = 0 } = placement;
  const [cos, sin] = [Math.cos(rotation), Math.sin(rotation)];
  const ox = tipFromEnd - neck.places.tip;
  // board side: datum edge at y' = 0; the blank lies at y' > 0 when the datum edge is the -y side
  const lean = up * sin + 0;
  const boardT: Transform = [cos, -lean + 0, 0, ox, lean, cos, 0, up * centreFromDatum, 0, 0, 1, blank.shaftThickness];
  const aboutX = holding.turn === "x";
  const carveT: Transform = aboutX
    ? [cos, -lean + 0, 0, ox, -lean + 0, -cos, 0, -up * centreFromDatum, 0, 0, -1, blank.boardThickness + lift]
    : [-cos, lean, 0, -ox, lean, cos, 0, up * centreFromDatum, 0, 0, -1, blank.boardThickness + lift];
  const lay = (side: "board" | "carve"): Lay => ({
    length: blank.length,
    width: blank.width,
    thickness: thickness + (side === "carve" ? lift : 0),
    up: side === "board" || !aboutX ? up : (-up as 1 | -1),
    along: side === "board" || aboutX ? 1 : -1,
  });
  const inBlank = inBlankOf(neck, placement);
  const waste = wasteOf(neck, placement);
  const through = holding.way === "waste-pins" ? wastePins(neck, machine, inBlank) : null;
  const make = (name: "board" | "carve", t: Transform): Side => {
    const l = lay(name);
    const solids: Solid[] = [
      ...(name === "carve" && through !== null ? turnPins(neck, l, through, lift) : pins(neck, l)),
      ...(pressOf(neck, name) === undefined ? blocks(neck, l) : []),
      ...screws(neck, l, waste, inBlank.along(60, 0), inBlank.along(neck.places.carveEnd - 20, 0), SWATH),
    ];
    if (name === "carve" && holding.supports) solids.push(...carveSupports(neck, machine, t, l, inBlank, blank.boardThickness + lift));
    const real = realOf(machine, neck.order.corrections, name);
    const bores = name === "board" && through !== null ? boresOf(through, inBlank) : [];
    const put = outOfTheWay(neck, name, putWhereOrdered(neck, name, solids, l), l, t, cutters, bores);
    const onGrid =
      machine.grid === undefined
        ? { solids: put }
        : ontoGrid(neck, machine, put, l, t, clearOf(neck, name, l.thickness, t, cutters, bores));
    return {
      ...layOnBed(name, t, l, onGrid, machine, name === "carve" ? lift : 0),
      ...(real === undefined ? {} : { real }),
      ...(bores.length > 0 ? { bores } : {}),
    };
  };
  const sides = { board: make("board", boardT), carve: make("carve", carveT) };
  const plan: Holding = {
    blank: { length: blank.length, width: blank.width, thickness, boardThickness: blank.boardThickness },
    placement,
    sides,
    findings: [],
  };
  const { plan: whole, findings } = withSections(neck, machine, plan, cutters);
  const all = (name: SideName): readonly Solid[] => settingsOf(whole.sides[name]).flatMap((q) => q.holding);
  return {
    ...whole,
    findings: [
      ...checkPlaced(neck, { board: all("board"), carve: all("carve") }),
      ...checkHolding(neck, machine, whole, box),
      ...checkPlacement(neck, machine, whole),
      ...checkPress(neck, machine, whole.sides),
      ...(holding.way === "waste-pins" && through === null && whole.sections === undefined ? [noPins(neck, machine)] : []),
      ...findings,
      // where sections found no places the plan is not the one that would stand over the holes
      ...(whole.sections !== undefined || findings.length === 0 ? checkGrid(machine, whole.sides, neck.order) : []),
    ],
  };
}

/** Thickness of the waste sheet under a bare shaft that lies on its glue plane: the largest round-nosed cutter's radius and some air. */
const WASTE_SHEET: Mm = 8;

/** Most stations of strips that are tried. */
const MOST_STATIONS = 12;

/** As few supports as keep the turned piece's bow under the force the machine is planned for below its limit. */
export function carveSupports(neck: Neck, machine: MachineSpec, t: Transform, lay: Lay, inBlank: InBlank, gap: Mm): Solid[] {
  const force = planningForce(machine);
  for (let n = stationsAtLeast(neck); ; n++) {
    const made = supports(neck, lay, inBlank, gap, n);
    const bow = worstBow(neck, contactsOf({ holding: made, neckToProgram: t }), force);
    if (bow === null || bow.bow < BOW_LIMIT || n >= MOST_STATIONS) return made;
  }
}

/** Turns the side's own frame to the machine's long axis and says where its zero lies on the bed. */
function layOnBed(
  name: "board" | "carve",
  t: Transform,
  lay: Lay,
  { solids, zero: asked }: { readonly solids: readonly Solid[]; readonly zero?: readonly [Mm, Mm] },
  machine: MachineSpec,
  lift: Mm,
): Side {
  const turn = machine.along === "y";
  const stockMin: [Mm, Mm, Mm] = [lay.along > 0 ? 0 : -lay.length, lay.up > 0 ? 0 : -lay.width, lift];
  const stockMax: [Mm, Mm, Mm] = [lay.along > 0 ? lay.length : 0, lay.up > 0 ? lay.width : 0, lay.thickness];
  const stock = turn ? turnBox(stockMin, stockMax) : { min: stockMin, max: stockMax };
  const laid = turn ? solids.map(turnSolid) : solids;
  const ext = extent(stock, laid);
  const highest = Math.max(lay.thickness, ...laid.map((s) => (s.kind === "box" ? s.max[2] : s.zMax)));
  const zero: readonly [Mm, Mm] = asked ?? [
    round((machine.bed.x - (ext.maxX - ext.minX)) / 2 - ext.minX),
    round((machine.bed.y - (ext.maxY - ext.minY)) / 2 - ext.minY),
  ];
  return {
    name,
    neckToProgram: turn ? compose(QUARTER_TURN, t) : t,
    stock,
    bed: 0,
    holding: laid,
    safeZ: highest + machine.clearance,
    zeroOnBed: zero,
    zeroSays: zeroSaysOf(laid, lay.up, lift),
  };
}

const round = (v: number): number => Math.round(v * 10) / 10;

function turnBox(min: readonly [Mm, Mm, Mm], max: readonly [Mm, Mm, Mm]): Side["stock"] {
  return { min: [-max[1] + 0, min[0], min[2]], max: [-min[1] + 0, max[0], max[2]] };
}

function turnSolid(s: Solid): Solid {
  if (s.kind === "box") return { ...s, ...turnBox(s.min, s.max) };
  if (s.kind === "cylinder") return { ...s, x: -s.y + 0, y: s.x };
  return { ...s, points: s.points.map(([x, y]) => [-y, x] as const) };
}
