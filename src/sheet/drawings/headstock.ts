import type { Neck } from "../../neck/types.ts";
import { radToDeg } from "../../units/index.ts";
import { clipPolyline } from "../draw/clip.ts";
import type { Drawing, XY } from "../draw/types.ts";
import { at, uprightView, type View } from "../draw/view.ts";
import { dim, extentOf, SIZE, upperSide } from "./common.ts";
import { Pen } from "./pen.ts";
import { drawFace } from "./plan.ts";
import { backAt, headTilt, onCentreline, stations } from "./profile.ts";

const LEFT = 22;
const RIGHT = 30;

/** The headstock from above with every bore's place, and cut along the centreline with face, ramp and thickness. */
export function headstockDrawing(neck: Neck, scale: number): Drawing {
  const e = extentOf(neck);
  const xEnd = 14;
  const [yMin, yMax] = headExtent(neck, e.xMin, xEnd);
  const above = 8;
  const view = uprightView([LEFT - e.xMin * scale, above + yMax * scale], scale);
  const right = at(view, xEnd, 0)[0];
  const planLow = at(view, 0, yMin)[1];
  const pen = new Pen();
  const whole = new Pen();
  drawFace(whole, neck, view);
  cropRight(pen, whole, right);
  pen.line("centre", at(view, e.xMin - 5 / scale, 0), [right + 3, at(view, 0, 0)[1]], { ink: "soft" });
  breakLine(pen, [right, at(view, 0, neck.edges(xEnd)[1])[1]], [right, at(view, 0, neck.edges(xEnd)[0])[1]]);
  ordinates(pen, neck, view, planLow);
  const low = drawCut(pen, neck, view.origin[0], planLow + 30, scale, xEnd);
  words(pen, neck, [LEFT, low + 8]);
  return {
    id: "headstock",
    title: "Headstock",
    says: `Headstock from above with ${postsOf(neck).length} tuner places dimensioned from the nut's edge and the centreline, and in section along the centreline.`,
    width: right + RIGHT,
    height: low + 20,
    group: 0.35,
    items: pen.items,
    scale,
    origin: view.origin,
  };
}

function headExtent(neck: Neck, from: number, to: number): readonly [number, number] {
  let [lo, hi] = [0, 0];
  for (const x of stations(from, to, 0.5, [])) {
    const [a, b] = neck.edges(x);
    lo = Math.min(lo, a);
    hi = Math.max(hi, b);
  }
  return [lo, hi];
}

/** Copies what lies left of `right`; paths are flattened and clipped there. */
function cropRight(pen: Pen, from: Pen, right: number): void {
  const far = 1e4;
  const window: XY[][] = [
    [
      [-far, -far],
      [right, -far],
      [right, far],
      [-far, far],
    ],
  ];
  for (const item of from.items) {
    if (item.kind === "circle") {
      if (item.centre[0] < right) pen.items.push(item);
    } else if (item.kind === "line") {
      if (Math.max(item.a[0], item.b[0]) <= right) pen.items.push(item);
    } else if (item.kind === "polyline") {
      if (item.points.every((p) => p[0] <= right)) pen.items.push(item);
    } else if (item.kind === "path" && item.line !== "none") {
      const pts = flattenSteps(item.steps);
      for (const run of clipPolyline(window, pts)) pen.polyline(item.line, run);
    }
  }
}

function flattenSteps(steps: readonly import("../draw/types.ts").PathStep[]): XY[] {
  const pts: XY[] = [];
  for (const s of steps) {
    if (s.to === "close") {
      if (pts.length > 0) pts.push(pts[0]);
    } else if (s.to === "arc") {
      for (let k = 1; k <= 24; k++) {
        const a = s.start + (s.sweep * k) / 24;
        pts.push([s.cx + s.r * Math.cos(a), s.cy + s.r * Math.sin(a)]);
      }
    } else if (s.to === "cubic") {
      const [x0, y0] = pts[pts.length - 1];
      for (let k = 1; k <= 32; k++) {
        const t = k / 32;
        const u = 1 - t;
        const b = [u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t];
        pts.push([b[0] * x0 + b[1] * s.x1 + b[2] * s.x2 + b[3] * s.x, b[0] * y0 + b[1] * s.y1 + b[2] * s.y2 + b[3] * s.y]);
      }
    } else pts.push([s.x, s.y]);
  }
  return pts;
}

/** A break: a thin line with two kinks (ISO 128-2, 01.1 with zigzags). */
function breakLine(pen: Pen, a: XY, b: XY): void {
  const mid = (a[1] + b[1]) / 2;
  pen.polyline("narrow", [
    [a[0], a[1] - 3],
    [a[0], mid - 2],
    [a[0] - 1.5, mid - 0.7],
    [a[0] + 1.5, mid + 0.7],
    [a[0], mid + 2],
    [b[0], b[1] + 3],
  ]);
}

/** Running dimensions from the nut's edge (below) and from the centreline (left), one line for each place a bore stands at. */
function ordinates(pen: Pen, neck: Neck, view: View, low: number): void {
  const level = low + 6;
  const nut = at(view, 0, 0);
  const xs = distinct([neck.places.tip, ...postsOf(neck).map((t) => t.x)]);
  pen.line("narrow", [nut[0], at(view, 0, neck.edges(0)[0])[1] + 0.8], [nut[0], level]);
  pen.circle("narrow", [nut[0], level], 0.9);
  pen.text([nut[0] + 0.9, level + 2], "0", SIZE.figure, { anchor: "end", turn: -90 });
  for (const x of xs) {
    const ys = postsOf(neck)
      .filter((t) => Math.abs(t.x - x) < 0.05)
      .map((t) => t.y);
    const from = ys.length > 0 ? at(view, x, Math.min(...ys))[1] + 1 : low - 2;
    const px = at(view, x, 0)[0];
    pen.line("narrow", [px, from], [px, level], { ink: "soft" });
    pen.text([px + 0.9, level + 1.2], dim(-x), SIZE.figure, { anchor: "end", turn: -90 });
  }
  pen.text([nut[0] + 3, level + 2.6], "from the nut's edge", SIZE.small, { ink: "soft" });
  const labelX = at(view, neck.places.tip, 0)[0] - 7;
  const ordered = [...neck.features.tuners].sort((a, b) => b.y - a.y);
  for (const h of neck.features.headSlots) {
    const [px, py] = at(view, h.xMin, h.y);
    pen.text([labelX, py + 0.9], `${dim(Math.abs(h.y))}`, SIZE.figure, { anchor: "end" });
    pen.line("hair", [labelX + 1, py], [px, py], { ink: "soft" });
  }
  let last = Number.NEGATIVE_INFINITY;
  for (const t of ordered) {
    const [px, py] = at(view, t.x, t.y);
    const textY = Math.max(py + 0.9, last + 3);
    last = textY;
    pen.line("hair", [labelX + 1, textY - 0.9], [labelX + 3, py], { ink: "soft" });
    pen.line("hair", [labelX + 3, py], [px - (t.steps[0].diameter / 2) * view.scale - 1, py], { ink: "soft" });
    pen.text([labelX, textY], dim(Math.abs(t.y)), SIZE.figure, { anchor: "end" });
  }
  for (const t of neck.features.tuners) {
    const [px, py] = at(view, t.x, t.y);
    const r = (t.steps[0].diameter / 2) * view.scale;
    pen.text([px + r * 0.75 + 0.6, py - r * 0.75 - 0.6], `${t.string}`, SIZE.small, { ink: "soft", ground: true });
  }
}

/** Where strings are wound on: posts through the face, or rollers across a slotted head. */
const postsOf = (neck: Neck): readonly { readonly x: number; readonly y: number }[] => [...neck.features.tuners, ...neck.features.rollers];

/** Values that differ by more than 0.05, falling. */
function distinct(values: readonly number[]): number[] {
  const sorted = [...values].sort((a, b) => b - a);
  return sorted.filter((v, i) => i === 0 || sorted[i - 1] - v > 0.05);
}

/** The section along the centreline under the plan; gives the y of its lowest line. */
function drawCut(pen: Pen, neck: Neck, x0: number, top: number, scale: number, xEnd: number): number {
  const p = neck.places;
  const crown = Math.max(0, neck.top(xEnd, 0));
  const view = uprightView([x0, top + crown * scale], scale);
  const to = (pts: readonly XY[]): XY[] => pts.map(([x, z]) => at(view, x, z));
  const xs = onCentreline(neck, stations(p.tip, xEnd, 0.5, [p.rampFoot, p.rampTop, p.boardFront, 0, p.headBack]));
  const back = xs.map((x): XY => [x, backAt(neck, x)]);
  const face = xs.filter((x) => x <= p.boardFront).map((x): XY => [x, Math.min(0, neck.top(x, 0))]);
  const shaft = to([...face, [p.boardFront, 0], [xEnd, 0], ...[...back].reverse()]);
  const board = to([...xs.filter((x) => neck.top(x, 0) > 0).map((x): XY => [x, neck.top(x, 0)]), [xEnd, 0], [p.boardFront, 0]]);
  pen.hatch({ rings: [shaft], grain: "long", spacing: 1.3 });
  pen.polyline("heavy", shaft, { closed: true });
  if (neck.order.blank.kind === "board-glued") {
    pen.hatch({ rings: [board], grain: "long", spacing: 0.7 });
    pen.polyline("heavy", board, { closed: true });
  } else pen.polyline("phantom", board, { closed: true });
  const nut = neck.features.nut;
  const lift = 1.2 / scale;
  const glued = neck.order.blank.kind === "board-glued";
  if (glued) pen.rect("none", at(view, nut.xMin, neck.top(nut.xMin, 0) + lift), at(view, nut.xMax, nut.zFloor), { fill: "paper" });
  pen.polyline(glued ? "wide" : "narrow", [
    at(view, nut.xMin, neck.top(nut.xMin, 0)),
    at(view, nut.xMin, nut.zFloor),
    at(view, nut.xMax, nut.zFloor),
    at(view, nut.xMax, neck.top(nut.xMax, 0)),
  ]);
  const t = neck.features.tuners[neck.features.tuners.length - 1];
  if (t) drawBore(pen, view, t.steps, t.x, t.tilt ?? 0);
  const x1 = Math.max(xs[0], p.tip) + 1;
  const faceZ = neck.top(x1, 0);
  const backZ = backAt(neck, x1);
  const tilt = headTilt(neck);
  const isTilted = Math.abs(tilt) > 0.005;
  const tip = at(view, xs[0], faceZ);
  const end = at(view, xEnd, 0);
  if (isTilted) {
    const t = (faceZ - backZ) * Math.cos(tilt);
    const x = p.tip + 0.3 * (p.rampFoot - p.tip);
    const z = neck.top(x, 0);
    const [a, b] = [at(view, x, z), at(view, x + t * Math.sin(tilt), z - t * Math.cos(tilt))];
    pen.dimension({ a, b, along: "straight", line: 0, text: "" });
    pen.text([b[0], b[1] + 5.4], dim(t), SIZE.figure, { anchor: "middle", ground: true });
    pen.text([at(view, p.tip, 0)[0], at(view, 0, 0)[1] + 3], `face tilted ${dim(radToDeg(tilt))}° to the glue plane`, SIZE.small);
  } else {
    pen.dimension({ a: at(view, xs[0], backZ), b: tip, along: "y", line: tip[0] - 8, text: dim(faceZ - backZ) });
    pen.line("narrow", [end[0] + 1, end[1]], [end[0] + 14, end[1]], { ink: "soft" });
    pen.dimension({ a: at(view, p.rampFoot, faceZ), b: [end[0], end[1]], along: "y", line: end[0] + 9, text: dim(-faceZ), ground: true });
  }
  const wide = isTilted ? end[0] + 8 : end[0] + 18;
  pen.dimension({ a: [end[0], end[1]], b: at(view, xEnd, neck.top(xEnd, 0)), along: "y", line: wide, text: dim(neck.top(xEnd, 0)) });
  const midRamp = (p.rampFoot + p.rampTop) / 2;
  const onRamp = at(view, midRamp, neck.top(midRamp, 0));
  if (!isTilted) pen.leader(onRamp, [onRamp[0] - 9, onRamp[1] - 7], `ramp radius ${dim(neck.order.headstock.rampRadius)}`, SIZE.small);
  const low = at(view, 0, Math.min(...back.map((b) => b[1])))[1];
  pen.dimension({
    a: at(view, nut.xMin, nut.zFloor),
    b: at(view, nut.xMax, nut.zFloor),
    along: "x",
    line: top - 5,
    text: dim(nut.xMax - nut.xMin),
  });
  return low + 4;
}

/** A stepped bore on the section, seen as if it lay on it; it leans with a tilted face. */
function drawBore(pen: Pen, view: View, steps: Neck["features"]["tuners"][number]["steps"], x: number, tilt: number): void {
  const open = steps[0].zTop;
  // across the bore and down its axis, from where it opens
  const to = (across: number, down: number): XY =>
    at(view, x + across * Math.cos(tilt) + down * Math.sin(tilt), open + across * Math.sin(tilt) - down * Math.cos(tilt));
  for (const s of steps) {
    const r = s.diameter / 2;
    const [d0, d1] = [open - s.zTop, open - s.zBottom];
    pen.polyline("wide", [to(-r, d0), to(r, d0), to(r, d1), to(-r, d1)], { closed: true, fill: "paper" });
  }
  pen.line("centre", to(0, -3 / view.scale), to(0, open - steps[steps.length - 1].zBottom + 3 / view.scale));
}

function words(pen: Pen, neck: Neck, [x, y]: XY): void {
  const t = neck.features.tuners;
  const lines: string[] = [];
  if (t.length > 0) {
    const bores = t[0].steps.map((s) => `⌀${dim(s.diameter)} from z ${dim(s.zTop)} to ${dim(s.zBottom)}`).join(", then ");
    const most = Math.max(...t.map((b) => Math.abs(radToDeg(b.stringAngle))));
    lines.push(`${t.length} tuner bores, each ${bores} (z = 0 is the glue plane).`);
    lines.push(
      `Small figures at the bores: string number, 1 is the treble-most. Figures at the left: from the centreline. Strings turn aside at the nut by ${dim(most)}° at most.`,
    );
  }
  const r = neck.features.rollers;
  if (r.length > 0) {
    lines.push(
      `Slotted: ${neck.features.headSlots.length} openings ${dim(neck.features.headSlots[0]?.width ?? 0)} wide; ${r.length} roller bores ⌀${dim(r[0].diameter)}, ${dim(r[0].depth)} deep from the sides, drilled by a guide at ${r.map((b) => dim(-b.x)).join(", ")}.`,
    );
  }
  if (upperSide(neck) === "bass") lines.push("Left-handed: bass side up.");
  lines.forEach((l, i) => {
    pen.text([x - 14, y + i * 3.6], l, SIZE.small, { ink: "soft" });
  });
}
