import type { Holding, Side, Solid, Transform } from "../../holding/types.ts";
import { flatten } from "../../kernel/contour.ts";
import type { Neck } from "../../neck/types.ts";
import type { MachineSpec } from "../../spec/types.ts";
import { arrow } from "../draw/dimension.ts";
import { textWidth } from "../draw/metrics.ts";
import type { Drawing, XY } from "../draw/types.ts";
import { at, type View } from "../draw/view.ts";
import { dim, SIZE } from "./common.ts";
import { Pen } from "./pen.ts";

/** A point of the neck's z = 0 plane in the side's program frame. */
export const inProgram = (t: Transform, x: number, y: number): XY => [t[0] * x + t[1] * y + t[3], t[4] * x + t[5] * y + t[7]];

interface Extent {
  xMin: number;
  yMin: number;
  xMax: number;
  yMax: number;
}

function extentOfSide(side: Side): Extent {
  const e: Extent = { xMin: 0, yMin: 0, xMax: 0, yMax: 0 };
  const add = (x: number, y: number): void => {
    e.xMin = Math.min(e.xMin, x);
    e.xMax = Math.max(e.xMax, x);
    e.yMin = Math.min(e.yMin, y);
    e.yMax = Math.max(e.yMax, y);
  };
  add(side.stock.min[0], side.stock.min[1]);
  add(side.stock.max[0], side.stock.max[1]);
  for (const s of side.holding) {
    for (const [x, y] of footprint(s)) add(x, y);
  }
  return e;
}

/** Corners of a solid seen from above. */
function footprint(s: Solid): XY[] {
  if (s.kind === "box")
    return [
      [s.min[0], s.min[1]],
      [s.max[0], s.min[1]],
      [s.max[0], s.max[1]],
      [s.min[0], s.max[1]],
    ];
  if (s.kind === "prism") return s.points.map(([x, y]): XY => [x, y]);
  const r = s.diameter / 2;
  return [
    [s.x - r, s.y - r],
    [s.x + r, s.y + r],
  ];
}

const LEFT = 26;
const RIGHT = 26;
const ABOVE = 23;
const BELOW = 29;

/** Letters for the holding in drawing and table: pins P1.., stop S1, blocks B1.., screws W1.., supports U1... A block's foot shares its block's. */
export function holdingMarks(side: Side): readonly { readonly mark: string; readonly solid: Solid }[] {
  const letter: Record<Solid["role"], string> = {
    "fence pin": "P",
    "end stop": "S",
    block: "B",
    screw: "W",
    support: "U",
    "index pin": "X",
  };
  const count: Record<string, number> = {};
  const known = new Map<string, string>();
  return side.holding.map((solid) => {
    const base = solid.name.replace(/, foot$/, "");
    let mark = known.get(base);
    if (mark === undefined) {
      const l = letter[solid.role];
      count[l] = (count[l] ?? 0) + 1;
      mark = `${l}${count[l]}`;
      known.set(base, mark);
    }
    return { mark, solid };
  });
}

/** The page view of a side: as the maker sees it at the machine, from above, its long way across the page. */
function sideView(side: Side, scale: number): { readonly view: View; readonly width: number; readonly height: number } {
  const e = extentOfSide(side);
  const long = side.stock.max[0] - side.stock.min[0] >= side.stock.max[1] - side.stock.min[1];
  // x right and y up; a piece that lies along y is drawn a quarter turn clockwise: y right, x down
  const [w, h] = long ? [e.xMax - e.xMin, e.yMax - e.yMin] : [e.yMax - e.yMin, e.xMax - e.xMin];
  const origin: XY = long ? [LEFT - e.xMin * scale, ABOVE + e.yMax * scale] : [LEFT - e.yMin * scale, ABOVE - e.xMin * scale];
  const view: View = long ? { origin, scale, ex: [1, 0], ey: [0, -1] } : { origin, scale, ex: [0, 1], ey: [1, 0] };
  return { view, width: LEFT + w * scale + RIGHT, height: ABOVE + h * scale + BELOW };
}

/** One side as it lies at the machine: blank, neck in it, datum edge, pins, blocks, screws, supports, zero, with distances from zero. */
export function blankDrawing(
  neck: Neck,
  holding: Holding,
  name: "board" | "carve",
  scale: number,
  machine: Pick<MachineSpec, "bed" | "grid"> | null = null,
): Drawing {
  const side = holding.sides[name];
  const { view, width, height } = sideView(side, scale);
  const pen = new Pen();
  const a = at(view, side.stock.min[0], side.stock.min[1]);
  const b = at(view, side.stock.max[0], side.stock.max[1]);
  const [x0, x1] = [Math.min(a[0], b[0]), Math.max(a[0], b[0])];
  const [y0, y1] = [Math.min(a[1], b[1]), Math.max(a[1], b[1])];
  if (machine?.grid !== undefined) bedHoles(pen, side, view, machine.grid, machine.bed);
  pen.rect("wide", [x0, y0], [x1, y1], { layer: "blank" });
  drawNeckIn(pen, neck, side, view);
  for (const { solid } of holdingMarks(side)) if (solid.role === "support") drawSolid(pen, view, solid, "hidden");
  datumEdge(pen, side, view);
  for (const { solid } of holdingMarks(side)) if (solid.role !== "support") drawSolid(pen, view, solid, "wide");
  drawMarks(pen, side, view, [x0, y0], [x1, y1]);
  drawZero(pen, view);
  distances(pen, side, view, [x0, y0], [x1, y1]);
  const words = sideWords(neck, side, name);
  words.forEach((w, i) => {
    pen.text([LEFT - 20, height - 4 - (words.length - 1 - i) * 3.6], w, SIZE.small, { ink: "soft" });
  });
  return {
    id: `blank-${name}`,
    title: name === "board" ? "Board side at the machine" : "Carve side at the machine",
    says: `The ${name} side from above: blank ${dim(holding.blank.length)} x ${dim(holding.blank.width)} mm with the neck in it, datum edge, ${side.holding.length} holding parts and the program zero. ${words.join(" ")}`,
    width,
    height,
    group: 0.35,
    items: pen.items,
    scale,
    origin: view.origin,
  };
}

/** The bed's holes around the blank; those under it are left out. */
function bedHoles(pen: Pen, side: Side, view: View, grid: NonNullable<MachineSpec["grid"]>, bed: MachineSpec["bed"]): void {
  const e = extentOfSide(side);
  const [zx, zy] = side.zeroOnBed;
  const { min, max } = side.stock;
  const r = grid.diameter / 2;
  const places = (first: number, size: number, zero: number, low: number, high: number): number[] => {
    const out: number[] = [];
    for (let v = first; v <= size; v += grid.pitch) if (v - zero >= low - r && v - zero <= high + r) out.push(v - zero);
    return out;
  };
  for (const x of places(grid.first.x, bed.x, zx, e.xMin, e.xMax))
    for (const y of places(grid.first.y, bed.y, zy, e.yMin, e.yMax)) {
      const onBlank = x > min[0] - r && x < max[0] + r && y > min[1] - r && y < max[1] + r;
      if (!onBlank) pen.circle("narrow", at(view, x, y), r * view.scale, { ink: "soft", layer: "bed hole" });
    }
}

/** Distances from the zero: pins on the datum's side; nut line and the blank itself on the other; the centreline at the left. */
function distances(pen: Pen, side: Side, view: View, low: XY, high: XY): void {
  const { scale } = view;
  const o = at(view, 0, 0);
  const below = insideSign(side, view) < 0;
  const [near, far] = below ? [high[1], low[1]] : [low[1], high[1]];
  const out = below ? 1 : -1;
  const pins = side.holding.filter((s) => s.role === "fence pin").map((s) => at(view, ...centreOf(s)));
  pins.forEach((p, i) => {
    pen.dimension({
      a: o,
      b: p,
      along: "x",
      line: near + out * (11 + i * 6) + (below ? 0 : -0.5),
      text: dim(Math.abs(p[0] - o[0]) / scale),
    });
  });
  const nut = at(view, ...inProgram(side.neckToProgram, 0, 0));
  const fromX = Math.abs(nut[0] - low[0]) < Math.abs(nut[0] - high[0]) ? low[0] : high[0];
  pen.dimension({
    a: [fromX, far],
    b: [nut[0], far],
    along: "x",
    line: far - out * 6,
    text: `${dim(Math.abs(nut[0] - fromX) / scale)} nut line`,
  });
  pen.dimension({
    a: [low[0], far],
    b: [high[0], far],
    along: "x",
    line: far - out * 12,
    text: `${dim((high[0] - low[0]) / scale)} blank`,
  });
  // outside of all that stands at the blank's ends
  const ends = side.holding.flatMap((s) => footprint(s).map((p) => at(view, p[0], p[1])[0]));
  const right = Math.max(high[0] + 19, ...ends.map((x) => x + 5));
  const left = Math.min(low[0] - 17, ...ends.map((x) => x - 5));
  pen.dimension({ a: [high[0], high[1]], b: [high[0], low[1]], along: "y", line: right, text: dim((high[1] - low[1]) / scale) });
  const centre = dim(Math.abs(nut[1] - o[1]) / scale);
  pen.dimension({ a: [low[0], o[1]], b: [low[0], nut[1]], along: "y", line: left, text: centre });
}

function sideWords(neck: Neck, side: Side, name: "board" | "carve"): string[] {
  const t = side.neckToProgram;
  const xRight = t[0] > 0.5 || t[4] > 0.5;
  const words: string[] = [];
  if (name === "board") words.push("Seen from above, the board toward the spindle.");
  else if (xRight)
    words.push("Turned about its long axis: the back toward the spindle, nut still at the left, the edges have changed places.");
  else
    words.push(
      "Turned end for end: the back toward the spindle. The nut lies at the right here, because the blank was turned about its short axis.",
    );
  if (neck.order.hand === "left") words.push("Left-handed neck.");
  if (Math.abs(t[0]) < 0.5)
    words.push("At the machine the blank lies along Y; the drawing shows it a quarter turn round, see the axes at the zero.");
  return words;
}

function drawNeckIn(pen: Pen, neck: Neck, side: Side, view: View): void {
  const t = side.neckToProgram;
  const ring = (poly: Float64Array): XY[] => {
    const out: XY[] = [];
    for (let i = 0; i < poly.length; i += 2) out.push(at(view, ...inProgram(t, poly[i], poly[i + 1])));
    return out;
  };
  const to = (x: number, y: number): XY => at(view, ...inProgram(t, x, y));
  const outline = ring(flatten(neck.outline, 0.02));
  pen.polyline("wide", outline, { closed: true, ink: "accent", layer: "outline", fill: "shade" });
  pen.polyline("narrow", ring(flatten(neck.board, 0.02)), { closed: true, layer: "board" });
  const slope = neck.places.nutSlope;
  const [lo, hi] = neck.boardEdges(0);
  pen.line("wide", to(slope * lo, lo), to(slope * hi, hi), { layer: "nut" });
  if (neck.order.frets.count >= 12) {
    const x = neck.fretAt(12);
    const [l, h] = neck.boardEdges(x);
    const slant = neck.fretSlope(12);
    pen.line("narrow", to(x + slant * l, l), to(x + slant * h, h));
  }
  for (const b of side.bores ?? []) {
    for (const end of [b.from, b.to]) pen.circle("wide", to(...end), (b.diameter / 2) * view.scale, { layer: "pin hole" });
    if (Math.hypot(b.to[0] - b.from[0], b.to[1] - b.from[1]) > 0) pen.line("centre", to(...b.from), to(...b.to));
  }
  for (const b of neck.features.tuners) pen.circle("narrow", to(b.x, b.y), (b.steps[0].diameter / 2) * view.scale);
  const past = 5 / view.scale;
  const inv = (x: number): XY => to(x, 0);
  const [cx0, cx1] = [inv(neck.places.tip - past), inv(neck.places.boardEnd + past)];
  pen.line("centre", cx0, cx1);
}

/** The planed edge: heavy, in the accent, with short strokes on its waste side, and its name. */
function datumEdge(pen: Pen, side: Side, view: View): void {
  const [a, b] = datumEnds(side).map((p) => at(view, p[0], p[1]));
  const off = Math.sign(b[1] === a[1] ? insideSign(side, view) : 1);
  pen.line("heavy", a, b, { ink: "accent" });
  const n = 12;
  for (let k = 0; k < n; k++) {
    const x = a[0] + ((b[0] - a[0]) * (k + 0.5)) / n;
    pen.line("narrow", [x, a[1]], [x - 1.6, a[1] - off * 1.6], { ink: "accent" });
  }
  // its name where nothing stands that would cover it, nearest to the middle
  const words = "datum edge, planed straight and square";
  const half = textWidth(words, SIZE.figure) / 2 + 2;
  const covered = (x: number): boolean =>
    side.holding.some((s) => {
      const ring = footprint(s).map((p) => at(view, p[0], p[1]));
      const [xs, ys] = [ring.map((p) => p[0]), ring.map((p) => p[1])];
      return Math.min(...xs) < x + half && Math.max(...xs) + 6 > x - half && Math.min(...ys) < a[1] + 6 && Math.max(...ys) > a[1] - 6;
    });
  const shares = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8];
  const share = shares.find((t) => !covered(a[0] + (b[0] - a[0]) * t)) ?? 0.5;
  pen.text([a[0] + (b[0] - a[0]) * share, a[1] - off * (off < 0 ? 4.4 : 2.6)], words, SIZE.figure, {
    anchor: "middle",
    ink: "accent",
    ground: true,
  });
}

/** Ends of the datum edge in the program frame: the stock's edge on the line through the zero along its length. */
function datumEnds(side: Side): readonly [XY, XY] {
  const { min, max } = side.stock;
  if (max[0] - min[0] >= max[1] - min[1])
    return [
      [min[0], 0],
      [max[0], 0],
    ];
  return [
    [0, min[1]],
    [0, max[1]],
  ];
}

/** +1 when the blank lies below the datum edge on the page, -1 when above. */
function insideSign(side: Side, view: View): number {
  const { min, max } = side.stock;
  const mid = at(view, (min[0] + max[0]) / 2, (min[1] + max[1]) / 2)[1];
  const [a] = datumEnds(side);
  return mid > at(view, a[0], a[1])[1] ? 1 : -1;
}

function drawSolid(pen: Pen, view: View, s: Solid, line: "wide" | "hidden"): void {
  if (s.kind === "cylinder") {
    const c = at(view, s.x, s.y);
    const r = (s.diameter / 2) * view.scale;
    pen.circle(line, c, r, { fill: "paper", layer: s.role });
    if (s.role === "screw") {
      pen.line("narrow", [c[0] - r * 0.6, c[1] - r * 0.6], [c[0] + r * 0.6, c[1] + r * 0.6]);
      pen.line("narrow", [c[0] - r * 0.6, c[1] + r * 0.6], [c[0] + r * 0.6, c[1] - r * 0.6]);
    } else pen.cross(c, r, 0.8);
    return;
  }
  const ring = footprint(s).map(([x, y]) => at(view, x, y));
  if (line === "hidden") {
    pen.polyline("hidden", ring, { closed: true, layer: s.role });
    return;
  }
  pen.polyline(line, ring, { closed: true, fill: "paper", layer: s.role });
  pen.hatch({ rings: [ring], grain: "metal", spacing: 1.2, turn: 90, layer: s.role });
}

function centreOf(s: Solid): XY {
  if (s.kind === "cylinder") return [s.x, s.y];
  const ps = footprint(s);
  const xs = ps.map((p) => p[0]);
  const ys = ps.map((p) => p[1]);
  return [(Math.min(...xs) + Math.max(...xs)) / 2, (Math.min(...ys) + Math.max(...ys)) / 2];
}

/** Marks beside the holding parts; a block's foot and nose share one place, and a mark that would land on another is put beside it. */
function drawMarks(pen: Pen, side: Side, view: View, low: XY, high: XY): void {
  const placed: XY[] = [];
  const done = new Set<string>();
  for (const { mark, solid } of holdingMarks(side)) {
    if (done.has(mark)) continue;
    done.add(mark);
    const c = at(view, ...centreOf(solid));
    let p: XY = c;
    if (solid.role === "fence pin") p = [c[0] + 4, c[1] + (Math.abs(c[1] - low[1]) < Math.abs(c[1] - high[1]) ? -1.2 : 3)];
    else if (solid.role === "end stop") p = [c[0] - 4.4, c[1] - 1.6];
    else if (solid.role === "support") p = [Math.max(...footprint(solid).map(([x, y]) => at(view, x, y)[0])) + 2.6, c[1] + 0.9];
    else if (solid.kind === "cylinder") p = [c[0] + (solid.diameter / 2) * view.scale + 3.4, c[1] + 0.9];
    else p = [c[0], c[1] + 0.9];
    while (placed.some((q) => Math.abs(q[0] - p[0]) < 5 && Math.abs(q[1] - p[1]) < 2.4)) p = [p[0], p[1] + 2.7];
    placed.push(p);
    pen.text(p, mark, SIZE.small, { anchor: "middle", bold: true, ground: true });
  }
}

/** The program zero with its axes, as the machine has them. */
function drawZero(pen: Pen, view: View): void {
  const o = at(view, 0, 0);
  const axis = (x: number, y: number, name: string): void => {
    const p = at(view, (x * 9) / view.scale, (y * 9) / view.scale);
    const u: XY = [(p[0] - o[0]) / 9, (p[1] - o[1]) / 9];
    pen.line("wide", o, p, { ink: "accent" });
    pen.items.push(arrow(p, u, "accent"));
    pen.text([p[0] + u[0] * 2 - u[1] * 1.6, p[1] + u[1] * 2 + 0.9 + (u[0] !== 0 ? -1.6 : 0)], name, SIZE.figure, {
      anchor: "middle",
      bold: true,
      ink: "accent",
      ground: true,
    });
  };
  axis(1, 0, "X");
  axis(0, 1, "Y");
  pen.circle("wide", o, 1.6, { ink: "accent", fill: "paper" });
  pen.circle("none", o, 0.5, { ink: "accent", fill: "accent" });
}
