import type { Box } from "../kernel/contour.ts";
import { flatten } from "../kernel/contour.ts";
import { type Polygon, signedDistance } from "../kernel/polygon.ts";
import type { Neck } from "../neck/types.ts";
import type { MachineSpec } from "../spec/types.ts";
import { type Finding, finding, type Mm } from "../units/index.ts";
import { BOW_LIMIT, contactsOf, planningForce, worstBow } from "./bow.ts";
import { extent, SWATH } from "./extent.ts";
import { pressOf } from "./press.ts";
import { HO } from "./rules.ts";
import { settingsOf } from "./sections/setting.ts";
import { apply, inverse } from "./transform.ts";
import type { Holding, Side, Solid, Transform } from "./types.ts";

const r3 = (v: number): number => Math.round(v * 1000) / 1000;

/** Holding checks, from the finished plan only. `box` bounds the neck's outline in the neck frame. */
export function checkHolding(neck: Neck, machine: MachineSpec, plan: Holding, box: Box): Finding[] {
  return [
    ...checkBlank(neck, plan, box),
    ...checkBed(machine, plan),
    ...checkSolids(neck, plan),
    ...checkTurn(plan),
    ...checkBow(neck, machine, plan),
  ];
}

/** From the supports as they stand, wherever they came from. A board that lies flat on the bed needs none and cannot bow. */
function checkBow(neck: Neck, machine: MachineSpec, plan: Holding): Finding[] {
  // in sections each is checked by itself
  if (plan.sections !== undefined) return [];
  const force = planningForce(machine);
  const bow = worstBow(neck, contactsOf(plan.sides.carve), force);
  if (bow === null || bow.bow < BOW_LIMIT) return [];
  return [
    finding(HO.bow, {
      where: `carve side, x ${Math.round(bow.from)} to ${Math.round(bow.to)} mm from the nut`,
      value: r3(bow.bow),
      limit: BOW_LIMIT,
      unit: "mm",
      says: `Between two supports the turned piece bows ${r3(bow.bow)} mm under ${Math.round(force)} N at ${Math.round(bow.at)} mm from the nut, and is carved that much too thick there.`,
      tryThis: "Put a support between them, or a packing strip under the board's crown there.",
    }),
  ];
}

function checkBlank(neck: Neck, plan: Holding, box: Box): Finding[] {
  const out: Finding[] = [];
  const { blank, board, holding } = neck.order;
  const { stock, neckToProgram } = unturned(plan.sides.board);
  const { xMin: x0, xMax: x1, yMin: y0, yMax: y1 } = outlineIn(neck, neckToProgram, box);
  const sides: [string, Mm, string][] = [
    ["at the headstock's end", x0 - stock.min[0], "blank.length"],
    ["at the body's end", stock.max[0] - x1, "blank.length"],
    ["on the near edge", y0 - stock.min[1], "blank.width"],
    ["on the far edge", stock.max[1] - y1, "blank.width"],
  ];
  const worst = sides.reduce((a, b) => (b[1] < a[1] ? b : a));
  if (!(worst[1] >= blank.margin))
    out.push(
      finding(HO.margin, {
        where: worst[2],
        value: r3(worst[1]),
        limit: blank.margin,
        unit: "mm",
        says: `Between the neck's outline and the blank ${r3(worst[1])} mm of wood remain ${worst[0]}.`,
        tryThis: `The neck is ${r3(box.xMax - box.xMin)} mm long and ${r3(box.yMax - box.yMin)} mm wide: take a larger blank, or move the neck in it (blank.tipFromEnd, blank.centreFromDatum).`,
      }),
    );
  // in sections blocks grip the blank's edges
  const blocked = plan.sections === undefined && (["board", "carve"] as const).some((side) => pressOf(neck, side) === undefined);
  const need = blocked ? holding.block.grip + SWATH : 0;
  const end = Math.min(sides[0][1], sides[1][1]);
  if (end < need && worst[1] >= blank.margin)
    out.push(
      finding(HO.endRoom, {
        where: "blank.length",
        value: r3(end),
        limit: need,
        unit: "mm",
        says: `Beyond the neck's end ${r3(end)} mm of blank are left; the blocks grip ${holding.block.grip} mm and the outline's cutter takes ${SWATH}.`,
        tryThis: "Take a longer blank or a shorter grip (holding.block.grip).",
      }),
    );
  const p = neck.places;
  let deepest = 0;
  for (let x = p.tip + 0.5; x <= p.shaftEnd; x += 1) {
    const z = neck.back(x, 0);
    const [lo, hi] = neck.edges(x);
    for (const v of [z, neck.back(x, lo * 0.99), neck.back(x, hi * 0.99)]) if (v < deepest) deepest = v;
  }
  if (!(blank.shaftThickness >= -deepest + 0.2))
    out.push(
      finding(HO.tooThin, {
        where: "blank.shaftThickness",
        value: blank.shaftThickness,
        limit: r3(-deepest + 0.2),
        unit: "mm",
        says: `The neck reaches ${r3(-deepest)} mm below the glue plane; the shaft's blank is ${blank.shaftThickness} mm thick.`,
        tryThis: "Take a thicker blank, or a thinner heel or headstock.",
      }),
    );
  if (blank.kind === "board-glued" && !(blank.boardThickness >= board.thickness))
    out.push(
      finding(HO.boardThin, {
        where: "blank.boardThickness",
        value: blank.boardThickness,
        limit: board.thickness,
        unit: "mm",
        says: `The finished board is ${board.thickness} mm thick, the one on the blank ${blank.boardThickness} mm.`,
        tryThis: "Glue on a thicker board or order a thinner one.",
      }),
    );
  if (holding.pin.height > plan.blank.thickness)
    out.push(
      finding(HO.pinsHigh, {
        where: "holding.pin.height",
        value: holding.pin.height,
        limit: r3(plan.blank.thickness),
        unit: "mm",
        says: "The fence pins stand higher than the blank.",
        tryThis: "Use lower pins.",
      }),
    );
  const crowned = Number.isFinite(board.radius.nut) || Number.isFinite(board.radius.end);
  if (crowned && !holding.supports)
    out.push(
      finding(HO.rocks, {
        where: "holding.supports",
        value: "no",
        limit: "yes",
        unit: "",
        says: "The turned piece lies on a rounded board without supports.",
        tryThis: "Set holding.supports.",
      }),
    );
  return out;
}

/** Bounds of the neck's outline in a side's frame; `box` bounds it in the neck's own. */
function outlineIn(neck: Neck, t: Side["neckToProgram"], box: Box): Box {
  const askew = Math.min(Math.abs(t[0]), Math.abs(t[1])) > 0;
  const flat = askew ? flatten(neck.outline, 0.01) : Float64Array.of(box.xMin, box.yMin, box.xMax, box.yMax);
  const out = { xMin: Infinity, yMin: Infinity, xMax: -Infinity, yMax: -Infinity };
  for (let k = 0; k < flat.length; k += 2) {
    const [x, y] = apply(t, flat[k], flat[k + 1], 0);
    out.xMin = Math.min(out.xMin, x);
    out.xMax = Math.max(out.xMax, x);
    out.yMin = Math.min(out.yMin, y);
    out.yMax = Math.max(out.yMax, y);
  }
  return out;
}

function checkBed(machine: MachineSpec, plan: Holding): Finding[] {
  const out: Finding[] = [];
  for (const side of [plan.sides.board, plan.sides.carve]) {
    const e = extent(side.stock, side.holding);
    const over = Math.max(e.maxX - e.minX - machine.bed.x, e.maxY - e.minY - machine.bed.y);
    if (over > 0 && side.sections === undefined)
      out.push(
        finding(HO.bed, {
          where: `${side.name} side`,
          value: `${r3(e.maxX - e.minX)} x ${r3(e.maxY - e.minY)}`,
          limit: `${machine.bed.x} x ${machine.bed.y}`,
          unit: "mm",
          says: `Blank, pins and blocks need ${r3(over)} mm more than the bed has.`,
          tryThis: "Lay the neck along the machine's longer axis (machine.along), shorten the blank, or use a larger machine.",
        }),
      );
    if (side.safeZ > machine.travel.z)
      out.push(
        finding(HO.travelZ, {
          where: `${side.name} side`,
          value: r3(side.safeZ),
          limit: machine.travel.z,
          unit: "mm",
          says: `The safe height is ${r3(side.safeZ)} mm above the bed, more than the machine's height travel.`,
          tryThis: "Use lower blocks, a smaller machine.clearance, or a thinner blank.",
        }),
      );
  }
  return out;
}

/** Distance of a solid's ground plan from the outline, sampled along its edge every 2 mm at most. */
export function clearanceOf(s: Solid, side: Pick<Side, "neckToProgram">, outline: Float64Array): Mm {
  const inv = inverse(side.neckToProgram);
  const at = (x: Mm, y: Mm): Mm => {
    const p = apply(inv, x, y, 0);
    return signedDistance([outline], p[0], p[1]);
  };
  if (s.kind === "cylinder") return at(s.x, s.y) - s.diameter / 2;
  const ring: (readonly [Mm, Mm])[] =
    s.kind === "prism"
      ? [...s.points]
      : [
          [s.min[0], s.min[1]],
          [s.max[0], s.min[1]],
          [s.max[0], s.max[1]],
          [s.min[0], s.max[1]],
        ];
  let best = Number.POSITIVE_INFINITY;
  ring.forEach(([x, y], k) => {
    const [u, v] = ring[(k + 1) % ring.length];
    const n = Math.max(1, Math.ceil(Math.hypot(u - x, v - y) / 2));
    for (let i = 0; i < n; i++) best = Math.min(best, at(x + ((u - x) * i) / n, y + ((v - y) * i) / n));
  });
  return best;
}

function checkSolids(neck: Neck, plan: Holding): Finding[] {
  const out: Finding[] = [];
  const outline = flatten(neck.outline, 0.02);
  for (const side of [plan.sides.board, plan.sides.carve]) {
    const settings = settingsOf(side);
    let worst: { s: Solid; v: Mm; says: string } | null = null;
    for (const { holding, says } of settings)
      for (const s of holding) {
        // index pins of sections stand in their holes, which are placed clear of the outline
        if (s.role === "support" || s.role === "fence pin" || s.role === "end stop") continue;
        if (s.role === "index pin" && side.sections !== undefined) continue;
        const v = clearanceOf(s, side, outline);
        if (!worst || v < worst.v) worst = { s, v, says };
      }
    if (worst && worst.v < SWATH - 1e-9)
      out.push(
        finding(HO.inTheWay, {
          where: `${worst.says}, ${worst.s.name}`,
          value: r3(worst.v),
          limit: SWATH,
          unit: "mm",
          says: `${worst.s.name} stands ${r3(worst.v)} mm off the neck's outline.`,
          tryThis: "Take a longer or wider blank, a shorter grip, or move the neck in the blank.",
        }),
      );
    const wanted = neck.order.holding.screw.count * 2;
    const placed = new Set(settings.flatMap((q) => q.holding.filter((s) => s.role === "screw").map((s) => s.name))).size;
    if (placed < wanted)
      out.push(
        finding(HO.screwRoom, {
          where: `${side.name} side`,
          value: placed,
          limit: wanted,
          unit: "",
          says: `${placed} of ${wanted} screws fit into the waste beside the shaft.`,
          tryThis: "Take a wider blank or smaller screw heads, or be content with the blocks at the ends.",
        }),
      );
  }
  return out;
}

/** The datum edge (any two places on it) and the end's line must come to lie on the carve side's own zero lines. */
function checkTurn(plan: Holding): Finding[] {
  const board = unturned(plan.sides.board);
  const carve = unturned(plan.sides.carve);
  const inv = inverse(board.neckToProgram);
  let off = 0;
  for (const x of [0, plan.blank.length]) {
    const p = apply(inv, x, 0, 0);
    off = Math.max(off, Math.abs(apply(carve.neckToProgram, p[0], p[1], p[2])[1]));
  }
  for (const y of [0, plan.blank.width]) {
    const p = apply(inv, 0, y, 0);
    off = Math.max(off, Math.abs(apply(carve.neckToProgram, p[0], p[1], p[2])[0]));
  }
  if (off <= 1e-9) return [];
  return [
    finding(HO.turn, {
      where: "holding.turn",
      value: off,
      limit: 1e-9,
      unit: "mm",
      says: "After turning, the datum edge or the end does not lie on its zero line.",
      tryThis: "This is a fault of the plan itself; do not cut.",
    }),
  ];
}

/** The side in a frame whose x runs along the neck, whatever the machine's long axis. */
export function unturned(side: Side): Pick<Side, "stock" | "neckToProgram"> {
  const t = side.neckToProgram;
  if (Math.abs(t[0]) > 0.5) return side;
  // undo the quarter turn (x, y) -> (-y, x): x' = y, y' = -x
  const back = [t[4], t[5], t[6], t[7], -t[0], -t[1], -t[2], -t[3], t[8], t[9], t[10], t[11]] as const;
  const { min, max } = side.stock;
  return { neckToProgram: back, stock: { min: [min[1], -max[0], min[2]], max: [max[1], -min[0], max[2]] } };
}

/** A side as the cuts see it: x exactly along the neck. What turns that frame to the side's own (unturned) one is `turn`, about the zero. */
export interface AlongNeck {
  /** Signs and shifts only. */
  readonly neckToFrame: Transform;
  /** The blank's corners, counter-clockwise, and the box around them. */
  readonly blank: Polygon;
  readonly stock: Side["stock"];
  readonly turn: { readonly cos: number; readonly sin: number };
}

/** Takes the turn of a neck that lies askew in its blank out of a side. */
export function alongNeck(side: Side): AlongNeck {
  const { neckToProgram: t, stock } = unturned(side);
  const { min, max } = stock;
  const sx = t[0] < 0 ? -1 : 1;
  const [cos, sin] = [sx * t[0], sx * t[4]];
  if (sin === 0) {
    const blank = Float64Array.of(min[0], min[1], max[0], min[1], max[0], max[1], min[0], max[1]);
    return { neckToFrame: t, blank, stock, turn: { cos: 1, sin: 0 } };
  }
  const x = (px: Mm, py: Mm): Mm => cos * px + sin * py;
  const y = (px: Mm, py: Mm): Mm => cos * py - sin * px;
  const sy = y(t[1], t[5]) < 0 ? -1 : 1;
  const corners = [
    [min[0], min[1]],
    [max[0], min[1]],
    [max[0], max[1]],
    [min[0], max[1]],
  ].map(([px, py]) => [x(px, py), y(px, py)] as const);
  const [xs, ys] = [corners.map((c) => c[0]), corners.map((c) => c[1])];
  return {
    neckToFrame: [sx, 0, 0, x(t[3], t[7]), 0, sy, 0, y(t[3], t[7]), 0, 0, t[10], t[11]],
    blank: Float64Array.from(corners.flat()),
    stock: { min: [Math.min(...xs), Math.min(...ys), min[2]], max: [Math.max(...xs), Math.max(...ys), max[2]] },
    turn: { cos, sin },
  };
}
