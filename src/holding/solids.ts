import { isTilted } from "../neck/places.ts";
import type { Neck } from "../neck/types.ts";
import type { Mm } from "../units/index.ts";
import type { Solid } from "./types.ts";

/**
 * One side before it is laid on the bed: x from the end stop, the blank at 0..length, 0..width of the datum edge; `up` is +1
 * when the blank lies at y > 0 of the datum edge's line and -1 when it lies at y < 0. All y below are distances from the datum edge.
 */
export interface Lay {
  readonly length: Mm;
  readonly width: Mm;
  readonly thickness: Mm;
  readonly up: 1 | -1;
  /** x of the end stop's line is 0; the blank lies at x > 0 (1) or x < 0 (-1). */
  readonly along: 1 | -1;
}

type Box = Extract<Solid, { kind: "box" }>;

/** A box from distances along the blank (from the stop) and across (from the datum edge). */
function box(lay: Lay, name: string, role: Solid["role"], a: readonly [Mm, Mm, Mm], b: readonly [Mm, Mm, Mm]): Box {
  const xs = [a[0] * lay.along, b[0] * lay.along].sort((p, q) => p - q);
  const ys = [a[1] * lay.up, b[1] * lay.up].sort((p, q) => p - q);
  return { kind: "box", name, role, min: [xs[0], ys[0], Math.min(a[2], b[2])], max: [xs[1], ys[1], Math.max(a[2], b[2])] };
}

/** Two fence pins that touch the datum edge and one that touches the blank's headstock end. */
export function pins(neck: Neck, lay: Lay): Solid[] {
  const { diameter, height } = neck.order.holding.pin;
  const r = diameter / 2;
  const pin = (name: string, role: Solid["role"], x: Mm, y: Mm): Solid => ({
    kind: "cylinder",
    name,
    role,
    x: x * lay.along,
    y: y * lay.up,
    diameter,
    zMin: 0,
    zMax: height,
  });
  return [
    pin("fence pin 1", "fence pin", lay.length * 0.12, -r),
    pin("fence pin 2", "fence pin", lay.length * 0.88, -r),
    pin("end stop", "end stop", -r, lay.width / 2),
  ];
}

/** Four screw blocks, two at each end: a foot beside the blank and a nose that grips its upper face. */
export function blocks(neck: Neck, lay: Lay): Solid[] {
  const { length, width, height, grip } = neck.order.holding.block;
  const out: Solid[] = [];
  const inset = Math.min(lay.width * 0.22, Math.max(width / 2 + 1, lay.width / 2 - width / 2 - neck.order.holding.pin.diameter));
  const across: readonly [string, Mm][] = [
    ["datum side", inset],
    ["far side", lay.width - inset],
  ];
  for (const [end, x0, dir] of [
    ["headstock end", 0, 1],
    ["body end", lay.length, -1],
  ] as const) {
    for (const [side, y] of across) {
      const name = `block, ${end}, ${side}`;
      const inner = x0 + dir * grip;
      const outer = inner - dir * length;
      out.push(box(lay, name, "block", [inner, y - width / 2, lay.thickness], [outer, y + width / 2, lay.thickness + height]));
      if (length > grip)
        out.push(box(lay, `${name}, foot`, "block", [x0 - dir * 0.5, y - width / 2, 0], [outer, y + width / 2, lay.thickness]));
    }
  }
  return out;
}

/** Screws through the waste beside the shaft; only where the waste is wide enough. `gap(d)` is the wood from the blank's edge inward at distance d from the stop. */
export function screws(neck: Neck, lay: Lay, waste: (x: Mm) => readonly [Mm, Mm], from: Mm, to: Mm, room: Mm): Solid[] {
  const { count, head, height } = neck.order.holding.screw;
  const out: Solid[] = [];
  for (let k = 0; k < count; k++) {
    const x = count === 1 ? (from + to) / 2 : from + ((to - from) * k) / (count - 1);
    const [near, far] = waste(x);
    const add = (side: string, wide: Mm, y: Mm): void => {
      if (wide < room + head + 2) return;
      out.push({
        kind: "cylinder",
        name: `screw ${k + 1}, ${side}`,
        role: "screw",
        x: x * lay.along,
        y: y * lay.up,
        diameter: head,
        zMin: 0,
        zMax: lay.thickness + height,
      });
    };
    add("datum side", near, 1 + head / 2);
    add("far side", far, lay.width - 1 - head / 2);
  }
  return out;
}

/** Stations of strips along the shaft are at most about this far apart, however stiff the neck. */
const FAR_APART: Mm = 140;

/** Stations where strips stand: first, last, and as few as that spacing takes. */
export function stationsAtLeast(neck: Neck): number {
  return Math.max(2, Math.round((neck.places.shaftEnd - 14 - 12) / FAR_APART) + 1);
}

/** Between the neck's plan and distances in the blank: along it from the headstock end, across it from the datum edge. */
export interface InBlank {
  readonly along: (x: Mm, y: Mm) => Mm;
  readonly across: (x: Mm, y: Mm) => Mm;
  readonly x: (along: Mm, across: Mm) => Mm;
  readonly y: (along: Mm, across: Mm) => Mm;
}

/** Under a headstock that lies askew its strip, square to the blank, leaves the headstock's middle by no more than this. */
const OFF_MIDDLE: Mm = 3;

/** Strips between the bed and the turned piece: under the board's edges at `n` stations along the shaft, and one under the headstock's face. */
export function supports(neck: Neck, lay: Lay, inBlank: InBlank, boardBlank: Mm, n: number = stationsAtLeast(neck)): Solid[] {
  const p = neck.places;
  const out: Solid[] = [];
  const first = 12;
  const last = p.shaftEnd - 14;
  const alone = neck.order.blank.kind === "shaft-alone";
  /** Along and across of opposite corners of a strip that lies square to the blank, its middle where that of x0..x1, y0..y1 is. */
  const square = (x0: Mm, x1: Mm, y0: Mm, y1: Mm): readonly [readonly [Mm, Mm], readonly [Mm, Mm]] => {
    const [x, y] = [(x0 + x1) / 2, (y0 + y1) / 2];
    const [a, b] = [inBlank.along(x, y), inBlank.across(x, y)];
    const [da, db] = [(x1 - x0) / 2, ((y1 - y0) / 2) * Math.sign(inBlank.across(0, 1) - inBlank.across(0, 0))];
    return [
      [a - da, b - db],
      [a + da, b + db],
    ];
  };
  for (let k = 0; k < n && !alone; k++) {
    const x = first + ((last - first) * k) / (n - 1);
    const a = x - 8;
    const b = x + 8;
    for (const side of [0, 1] as const) {
      const edge = neck.boardEdges(a)[side];
      const sign = side === 0 ? -1 : 1;
      const y0 = edge - sign * 3;
      const y1 = edge - sign * 9;
      const [p, q] = square(a, b, y0, y1);
      const under = [p, [p[0], q[1]] as const, q, [q[0], p[1]] as const].map((c) => neck.top(inBlank.x(...c), inBlank.y(...c)));
      const gap = boardBlank - Math.max(...under) - 0.02;
      if (gap < 0.1) continue;
      out.push(box(lay, `strip ${k + 1}${side === 0 ? "a" : "b"}`, "support", [...p, 0], [...q, gap]));
    }
  }
  const { tuners } = neck.features;
  // a tilted one lies on a wedge of its own, which is no strip
  if (tuners.length > 0 && !isTilted(neck.order)) {
    const face = boardBlank + neck.order.headstock.drop - 0.02;
    const x0 = p.tip + Math.min(12, neck.order.headstock.tip * 0.6);
    const x1 = p.rampFoot - 6;
    const mid = tuners.reduce((s, t) => s + t.y, 0) / tuners.length;
    if (face > 0.1 && x1 > x0) {
      const lean = Math.abs(inBlank.across(1, 0) - inBlank.across(0, 0));
      const short = Math.max(0, (x1 - x0) / 2 - (lean > 0 ? OFF_MIDDLE / lean : Infinity));
      const [p, q] = square(x0 + short, x1 - short, mid - 5, mid + 5);
      out.push(box(lay, "headstock support", "support", [...p, 0], [...q, face]));
    }
  }
  return out;
}
