import type { Neck, RodChannel } from "../../neck/types.ts";
import { textWidth } from "../draw/metrics.ts";
import type { Drawing, PathStep, XY } from "../draw/types.ts";
import { at, uprightView, type View } from "../draw/view.ts";
import { dim, extentOf, liesSays, SIZE, upperSide } from "./common.ts";
import { Pen } from "./pen.ts";

/** Room round the neck for dimensions, mm of paper. */
const LEFT = 16;
const RIGHT = 24;
const ABOVE = 31;
const BELOW = 27;

/** The face of the neck, seen from above: outline, frets, nut, tuners, markers, strings, and what lies hidden; with its lengths and widths. */
export function planDrawing(neck: Neck, scale: number): Drawing {
  const e = extentOf(neck);
  const view = uprightView([LEFT - e.xMin * scale, ABOVE + e.yMax * scale], scale);
  const width = LEFT + (e.xMax - e.xMin) * scale + RIGHT;
  const height = ABOVE + (e.yMax - e.yMin) * scale + BELOW;
  const pen = new Pen();
  drawStrings(pen, neck, view);
  drawHidden(pen, neck, view);
  drawFace(pen, neck, view);
  dimensions(pen, neck, view);
  pen.text([LEFT, height - 1.2], `${liesSays(neck)} Dashed: from the back or inside.`, SIZE.small, { ink: "soft" });
  const n = neck.order.frets.count;
  return {
    id: "plan",
    title: "Plan of the face",
    says: `The neck from above, ${dim(e.xMax - e.xMin)} mm long: ${n} frets on a scale of ${dim(neck.order.scale)} mm, ${neck.features.tuners.length} tuner bores, ${neck.features.markers.length} marker recesses. ${liesSays(neck)}`,
    width,
    height,
    group: 0.35,
    items: pen.items,
    scale,
    origin: view.origin,
  };
}

/** Outline, board, frets, nut, bores and markers: what shows on the face. */
export function drawFace(pen: Pen, neck: Neck, view: View): void {
  const f = neck.features;
  pen.contour("wide", view, neck.outline, { layer: "outline" });
  pen.contour("wide", view, neck.board, { layer: "board" });
  drawRamp(pen, neck, view);
  for (const fret of f.frets)
    pen.line("wide", at(view, fret.bass.x, fret.bass.y), at(view, fret.treble.x, fret.treble.y), { layer: "frets", ink: "soft" });
  pen.polyline(
    "narrow",
    nutCorners(neck).map(([x, y]) => at(view, x, y)),
    { closed: true, fill: "shade", layer: "nut" },
  );
  for (const h of f.headSlots) pen.path("wide", channelPath(view, h), { layer: "head-slots" });
  for (const r of f.rollers) {
    const inward = r.y > 0 ? -1 : 1;
    const [a, b] = [at(view, r.x - r.diameter / 2, r.y), at(view, r.x + r.diameter / 2, r.y + inward * r.depth)];
    pen.rect("hidden", a, b, { layer: "rollers" });
    pen.line("centre", at(view, r.x, r.y - (inward * 2.5) / view.scale), at(view, r.x, r.y + inward * (r.depth + 1.5 / view.scale)));
  }
  for (const m of f.markers) pen.circle("narrow", at(view, m.x, m.y), (m.diameter / 2) * view.scale, { layer: "markers", fill: "shade" });
  for (const t of f.tuners) {
    const c = at(view, t.x, t.y);
    for (const s of t.steps) pen.circle("wide", c, (s.diameter / 2) * view.scale, { layer: "tuners" });
    pen.cross(c, (t.steps[0].diameter / 2) * view.scale, 1);
  }
  for (const s of f.sideMarkers) {
    const p = at(view, s.x, s.y);
    const out = s.y > 0 ? -1 : 1;
    pen.line("wide", [p[0], p[1] + out * 0.2], [p[0], p[1] + out * 1.4], { layer: "side-markers" });
  }
}

/** The foot of the headstock's ramp: a narrow line across, where the surfaces are tangent (ISO 128-3: imaginary intersection). */
function drawRamp(pen: Pen, neck: Neck, view: View): void {
  const slope = neck.places.nutSlope;
  for (const x of [neck.places.rampFoot, neck.places.rampTop]) {
    if (!(x > neck.places.tip && x < 0)) continue;
    const [lo, hi] = neck.edges(x);
    const inset = 0.03 * (hi - lo);
    pen.line("narrow", at(view, x + slope * (lo + inset), lo + inset), at(view, x + slope * (hi - inset), hi - inset), { ink: "soft" });
  }
}

/** The nut's place from edge to edge of the board; its lines slant on a multi-scale neck. */
export function nutCorners(neck: Neck): XY[] {
  const { xMin, xMax } = neck.features.nut;
  const slope = neck.places.nutSlope;
  const corner = (x: number, side: 0 | 1): XY => {
    // where the line x + slope y meets the board's edge: the edges are nearly along x, so a few steps settle it
    let y = neck.boardEdges(x)[side];
    for (let k = 0; k < 20; k++) y = neck.boardEdges(x + slope * y)[side];
    return [x + slope * y, y];
  };
  return [corner(xMin, 1), corner(xMax, 1), corner(xMax, 0), corner(xMin, 0)];
}

function drawStrings(pen: Pen, neck: Neck, view: View): void {
  const count = neck.order.strings.count;
  for (let s = 1; s <= count; s++) {
    const nut: XY = at(view, neck.places.nutSlope * neck.stringAt(s, 0), neck.stringAt(s, 0));
    pen.line("hair", nut, at(view, neck.places.boardEnd, neck.stringAt(s, neck.places.boardEnd)), { ink: "soft" });
    const t = neck.features.tuners.find((u) => u.string === s);
    const roller = neck.features.rollers.find((u) => u.string === s);
    if (roller) pen.line("hair", nut, at(view, roller.x, neck.stringAt(s, roller.x)), { ink: "soft" });
    if (!t) continue;
    const straight = neck.stringAt(s, t.x);
    const y = Math.abs(straight - t.y) < t.steps[0].diameter ? straight : t.y;
    pen.line("hair", nut, at(view, t.x, y), { ink: "soft" });
  }
  const e = extentOf(neck);
  pen.line("centre", at(view, e.xMin - 4 / view.scale, 0), at(view, e.xMax + 4 / view.scale, 0), { ink: "soft" });
}

function drawHidden(pen: Pen, neck: Neck, view: View): void {
  for (const r of neck.features.rod) pen.path("hidden", channelPath(view, r), { ink: "soft", layer: r.id });
  for (const s of neck.features.screws) {
    const c = at(view, s.x, s.y);
    pen.circle("hidden", c, (s.diameter / 2) * view.scale, { ink: "soft", layer: "screws" });
    pen.cross(c, (s.diameter / 2) * view.scale, 1, { ink: "soft" });
  }
  const { tenon } = neck.features;
  if (tenon) {
    const h = tenon.width / 2;
    pen.rect("hidden", at(view, tenon.xMin, h), at(view, tenon.xMax, -h), { ink: "soft", layer: "tenon" });
  }
  const { shaftEnd, boardEnd } = neck.places;
  if (boardEnd - shaftEnd > 1e-6) {
    const [lo, hi] = neck.edges(shaftEnd);
    pen.line("hidden", at(view, shaftEnd, lo), at(view, shaftEnd, hi), { ink: "soft" });
  }
}

/** A channel with round ends. */
export function channelPath(view: View, r: Pick<RodChannel, "xMin" | "xMax" | "width" | "y">): PathStep[] {
  const h = r.width / 2;
  const mid = r.y ?? 0;
  const [x0, y0] = at(view, r.xMin + h, mid + h);
  const [x1, y1] = at(view, r.xMax - h, mid + h);
  const [x2, y2] = at(view, r.xMax - h, mid - h);
  const [x3, y3] = at(view, r.xMin + h, mid - h);
  const radius = h * view.scale;
  const arc = (cx: number, ax: number, ay: number, bx: number, by: number): PathStep => {
    const [px, py] = at(view, cx, mid);
    const start = Math.atan2(ay - py, ax - px);
    // on the page, y down: from the top of the right end clockwise to its bottom, and on round the left end
    return { to: "arc", cx: px, cy: py, r: radius, start, sweep: Math.PI, x: bx, y: by };
  };
  return [
    { to: "move", x: x0, y: y0 },
    { to: "line", x: x1, y: y1 },
    arc(r.xMax - h, x1, y1, x2, y2),
    { to: "line", x: x3, y: y3 },
    arc(r.xMin + h, x3, y3, x0, y0),
    { to: "close" },
  ];
}

function dimensions(pen: Pen, neck: Neck, view: View): void {
  const e = extentOf(neck);
  const p = neck.places;
  const page = (x: number, y: number): XY => at(view, x, y);
  const top = page(0, e.yMax)[1];
  const low = page(0, e.yMin)[1];
  const upper = (x: number): XY => page(x, x >= 0 ? neck.boardEdges(x)[1] : neck.edges(x)[1]);
  const lower = (x: number): XY => page(x, x >= 0 ? neck.boardEdges(x)[0] : neck.edges(Math.max(x, p.tip))[0]);
  const n = neck.order.frets.count;
  const overall = (from: number, to: number, row: number): void =>
    pen.dimension({ a: upper(from), b: upper(to), along: "x", line: top - row, text: dim(to - from) });
  const rows = [7, 13, 19, 25];
  if (n >= 12) overall(0, neck.fretAt(12), rows[0]);
  if (n >= 1 && n !== 12) overall(0, neck.fretAt(n), rows[1]);
  overall(0, p.boardEnd, rows[2]);
  overall(p.tip, 0, rows[2]);
  const [tipLow] = [lower(p.tip + 0.5)];
  const end = Math.max(p.boardEnd, p.end);
  pen.dimension({ a: tipLow, b: lower(end), along: "x", line: low + 19, text: `${dim(end - p.tip)} overall` });
  const posts = [...neck.features.tuners, ...neck.features.rollers];
  const xs = posts.map((t) => t.x);
  if (xs.length > 0) {
    const [first, last] = [Math.max(...xs), Math.min(...xs)];
    const yAt = (x: number): number => Math.min(...posts.filter((t) => t.x === x).map((t) => t.y));
    pen.dimension({ a: page(first, yAt(first)), b: lower(0), along: "x", line: low + 6, text: dim(-first) });
    if (last !== first) pen.dimension({ a: page(last, yAt(last)), b: lower(0), along: "x", line: low + 12, text: dim(-last) });
  }
  fretLabels(pen, neck, view);
  widths(pen, neck, view);
  const strings = neck.order.strings.count;
  const fan = neck.order.fan;
  const scale = fan ? `Scale ${dim(fan.bass)} bass, ${dim(fan.treble)} treble.` : `Scale ${dim(neck.order.scale)}.`;
  const spread =
    strings > 1
      ? ` Strings spread ${dim(neck.order.strings.spreadAtNut)} at the nut, ${dim(neck.order.strings.spreadAtBridge)} at the bridge.`
      : "";
  const words = scale + spread;
  const start = page(neck.fretAt(Math.min(n, 1)), 0)[0];
  pen.text([Math.max(start, page(0, 0)[0] + 4), low + 13.6], words, SIZE.figure);
  pen.text([page(p.boardEnd, 0)[0] - 1, low + 13.6], "to the bridge →", SIZE.figure, { anchor: "end", ink: "soft" });
  const up = upperSide(neck);
  const sideX = page(Math.max(p.boardEnd, p.end), 0)[0];
  pen.text([sideX + 1.6, upper(p.boardEnd)[1] - 1], up, SIZE.small, { ink: "soft" });
  pen.text([sideX + 1.6, lower(p.boardEnd)[1] + 2.6], up === "treble" ? "bass" : "treble", SIZE.small, { ink: "soft" });
}

/** Fret numbers along the upper edge, as many as there is room for. */
function fretLabels(pen: Pen, neck: Neck, view: View): void {
  let last = Number.NEGATIVE_INFINITY;
  for (const f of neck.features.frets) {
    const hi = f.bass.y > f.treble.y ? f.bass : f.treble;
    const [x, y] = at(view, hi.x, neck.boardEdges(hi.x)[1]);
    const label = `${f.number}`;
    const w = textWidth(label, SIZE.small);
    if (x - w / 2 < last + 0.8) continue;
    pen.text([x, y - 1.6], label, SIZE.small, { anchor: "middle", ink: "soft", ground: true });
    last = x + w / 2;
  }
}

/** Width dimensions across the board: at the nut, at fret 12 and at the end. */
function widths(pen: Pen, neck: Neck, view: View): void {
  const across = (x: number, lineX: number): void => {
    const [lo, hi] = neck.boardEdges(x);
    pen.dimension({ a: at(view, x, lo), b: at(view, x, hi), along: "y", line: lineX, text: dim(hi - lo), ground: true });
  };
  across(0, at(view, neck.places.boardFront, 0)[0] - 4);
  if (neck.order.frets.count >= 12) {
    const x = neck.fretAt(12);
    const [lo, hi] = neck.boardEdges(x);
    const tip = at(view, x, lo);
    pen.leader(tip, [tip[0] + 4, at(view, 0, extentOf(neck).yMin)[1] + 8], `${dim(hi - lo)} wide at fret 12`, SIZE.figure);
  }
  const end = neck.places.boardEnd - Math.max(0, neck.order.board.end.shape === "curved" ? neck.order.board.end.bow : 0);
  across(end, at(view, Math.max(neck.places.boardEnd, neck.places.end), 0)[0] + 12);
}
