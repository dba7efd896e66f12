import { curveBounds } from "../../kernel/contour.ts";
import type { Curve } from "../../kernel/curve.ts";
import { textWidth } from "../draw/metrics.ts";
import { plainItems } from "../draw/plain.ts";
import type { Drawing, Item, PathStep, PlainItem, XY } from "../draw/types.ts";
import { pathOf, type View } from "../draw/view.ts";
import { SIZE } from "../drawings/common.ts";
import { Pen, shifted } from "../drawings/pen.ts";
import { circleCurve, cutChain, type HalfPlane } from "./split.ts";

/** Least overlap of neighbouring sheets, mm. */
export const OVERLAP = 12;

/** One sheet of a template that is larger than the paper: what of it the sheet shows, and where the register marks stand. */
export interface Tile {
  /** Letter of the row from the top, number of the column from the left: "A1". */
  readonly name: string;
  /** In the template's own page coordinates, mm. */
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
  /** Register marks within the tile, in the template's coordinates: those of a joint stand on both its tiles. */
  readonly marks: readonly XY[];
  /** Middles of the joints at its right and lower edge (template coordinates), where the sheet is cut. */
  readonly cutX: number | null;
  readonly cutY: number | null;
}

/** Windows of `room` that cover `length` with at least OVERLAP between neighbours, evenly spread: starts and size. */
function spread(length: number, room: number): { readonly starts: readonly number[]; readonly size: number } {
  if (length <= room) return { starts: [0], size: length };
  const n = Math.ceil((length - OVERLAP) / (room - OVERLAP));
  const step = (length - room) / (n - 1);
  return { starts: Array.from({ length: n }, (_, k) => k * step), size: room };
}

/** Divides a template of width x height into sheets of at most roomX x roomY. */
export function tilesOf(width: number, height: number, roomX: number, roomY: number): Tile[] {
  const across = spread(width, roomX);
  const down = spread(height, roomY);
  const joints = (s: ReturnType<typeof spread>): number[] => s.starts.slice(1).map((start, k) => (start + s.starts[k] + s.size) / 2);
  const [jx, jy] = [joints(across), joints(down)];
  const marks: XY[] = [];
  // two marks on every joint of two sheets, a fifth of the way in from the sheet's ends
  for (const x of jx) for (const y of down.starts) for (const t of [0.12, 0.88]) marks.push([x, y + t * down.size]);
  for (const y of jy) for (const x of across.starts) for (const t of [0.12, 0.88]) marks.push([x + t * across.size, y]);
  return down.starts.flatMap((y, r) =>
    across.starts.map((x, c): Tile => {
      const inside = (p: XY): boolean => p[0] > x && p[0] < x + across.size && p[1] > y && p[1] < y + down.size;
      return {
        name: `${String.fromCharCode(65 + r)}${c + 1}`,
        x,
        y,
        width: across.size,
        height: down.size,
        marks: marks.filter(inside),
        cutX: jx[c] ?? null,
        cutY: jy[r] ?? null,
      };
    }),
  );
}

/** The tile as a drawing of its own, its window's corner at the origin: the template's lines cut off at the window, marks and cut lines. */
export function tileDrawing(d: Drawing, t: Tile): Drawing {
  const pen = new Pen();
  pen.items.push(...shifted(windowOf(plainItems(d.items), t), -t.x, -t.y));
  const cut = (a: XY, b: XY, says: string, at: XY, anchor: "start" | "end"): void => {
    pen.line("phantom", a, b, { ink: "soft", layer: "cut-line" });
    pen.text(at, says, SIZE.small, { ink: "soft", anchor });
  };
  if (t.cutX !== null) {
    const x = t.cutX - t.x;
    cut([x, 0], [x, t.height], `cut here, lay on ${next(t.name, 0, 1)}`, [x - 1.2, 2.4], "end");
  }
  if (t.cutY !== null) {
    const y = t.cutY - t.y;
    cut([0, y], [t.width, y], `cut here, lay on ${next(t.name, 1, 0)}`, [2, y - 0.8], "start");
  }
  for (const m of t.marks) registerMark(pen, [m[0] - t.x, m[1] - t.y]);
  return { ...d, id: `${d.id}-${t.name}`, title: `${d.title}, sheet ${t.name}`, width: t.width, height: t.height, items: pen.items };
}

const next = (name: string, down: number, right: number): string =>
  `${String.fromCharCode(name.charCodeAt(0) + down)}${Number(name.slice(1)) + right}`;

/** A cross in a circle, its lines fine, to lay over its twin on the next sheet. */
function registerMark(pen: Pen, [x, y]: XY): void {
  pen.circle("narrow", [x, y], 2, { layer: "register" });
  pen.line("narrow", [x - 3.5, y], [x + 3.5, y], { layer: "register" });
  pen.line("narrow", [x, y - 3.5], [x, y + 3.5], { layer: "register" });
}

type Window = Pick<Tile, "x" | "y" | "width" | "height">;

/** Items cut off at the window, lines, arcs and cubics exactly; text and small filled marks are taken where they lie whole inside. */
export function windowOf(items: readonly PlainItem[], w: Window): Item[] {
  const edges: readonly HalfPlane[] = [
    { a: -1, b: 0, c: -w.x },
    { a: 1, b: 0, c: w.x + w.width },
    { a: 0, b: -1, c: -w.y },
    { a: 0, b: 1, c: w.y + w.height },
  ];
  const out: Item[] = [];
  for (const item of items) {
    if (item.kind === "image") continue;
    if (item.kind === "text") {
      if (showsText(item, w)) out.push(item);
      continue;
    }
    const chains = chainsOf(item);
    if ("fill" in item && item.fill !== undefined) {
      if (chains.flat().every((c) => inside(c, w))) out.push(item);
      continue;
    }
    for (const chain of chains) {
      if (chain.every((c) => inside(c, w))) {
        out.push(chains.length === 1 ? item : pathItem(item, chain));
        continue;
      }
      let runs: Curve[][] = [chain.filter((c) => near(c, w))];
      if (runs[0].length !== chain.length) runs = runsOf(chain, w);
      for (const e of edges) runs = runs.flatMap((r) => cutChain(r, e));
      for (const run of runs) out.push(pathItem(item, run));
    }
  }
  return out;
}

/** The chain without the curves that lie wholly outside, as runs without gaps. */
function runsOf(chain: readonly Curve[], w: Window): Curve[][] {
  const out: Curve[][] = [[]];
  for (const c of chain) {
    if (near(c, w)) out[out.length - 1].push(c);
    else if (out[out.length - 1].length > 0) out.push([]);
  }
  return out.filter((r) => r.length > 0);
}

const near = (c: Curve, w: Window): boolean => {
  const b = curveBounds(c);
  return b.xMax >= w.x && b.xMin <= w.x + w.width && b.yMax >= w.y && b.yMin <= w.y + w.height;
};
const inside = (c: Curve, w: Window): boolean => {
  const b = curveBounds(c);
  return b.xMin >= w.x && b.xMax <= w.x + w.width && b.yMin >= w.y && b.yMax <= w.y + w.height;
};

/** Text that lies whole in the window; text too long for any overlap where it begins (or its middle lies). */
function showsText(t: Extract<PlainItem, { kind: "text" }>, w: Window): boolean {
  const width = textWidth(t.text, t.size, t.bold);
  const from = t.anchor === "start" ? 0 : t.anchor === "middle" ? -width / 2 : -width;
  const a = ((t.turn ?? 0) * Math.PI) / 180;
  const ends = [from, from + width].map((s): XY => [t.at[0] + s * Math.cos(a), t.at[1] + s * Math.sin(a)]);
  const holds = (p: XY): boolean => p[0] >= w.x && p[0] <= w.x + w.width && p[1] >= w.y && p[1] <= w.y + w.height;
  return width <= OVERLAP ? ends.every(holds) : holds([(ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2]);
}

const page: View = { origin: [0, 0], scale: 1, ex: [1, 0], ey: [0, 1] };

function pathItem(of: Exclude<PlainItem, { kind: "text" } | { kind: "image" }>, run: readonly Curve[]): PlainItem {
  const style = { ...(of.ink ? { ink: of.ink } : {}), ...(of.layer ? { layer: of.layer } : {}) };
  return { kind: "path", line: of.line, steps: pathOf(page, run, false), ...style };
}

/** The item's lines as chains of curves, in page coordinates; a closed one ends where it begins. */
export function chainsOf(item: Exclude<PlainItem, { kind: "text" } | { kind: "image" }>): Curve[][] {
  const pt = (p: XY): { x: number; y: number } => ({ x: p[0], y: p[1] });
  if (item.kind === "line") return [[{ kind: "line", a: pt(item.a), b: pt(item.b) }]];
  if (item.kind === "circle") return [[circleCurve(item.centre[0], item.centre[1], item.radius)]];
  if (item.kind === "path") return stepChains(item.steps);
  const points = item.closed ? [...item.points, item.points[0]] : item.points;
  return [points.slice(1).map((b, k): Curve => ({ kind: "line", a: pt(points[k]), b: pt(b) }))];
}

function stepChains(steps: readonly PathStep[]): Curve[][] {
  const out: Curve[][] = [];
  let start = { x: 0, y: 0 };
  let at = start;
  for (const s of steps) {
    if (s.to === "move") {
      start = { x: s.x, y: s.y };
      at = start;
      out.push([]);
      continue;
    }
    const chain = out[out.length - 1];
    if (s.to === "close") {
      if (Math.hypot(at.x - start.x, at.y - start.y) > 1e-9) chain.push({ kind: "line", a: at, b: start });
      at = start;
      continue;
    }
    const to = { x: s.x, y: s.y };
    if (s.to === "line") chain.push({ kind: "line", a: at, b: to });
    else if (s.to === "arc") chain.push({ kind: "arc", centre: { x: s.cx, y: s.cy }, radius: s.r, start: s.start, sweep: s.sweep });
    else chain.push({ kind: "cubic", p0: at, p1: { x: s.x1, y: s.y1 }, p2: { x: s.x2, y: s.y2 }, p3: to });
    at = to;
  }
  return out.filter((c) => c.length > 0);
}
