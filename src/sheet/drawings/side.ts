import type { Neck } from "../../neck/types.ts";
import { radToDeg } from "../../units/index.ts";
import type { Drawing, XY } from "../draw/types.ts";
import { at, uprightView, type View } from "../draw/view.ts";
import { dim, extentOf, SIZE, upperSide } from "./common.ts";
import { Pen } from "./pen.ts";
import { backAt, headTilt, onCentreline, sideStations, silhouetteAt, stations } from "./profile.ts";

const LEFT = 16;
const RIGHT = 24;
const ROW_ABOVE = 17;

/** Two views from the side: the elevation, and the section along the centreline with board, shaft, rod and strip. */
export function sideDrawing(neck: Neck, scale: number): Drawing {
  const e = extentOf(neck);
  const xs = sideStations(neck, 2);
  const known = new Map<number, ReturnType<typeof silhouetteAt>>();
  const silhouette: Silhouette = (x) => {
    const found = known.get(x) ?? silhouetteAt(neck, x);
    known.set(x, found);
    return found;
  };
  const both = xs.map(silhouette);
  const zMax = Math.max(...both.map((s) => s.high));
  const zMin = Math.min(...both.map((s) => s.low));
  const tall = (zMax - zMin) * scale;
  const x0 = LEFT - e.xMin * scale;
  const elevation = uprightView([x0, ROW_ABOVE + zMax * scale], scale);
  const gap = 28;
  const section = uprightView([x0, ROW_ABOVE + tall + gap + zMax * scale], scale);
  const pen = new Pen();
  drawElevation(pen, neck, elevation, xs, silhouette);
  drawAlong(pen, neck, section, xs);
  const height = ROW_ABOVE + 2 * tall + gap + 22;
  return {
    id: "side",
    title: "Side view and section along the centreline",
    says: `Above, the neck from its ${upperSide(neck) === "treble" ? "bass" : "treble"} side with its thicknesses; below, cut along the centreline: board, shaft, rod and filler strip, and the wood that stays under the rod.`,
    width: LEFT + (e.xMax - e.xMin) * scale + RIGHT,
    height,
    group: 0.35,
    items: pen.items,
    scale,
    origin: elevation.origin,
  };
}

/** Points of the back at y = 0 (or the lowest point of the section), nut to end, stepping where the back steps. */
function backLine(neck: Neck, xs: readonly number[], z: (x: number) => number): XY[] {
  const end = neck.places.shaftEnd;
  const pts: XY[] = xs.filter((x) => x <= end).map((x) => [x, z(Math.min(x, end - 1e-7))]);
  if (neck.places.boardEnd - end > 1e-6) pts.push([end, 0], [neck.places.boardEnd, 0]);
  return pts;
}

export type Silhouette = (x: number) => ReturnType<typeof silhouetteAt>;

export function drawElevation(pen: Pen, neck: Neck, view: View, xs: readonly number[], silhouette: Silhouette): void {
  const p = neck.places;
  const to = (pts: readonly XY[]): XY[] => pts.map(([x, z]) => at(view, x, z));
  const low = (x: number): number => silhouette(Math.max(p.tip, Math.min(p.shaftEnd - 1e-7, x))).low;
  const high = (x: number): number => silhouette(x).high;
  const top: XY[] = xs.map((x) => [x, high(x)]);
  const back = backLine(neck, xs, low);
  pen.polyline("wide", to([...top, ...[...back].reverse()]), { closed: true, layer: "elevation" });
  // the board's lower edge, and the edge of its face on the near side
  pen.line("wide", at(view, p.boardFront, 0), at(view, p.boardEnd, 0), { layer: "glue-line" });
  const edgeTop = xs.filter((x) => x >= p.boardFront && x <= p.boardEnd).map((x): XY => [x, neck.top(x, neck.edges(x)[0])]);
  pen.polyline("narrow", to(edgeTop), { ink: "soft" });
  const nut = neck.features.nut;
  const seat: XY[] = [
    [nut.xMin, neck.top(nut.xMin, 0)],
    [nut.xMin, nut.zFloor],
    [nut.xMax, nut.zFloor],
    [nut.xMax, neck.top(nut.xMax, 0)],
  ];
  pen.polyline("wide", to(seat));
  for (const r of neck.features.rod) {
    const bottom = r.from === "board" ? 0 : Math.min(low(r.xMin), low(r.xMax));
    const [a, b] = [at(view, r.xMin, r.zFloor), at(view, r.xMax, r.zFloor)];
    pen.line("hidden", a, b, { ink: "soft" });
    pen.line("hidden", a, at(view, r.xMin, r.from === "board" ? 0 : Math.max(bottom, low(r.xMin))), { ink: "soft" });
    pen.line("hidden", b, at(view, r.xMax, r.from === "board" ? 0 : Math.max(bottom, low(r.xMax))), { ink: "soft" });
  }
  for (const m of neck.features.sideMarkers) pen.circle("narrow", at(view, m.x, m.z), (m.diameter / 2) * view.scale, { ink: "soft" });
  for (const s of neck.features.screws) {
    pen.line("centre", at(view, s.x, s.zFrom - 3 / view.scale), at(view, s.x, s.zTo + 2 / view.scale), { ink: "soft" });
  }
  thickness(pen, neck, view, low, high);
}

/** Thickness on the centreline at the places the order names it, and at headstock and heel. */
function thickness(pen: Pen, neck: Neck, view: View, low: (x: number) => number, high: (x: number) => number): void {
  const p = neck.places;
  const n = neck.order.frets.count;
  const at1 = (x: number, label: string): void => {
    const [px] = at(view, x, 0);
    const [, top] = at(view, x, high(x));
    const [, bottom] = at(view, x, low(x));
    const t = high(x) - low(x);
    // the dimension line stands in the view itself, its figure above the wood
    pen.line("narrow", [px, top], [px, bottom], { ink: "soft" });
    pen.dimension({ a: [px, bottom], b: [px, top], along: "y", line: px, text: "" });
    const past = bottom - top >= 5.4 ? 0 : 4.4;
    pen.text([px, top - 1.6 - past], dim(t), SIZE.figure, { anchor: "middle" });
    pen.text([px, bottom + 4.2 + past], label, SIZE.small, { anchor: "middle", ink: "soft", ground: true });
  };
  const headX = 0.5 * (p.tip + Math.min(p.headBack, p.rampFoot));
  const tilt = headTilt(neck);
  if (Math.abs(tilt) < 0.005) at1(headX, "headstock");
  else {
    // square to the tilted face
    const top: XY = [headX, neck.top(headX, 0)];
    const t = (high(headX) - low(headX)) * Math.cos(tilt);
    const foot: XY = [top[0] + t * Math.sin(tilt), top[1] - t * Math.cos(tilt)];
    const [a, b] = [at(view, top[0], top[1]), at(view, foot[0], foot[1])];
    pen.dimension({ a, b, along: "straight", line: 0, text: "" });
    pen.text([a[0] - 1, a[1] - 2], dim(t), SIZE.figure, { anchor: "end" });
    pen.text([b[0], b[1] + 5], `headstock, tilted ${dim(radToDeg(tilt))}°`, SIZE.small, { anchor: "middle", ink: "soft", ground: true });
  }
  if (n >= 1) at1(neck.fretAt(1), "fret 1");
  if (n >= 7) at1(neck.fretAt(7), "fret 7");
  if (n >= 12 && neck.fretAt(12) < p.heelFront) at1(neck.fretAt(12), "fret 12");
  at1((p.heelFront + p.shaftEnd) / 2, "heel");
}

export function drawAlong(pen: Pen, neck: Neck, view: View, all: readonly number[]): void {
  const xs = onCentreline(neck, all);
  const p = neck.places;
  const glued = neck.order.blank.kind === "board-glued";
  const to = (pts: readonly XY[]): XY[] => pts.map(([x, z]) => at(view, x, z));
  const mid = (x: number): number => backAt(neck, x);
  const back = backLine(neck, xs, mid);
  const shaftBack = back.filter(([x, z]) => x <= p.shaftEnd && !(x === p.shaftEnd && z === 0));
  const face = xs.filter((x) => x <= p.boardFront).map((x): XY => [x, Math.min(neck.top(x, 0), 0)]);
  const shaft = to([...face, [p.boardFront, 0], [p.shaftEnd, 0], ...[...shaftBack].reverse()]);
  const boardTop = xs
    .filter((x) => x >= p.rampFoot && x <= p.boardEnd)
    .map((x): XY => [x, neck.top(x, 0)])
    .filter(([, z]) => z > 0);
  const board = to([[boardTop[0]?.[0] ?? 0, 0], ...boardTop, [p.boardEnd, 0]]);
  const rods = neck.features.rod.filter((r) => Math.abs(r.y ?? 0) < r.width / 2).map((r) => rodRings(neck, r, xs, to));
  pen.hatch({ rings: [shaft, ...rods.flatMap((r) => [r.whole])], grain: "long", spacing: 1.1 });
  if (glued) pen.hatch({ rings: [board], grain: "long", spacing: 0.55 });
  for (const r of rods) {
    pen.hatch({ rings: [r.filler], grain: "filler", spacing: 0.7, turn: 60 });
    pen.polyline("narrow", r.filler, { closed: true });
    pen.polyline("narrow", r.rod, { closed: true, fill: "shade" });
    pen.hatch({ rings: [r.rod], grain: "metal", spacing: 0.8 });
  }
  pen.polyline("wide", shaft, { closed: true, layer: "section" });
  pen.polyline(glued ? "wide" : "phantom", board, { closed: true, layer: "section" });
  if (glued) drawNotches(pen, neck, view);
  const label = (x: number, z: number, text: string, toX: number, toZ: number): void =>
    pen.leader(at(view, x, z), [at(view, toX, 0)[0], at(view, 0, toZ)[1]], text, SIZE.small);
  // heights may be drawn larger than lengths
  const far = 7 / (view.scale * Math.abs(view.ey[1]));
  const onBoard = p.boardFront + 0.06 * (p.boardEnd - p.boardFront);
  {
    const words = glued ? `board ${dim(neck.order.board.thickness)}, ${neck.order.wood.board}` : "board, goes on later: not in this job";
    label(onBoard, neck.top(onBoard, 0) / 2, words, onBoard + 6 / view.scale, neck.top(onBoard, 0) + far);
  }
  const midX = p.carveStart + 0.78 * (p.carveEnd - p.carveStart);
  // above, where no label of the rod is in the way
  label(midX, 0.7 * mid(midX), `shaft, ${neck.order.wood.shaft}`, midX + 10, neck.top(midX, 0) + far);
  const rod = neck.features.rod.find((r) => r.id === "rod-channel");
  if (rod) {
    const x = rod.xMin + 0.22 * (rod.xMax - rod.xMin);
    label(
      x,
      rod.from === "carve" ? rod.zFloor - rod.rodHeight / 2 : rod.zFloor + rod.rodHeight / 2,
      `rod channel ${dim(rod.width)} wide, ${dim(rod.xMin)} to ${dim(rod.xMax)} from the nut`,
      x + 8,
      mid(x) - far,
    );
    drawWoodUnder(pen, neck, view, rod.xMin, rod.xMax);
  }
}

/** The least wood that stays under the rod, marked where it is least. */
function drawWoodUnder(pen: Pen, neck: Neck, view: View, from: number, to: number): void {
  let best = { x: from, wood: Number.POSITIVE_INFINITY };
  for (const x of stations(from, to, 1, [])) {
    const wood = neck.woodUnderRod(x);
    if (wood !== null && wood < best.wood) best = { x, wood };
  }
  if (!Number.isFinite(best.wood)) return;
  const z = backAt(neck, best.x);
  pen.leader(
    at(view, best.x, z),
    [at(view, best.x, 0)[0] + 6, at(view, best.x, z)[1] + 11.5],
    `least wood under the rod ${dim(best.wood)}, at x = ${dim(best.x)}`,
    SIZE.small,
    {
      ink: "accent",
    },
  );
}

/** Rings of a channel cut along the centreline: all of it, the rod in it, the strip that closes it. */
function rodRings(
  neck: Neck,
  r: Neck["features"]["rod"][number],
  xs: readonly number[],
  to: (pts: readonly XY[]) => XY[],
): { readonly whole: XY[]; readonly rod: XY[]; readonly filler: XY[] } {
  const along = stations(r.xMin, r.xMax, 2, xs);
  const open = (x: number): number => (r.from === "board" ? 0 : backAt(neck, x));
  const inner = r.from === "board" ? Math.min(0, r.zFloor + r.rodHeight) : r.zFloor - r.rodHeight;
  const opening = along.map((x): XY => [x, open(x)]);
  const back = [...opening].reverse();
  return {
    whole: to([[r.xMin, r.zFloor], [r.xMax, r.zFloor], ...back]),
    rod: to([
      [r.xMin, r.zFloor],
      [r.xMax, r.zFloor],
      [r.xMax, inner],
      [r.xMin, inner],
    ]),
    filler: to([[r.xMin, inner], [r.xMax, inner], ...back]),
  };
}

/** Fret slots, marker recesses on the centreline and the nut seat, cut out of the board. */
function drawNotches(pen: Pen, neck: Neck, view: View): void {
  const f = neck.features;
  const notch = (x0: number, x1: number, floor: number, over: number): void => {
    const lift = 0.2 / view.scale;
    pen.rect("none", at(view, x0, over + lift), at(view, x1, floor), { fill: "paper" });
    pen.polyline("narrow", [at(view, x0, over), at(view, x0, floor), at(view, x1, floor), at(view, x1, over)]);
  };
  for (const s of f.frets) {
    const x = (s.bass.x + s.treble.x) / 2;
    const top = neck.top(x, 0);
    notch(x - s.kerf / 2, x + s.kerf / 2, top - s.depth, top);
  }
  for (const m of f.markers) {
    if (Math.abs(m.y) > m.diameter / 2) continue;
    const half = Math.sqrt(m.diameter ** 2 / 4 - m.y ** 2);
    pen.rect("narrow", at(view, m.x - half, neck.top(m.x, 0)), at(view, m.x + half, m.zFloor), { fill: "shade" });
  }
  notch(f.nut.xMin, f.nut.xMax, f.nut.zFloor, Math.max(neck.top(f.nut.xMin, 0), neck.top(f.nut.xMax, 0)));
}
