import { checkConditions, checkCutter } from "../cutting/check.ts";
import { conditionsFor } from "../cutting/conditions.ts";
import { feedsAlong } from "../cutting/feeds-along.ts";
import type { Conditions, Cutter, Machine } from "../cutting/types.ts";
import { moved } from "../holding/sections/setting.ts";
import type { Holding, Side, SideName, Solid } from "../holding/types.ts";
import { MoveBuilder, type MoveList } from "../kernel/moves.ts";
import type { ForceModel } from "../materials/cutting-force.ts";
import { fitClearance, limitsOf } from "../materials/fits.ts";
import { type Finding, finding, type Mm } from "../units/index.ts";
import { PA } from "./rules.ts";
import { bore } from "./strategies/bore.ts";

/*
 * The location plate: sheet stock with a hole for every pin of both sides. Both sides' pieces lie on the same ground: the carve side's zero is
 * set off so that the turned blank covers the place where the blank lay before. Pins of the side that is not being cut are pulled.
 *
 *     o        o  carve side's fence pins          + carve zero
 *   o [        blank, either side        ]         o: end stop (one hole where both sides' stops fall together)
 *     o        o  board side's fence pins          + board zero
 *
 * The plate's own programs count from its lower left corner, z from the bed that the plate lies on.
 */

/** Wood between the pins and the plate's edge; at the two ends also the blocks that hold the plate, and air beside them. */
const RIM: Mm = 20;
const GRIP: Mm = 15;
const AIR: Mm = 25;
const BLOCK: Mm = 12;
/** Left under a pin hole. */
const FLOOR: Mm = 2;
/** Depth of the lines that mark zeros and supports. */
const MARK: Mm = 0.3;
/** Half of a zero's cross. */
const CROSS: Mm = 10;
/** Fibreboard, kg/m3 (common practice, no source). */
const SHEET_DENSITY = 750;

export interface JigAsk {
  readonly holding: Holding;
  readonly machine: Machine;
  readonly cutters: readonly Cutter[];
  readonly coefficients?: ForceModel;
  /** ISO 286 zones of hole and pin, like H7 and h6. */
  readonly hole: string;
  readonly pin: string;
  /** Length along the neck, width across, thickness. Length and width absent: as small as can be. */
  readonly sheet: { readonly length?: Mm; readonly width?: Mm; readonly thickness: Mm };
  /** Number of the cutter for the holes; absent: the widest that fits. */
  readonly cutter?: number;
}

export interface JigHole {
  readonly id: string;
  /** Who stands in it, and on which sides. */
  readonly says: string;
  readonly sides: readonly SideName[];
  readonly x: Mm;
  readonly y: Mm;
  readonly nominal: Mm;
  /** As programmed: middle of the zone, and the cutter's own allowance. */
  readonly diameter: Mm;
  readonly zFloor: Mm;
}

/** A closed line (a support's place) or two lines that cross (a zero), on the plate's face. */
export interface JigMark {
  readonly id: string;
  readonly lines: readonly (readonly (readonly [Mm, Mm])[])[];
}

/** One program of the plate. */
export interface JigCut {
  readonly id: "holes" | "marks";
  readonly title: string;
  readonly cutter: Cutter;
  readonly conditions: Conditions;
  readonly moves: MoveList;
}

export interface Jig {
  readonly plate: readonly [Mm, Mm, Mm];
  readonly stock: Side["stock"];
  readonly holding: readonly Solid[];
  readonly safeZ: Mm;
  /** Both sides' program zeros on the plate. */
  readonly zeros: Readonly<Record<SideName, readonly [Mm, Mm]>>;
  /** Where the blank lies, the same ground for both sides. */
  readonly blank: { readonly min: readonly [Mm, Mm]; readonly max: readonly [Mm, Mm] };
  readonly holes: readonly JigHole[];
  readonly marks: readonly JigMark[];
  /** Limits of the hole's diameter, the allowance added to its middle, and the clearance to a pin of the zone asked for. */
  readonly fit: {
    readonly least: Mm;
    readonly most: Mm;
    readonly allowance: Mm;
    readonly clearance: { readonly min: Mm; readonly max: Mm };
  };
  readonly cuts: readonly JigCut[];
  readonly findings: readonly Finding[];
}

const r3 = (v: number): number => Math.round(v * 1000) / 1000;

/** Lays out and plans the plate. Throws a RangeError for numbers that make none, in words for the person who gave them. */
export function planJig(ask: JigAsk): Jig {
  const { holding, machine } = ask;
  if (holding.sections !== undefined) throw new RangeError("the neck is cut in sections; a plate for index pins is not planned yet");
  const { board, carve } = holding.sides;
  const pinsOf = (s: Side): Extract<Solid, { kind: "cylinder" }>[] =>
    s.holding.filter((h) => h.kind === "cylinder" && (h.role === "fence pin" || h.role === "end stop" || h.role === "index pin")) as never;
  const nominal = pinsOf(board)[0]?.diameter;
  if (nominal === undefined) throw new RangeError("this way of holding has no pins");
  const row = limitsOf(nominal, ask.hole);
  const clearance = fitClearance(nominal, ask.hole, ask.pin);
  if (row === undefined || clearance === undefined)
    throw new RangeError(
      `no published limits at hand for ${ask.hole}/${ask.pin} at ${nominal} mm: 10 mm pins and H7 with h6 or m6 have them`,
    );

  // plate from the ground that blank and pins of both sides take, in the board side's frame
  const set: readonly [Mm, Mm] = [board.stock.min[0] - carve.stock.min[0], board.stock.min[1] - carve.stock.min[1]];
  const placed = [
    ...pinsOf(board).map((p) => ({ side: "board" as const, name: p.name, x: p.x, y: p.y })),
    ...pinsOf(carve).map((p) => ({ side: "carve" as const, name: p.name, x: p.x + set[0], y: p.y + set[1] })),
  ];
  const r = nominal / 2;
  const xs = [board.stock.min[0], board.stock.max[0], ...placed.flatMap((p) => [p.x - r, p.x + r])];
  const ys = [board.stock.min[1], board.stock.max[1], ...placed.flatMap((p) => [p.y - r, p.y + r])];
  const alongX = machine.along === "x";
  const rim = (along: boolean): Mm => (along ? GRIP + AIR : RIM);
  const [mx, my] = [rim(alongX), rim(!alongX)];
  const need: readonly [Mm, Mm] = [
    Math.ceil(Math.max(...xs) - Math.min(...xs) + 2 * mx),
    Math.ceil(Math.max(...ys) - Math.min(...ys) + 2 * my),
  ];
  const given = alongX ? [ask.sheet.length, ask.sheet.width] : [ask.sheet.width, ask.sheet.length];
  const size = need.map((n, k) => given[k] ?? n) as [Mm, Mm];
  size.forEach((s, k) => {
    if (s < need[k]!)
      throw new RangeError(`the sheet is ${s} mm ${k === (alongX ? 0 : 1) ? "long" : "wide"}; this plate needs ${need[k]} mm`);
  });
  const thick = ask.sheet.thickness;
  const depth = Math.min(thick - FLOOR, 1.2 * nominal);
  if (!(depth >= 0.8 * nominal))
    throw new RangeError(`a sheet of ${thick} mm holds no pin of ${nominal} mm upright: ${Math.ceil(0.8 * nominal + FLOOR)} mm at least`);
  // to whole tenths, so that a maker can check the plate with a rule
  const shift: readonly [Mm, Mm] = [Math.ceil(mx - Math.min(...xs)), Math.ceil(my - Math.min(...ys))];
  const onPlate = (x: Mm, y: Mm): readonly [Mm, Mm] => [x + shift[0], y + shift[1]];

  const cutter = holeCutter(ask, nominal, depth);
  const allowance = cutter.recess?.allowance ?? 0;
  const least = nominal + row.lower / 1000;
  const most = nominal + row.upper / 1000;
  const diameter = (least + most) / 2 + allowance;
  const holes: JigHole[] = [];
  for (const p of placed) {
    const [x, y] = onPlate(p.x, p.y);
    const same = holes.findIndex((h) => Math.hypot(h.x - x, h.y - y) < 1e-9);
    if (same >= 0) {
      const h = holes[same]!;
      holes[same] = { ...h, sides: [...h.sides, p.side], says: `${p.name}, both sides` };
      continue;
    }
    const near = holes.find((h) => Math.hypot(h.x - x, h.y - y) < nominal + 3);
    if (near !== undefined)
      throw new RangeError(
        `the holes of ${near.says} and of ${p.name}, ${p.side} side, stand ${r3(Math.hypot(near.x - x, near.y - y))} mm apart`,
      );
    holes.push({
      id: `hole-${holes.length + 1}`,
      says: `${p.name}, ${p.side} side`,
      sides: [p.side],
      x,
      y,
      nominal,
      diameter,
      zFloor: thick - depth,
    });
  }

  const zeros = { board: onPlate(0, 0), carve: onPlate(set[0], set[1]) };
  const marks: JigMark[] = (["board", "carve"] as const).map((side) => {
    const [x, y] = zeros[side];
    return {
      id: `zero-${side}`,
      lines: [
        [
          [x - CROSS, y],
          [x + CROSS, y],
        ],
        [
          [x, y - CROSS],
          [x, y + CROSS],
        ],
      ],
    };
  });
  for (const s of carve.holding) {
    if (s.role !== "support" || s.kind !== "box") continue;
    const [x0, y0] = onPlate(s.min[0] + set[0], s.min[1] + set[1]);
    const [x1, y1] = onPlate(s.max[0] + set[0], s.max[1] + set[1]);
    const ring = [
      [x0, y0],
      [x1, y0],
      [x1, y1],
      [x0, y1],
      [x0, y0],
    ] as const;
    marks.push({ id: s.name, lines: [ring] });
  }

  const place = (u: Mm, v: Mm): readonly [Mm, Mm] => (alongX ? [u, v] : [v, u]);
  const [long, wide] = alongX ? size : [size[1], size[0]];
  const block = (name: string, u0: Mm, u1: Mm): Solid => ({
    kind: "box",
    min: [...place(u0, 0), thick],
    max: [...place(u1, wide), thick + BLOCK],
    name,
    role: "block",
  });
  const blocks = [block("block at the near end", -25, GRIP), block("block at the far end", long - GRIP, long + 25)];
  const safeZ = thick + BLOCK + machine.clearance;

  const wood = ask.coefficients ? { model: ask.coefficients } : {};
  const conditions = conditionsFor(cutter, machine, SHEET_DENSITY, { step: cutter.diameter, kind: "slot", wood });
  const motion = (c: Conditions) => ({ feed: c.feed, ramp: c.ramp, plunge: c.plunge, safeZ, approachZ: thick + machine.approach });
  const b = new MoveBuilder([holes[0]!.x, holes[0]!.y, safeZ]);
  for (const h of holes)
    bore(
      b,
      h.x,
      h.y,
      { diameter: h.diameter, zTop: thick, zBottom: h.zFloor },
      { ...motion(conditions), cutterDiameter: cutter.diameter, depth: Math.min(conditions.depth, cutter.diameter / 2) },
    );
  const along = (m: MoveList, c: Conditions): MoveList => feedsAlong(m, { acceleration: machine.acceleration, plunge: c.plunge });
  const cuts: JigCut[] = [{ id: "holes", title: "Pin holes", cutter, conditions, moves: along(b.list(), conditions) }];
  const findings: Finding[] = [
    ...checkCutter(cutter),
    ...checkConditions(cutter, machine, conditions, { where: "pin holes", kind: "slot", depthBelowTop: depth, recess: diameter }),
  ];

  const pen = markCutter(ask.cutters);
  if (pen !== null) {
    const c = conditionsFor(pen, machine, SHEET_DENSITY, { step: 2 * MARK, depth: MARK, kind: "slot", wood });
    const first = marks[0]!.lines[0]![0]!;
    const m = new MoveBuilder([...first, safeZ]);
    for (const line of marks.flatMap((k) => k.lines)) {
      const [x, y] = line[0]!;
      m.rapid(x, y, safeZ);
      m.rapid(x, y, thick + machine.approach);
      m.lineTo(x, y, thick - MARK, c.plunge);
      for (const [u, v] of line.slice(1)) m.lineTo(u, v, thick - MARK, c.feed);
      m.rapid(line.at(-1)![0], line.at(-1)![1], safeZ);
    }
    cuts.push({ id: "marks", title: "Zero marks and places of supports", cutter: pen, conditions: c, moves: along(m.list(), c) });
    findings.push(...checkCutter(pen));
  } else {
    findings.push(
      finding(PA.jigMarks, {
        where: "location plate",
        value: 0,
        limit: 1,
        unit: "",
        says: "The shop has no vee cutter: zeros and places of supports are not marked on the plate.",
        tryThis: "Mark them by hand from the drawing, or add a vee cutter to the shop.",
      }),
    );
  }
  const band = most - least;
  if (band < 2 * machine.repeat)
    findings.push(
      finding(PA.jigFit, {
        where: `pin holes, ${nominal} ${ask.hole}`,
        value: r3(band),
        limit: r3(2 * machine.repeat),
        unit: "mm",
        says: `${nominal} ${ask.hole} leaves ${r3(band)} mm between its limits; the machine repeats to ${machine.repeat} mm.`,
        tryThis:
          "Bore one hole in scrap of the same sheet first and try the pin; store the cutter's allowance with the coupon command, or ream the holes.",
      }),
    );
  const high = Math.max(board.safeZ, carve.safeZ) + thick;
  if (high > machine.travel.z)
    findings.push(
      finding(PA.outsideTravel, {
        where: "location plate",
        value: r3(high),
        limit: machine.travel.z,
        unit: "mm",
        says: "On the plate the neck's programs travel higher than the machine can.",
        tryThis: "Take a thinner sheet, or bore the holes straight into the bed's spoil board by the drawing.",
      }),
    );
  const [bx, by] = place(long + 50, wide);
  if (bx > machine.bed.x || by > machine.bed.y)
    findings.push(
      finding(PA.outsideTravel, {
        where: "location plate",
        value: bx > machine.bed.x ? bx : by,
        limit: bx > machine.bed.x ? machine.bed.x : machine.bed.y,
        unit: "mm",
        says: "The plate with the blocks that hold it does not lie on the bed.",
        tryThis: "Order a shorter blank, or bore the holes straight into the bed's spoil board by the drawing.",
      }),
    );
  return {
    plate: [size[0], size[1], thick],
    stock: { min: [0, 0, 0], max: [size[0], size[1], thick] },
    holding: blocks,
    safeZ,
    zeros,
    blank: { min: onPlate(board.stock.min[0], board.stock.min[1]), max: onPlate(board.stock.max[0], board.stock.max[1]) },
    holes,
    marks: pen === null ? [] : marks,
    fit: { least, most, allowance, clearance },
    cuts,
    findings,
  };
}

/** The flat cutter asked for, or the widest that can spiral into the hole and reach its floor. */
function holeCutter(ask: JigAsk, nominal: Mm, depth: Mm): Cutter {
  const fits = (c: Cutter): boolean =>
    c.shape === "flat" && c.diameter <= 0.85 * nominal && c.diameter >= nominal / 2 && c.fluteLength >= depth && c.reach >= depth + BLOCK;
  if (ask.cutter !== undefined) {
    const c = ask.cutters.find((q) => q.number === ask.cutter);
    if (c === undefined) throw new RangeError(`the shop has no cutter ${ask.cutter}`);
    if (!fits(c))
      throw new RangeError(
        `cutter ${c.number} cannot bore ${nominal} mm holes ${depth} mm deep: a flat cutter of ${nominal / 2} to ${0.85 * nominal} mm is needed, with flutes of ${depth} mm`,
      );
    return c;
  }
  const best = ask.cutters.filter(fits).sort((a, b) => b.diameter - a.diameter)[0];
  if (best === undefined)
    throw new RangeError(
      `the shop has no flat cutter of ${nominal / 2} to ${0.85 * nominal} mm with flutes of ${depth} mm for the pin holes`,
    );
  return best;
}

const markCutter = (cutters: readonly Cutter[]): Cutter | null => cutters.find((c) => c.shape === "vee") ?? null;

/** Solids of a side as they stand on the plate: for its drawing. */
export const onJig = (jig: Jig, side: Side): Solid[] => side.holding.map((s) => moved(s, jig.zeros[side.name][0], jig.zeros[side.name][1]));
