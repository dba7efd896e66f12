import { flatten } from "../kernel/contour.ts";
import { polygonBounds } from "../kernel/polygon.ts";
import type { Neck } from "../neck/types.ts";
import type { CutterSpec, MachineSpec } from "../spec/types.ts";
import type { Finding, Mm } from "../units/index.ts";
import { BOW_LIMIT, contactsOf, planningForce, worstBow } from "./bow.ts";
import { checkHolding } from "./check.ts";
import { realOf } from "./correct/posting.ts";
import { extent, SWATH } from "./extent.ts";
import { checkGrid, ontoGrid } from "./grid.ts";
import { checkPlaced, putWhereOrdered } from "./placed.ts";
import { checkPlacement } from "./placement/check.ts";
import { checkPress, pressOf } from "./press.ts";
import { withSections } from "./sections/plan.ts";
import { blocks, type InBlank, type Lay, pins, screws, stationsAtLeast, supports } from "./solids.ts";
import { clearOf, outOfTheWay } from "./sweep.ts";
import { compose, QUARTER_TURN } from "./transform.ts";
import type { Holding, Side, Solid, Transform } from "./types.ts";
import { boresOf, noPins, noPinsInSections, turnPins, wastePins } from "./waste-pins.ts";
import { upOf, whereInBlank } from "./where.ts";

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
  const findings: Finding[] = [];
  const inBlank: InBlank = {
    along: (x, y) => cos * x - sin * up * y + ox,
    across: (x, y) => centreFromDatum + sin * x + cos * up * y,
    x: (along, across) => cos * (along - ox) + sin * (across - centreFromDatum),
    y: (along, across) => up * (cos * (across - centreFromDatum) - sin * (along - ox)),
  };
  const waste = (d: Mm): readonly [Mm, Mm] => {
    const [lo, hi] = ([0, 1] as const).map((k) => {
      // the edge's place at this distance from the stop: of a neck askew it lies at another x on each edge
      let y = 0;
      for (let n = 0; n < (rotation === 0 ? 1 : 5); n++) {
        const x = (d - ox + sin * up * y) / cos;
        y = neck.edges(Math.min(neck.places.end - 0.01, Math.max(neck.places.tip, x)))[k];
      }
      return centreFromDatum + (sin * (d - ox) + up * y) / cos;
    });
    return [Math.min(lo, hi), blank.width - Math.max(lo, hi)];
  };
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
    findings,
  };
  const checked = [
    ...checkPlaced(neck, { board: sides.board.holding, carve: sides.carve.holding }),
    ...checkHolding(neck, machine, plan, box),
    ...checkPlacement(neck, machine, plan),
    ...checkPress(neck, machine, sides),
    ...(holding.way === "waste-pins" && through === null ? [noPins(neck, machine)] : []),
  ];
  const whole = withSections(neck, machine, { ...plan, findings: checked });
  if (whole.sections !== undefined && through !== null) return { ...whole, findings: [...whole.findings, noPinsInSections()] };
  // in sections nothing stands over holes, and one sentence says so
  const holes = whole.sections === undefined ? checkGrid(machine, whole.sides, neck.order) : [];
  return holes.length === 0 ? whole : { ...whole, findings: [...whole.findings, ...holes] };
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
  const where = lay.up > 0 ? "the piece lies on the plus side" : "the piece lies on the minus side";
  return {
    name,
    neckToProgram: turn ? compose(QUARTER_TURN, t) : t,
    stock,
    bed: 0,
    holding: laid,
    safeZ: highest + machine.clearance,
    zeroOnBed: zero,
    zeroSays: `X and Y zero ${zeroLines(laid)}, Z zero on the bed; ${where} of ${laid.some((s) => s.role === "fence pin") ? "the fence line" : "the zero's X"}${lift > 0 ? `; under it a waste sheet ${lift} mm thick, flat and fixed, which the cutter marks` : ""}`,
  };
}

/** What the zero is set by: the lines that pins stand on, or places of pins. */
function zeroLines(solids: readonly Solid[]): string {
  const pins = solids.flatMap((s) => (s.role === "index pin" && s.kind === "cylinder" ? [`X ${round(s.x)}, Y ${round(s.y)}`] : []));
  return pins.length === 0
    ? "where the line of the fence pins meets the line of the end stop"
    : `so that the turn pins' middles stand at ${pins.join(" and ")}`;
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
