import type { Curve } from "../kernel/curve.ts";
import type { Neck, RodChannel } from "../neck/types.ts";
import type { Drawing, LineKind } from "./draw/types.ts";
import { at, pathOf, uprightView, type View } from "./draw/view.ts";
import { dim, extentOf, liesSays, SIZE } from "./drawings/common.ts";
import { Pen } from "./drawings/pen.ts";
import { channelPath, nutCorners } from "./drawings/plan.ts";
import { scaleBar } from "./exports/bar.ts";
import { circleCurve, cutOff, type HalfPlane, mapped } from "./exports/split.ts";

const MARGIN = 12;

/**
 * The neck's plan alone at true size, no dimensions: for a template, and for DXF, where x = 0 is the nut's bridge-side edge and
 * y = 0 the centreline. Layers: OUTLINE (all of it), BOARD, SHAFT and HEADSTOCK (the parts), FRET-SLOTS (their middles), NUT, TUNERS
 * (post) and BUSHES, MARKERS, SIDE-MARKERS, HEAD-SLOTS, ROLLERS, ROD, ROD-ACCESS, BARS, SCREWS, TENON, STRINGS, CENTRELINE,
 * CHECK-BAR, NOTES. A tilted headstock is seen from straight above; its true shape is a drawing of its own.
 */
export function templateDrawing(neck: Neck): Drawing {
  const e = extentOf(neck);
  const view = uprightView([MARGIN - e.xMin, MARGIN + e.yMax], 1);
  const height = MARGIN * 2 + e.yMax - e.yMin + 9;
  const pen = new Pen();
  const draw = (line: LineKind, curves: readonly Curve[] | null, layer: string): void => {
    if (curves !== null) pen.path(line, pathOf(view, curves, true), { layer });
  };
  draw("wide", neck.outline.curves, "OUTLINE");
  draw("wide", neck.board.curves, "BOARD");
  draw("narrow", cutOff(neck.outline.curves, { a: 1, b: 0, c: neck.places.shaftEnd }), "SHAFT");
  draw("narrow", cutOff(neck.outline.curves, behindNut(neck)), "HEADSTOCK");
  drawBoardFeatures(pen, neck, view);
  drawHead(pen, neck, view);
  drawInside(pen, neck, view);
  drawStrings(pen, neck, view);
  pen.line("centre", at(view, e.xMin - 6, 0), at(view, e.xMax + 6, 0), { layer: "CENTRELINE" });
  // a bar to measure the copy by, under the board
  scaleBar(pen, [view.origin[0] + 10, height - 4], "x");
  return {
    id: "plan",
    title: "Plan of the face",
    says: `The plan of the neck at true size, ${dim(e.xMax - e.xMin)} mm long. ${liesSays(neck)}`,
    width: MARGIN * 2 + e.xMax - e.xMin,
    height,
    group: 0.35,
    items: pen.items,
    scale: 1,
    origin: view.origin,
  };
}

/** What lies beyond the board's front (the nut's headstock-side end of it): the headstock as a part. */
export const behindNut = (neck: Neck): HalfPlane => ({ a: 1, b: -neck.places.nutSlope, c: neck.places.rampTop });

function drawBoardFeatures(pen: Pen, neck: Neck, view: View): void {
  const f = neck.features;
  for (const s of f.frets) pen.line("wide", at(view, s.bass.x, s.bass.y), at(view, s.treble.x, s.treble.y), { layer: "FRET-SLOTS" });
  for (const s of f.frets.filter((_, k) => k % 2 === 0 || f.frets.length < 16)) {
    const hi = s.bass.y > s.treble.y ? s.bass : s.treble;
    const [x, y] = at(view, hi.x, neck.boardEdges(hi.x)[1]);
    pen.text([x, y - 1.4], `${s.number}`, SIZE.small, { anchor: "middle", ink: "soft", layer: "NOTES" });
  }
  pen.polyline(
    "wide",
    nutCorners(neck).map(([x, y]) => at(view, x, y)),
    { closed: true, layer: "NUT" },
  );
  for (const m of f.markers) pen.circle("narrow", at(view, m.x, m.y), m.diameter / 2, { layer: "MARKERS" });
  // bored from the edge: a tick as long as the bore is deep
  for (const s of f.sideMarkers)
    pen.line("narrow", at(view, s.x, s.y), at(view, s.x, s.y - Math.sign(s.y) * s.depth), { layer: "SIDE-MARKERS" });
}

function drawHead(pen: Pen, neck: Neck, view: View): void {
  const f = neck.features;
  for (const t of f.tuners) {
    t.steps.forEach((s, k) => {
      const layer = k === t.steps.length - 1 ? "TUNERS" : "BUSHES";
      if (!t.tilt) pen.circle("wide", at(view, t.x, t.y), s.diameter / 2, { layer });
      else pen.path("wide", pathOf(view, leaning(neck, t.x, t.y, s.diameter / 2, t.tilt), true), { layer });
    });
    pen.cross(at(view, t.x, t.y), t.steps[0].diameter / 2, 1);
  }
  for (const h of f.headSlots) pen.path("wide", channelPath(view, h), { layer: "HEAD-SLOTS" });
  for (const r of f.rollers) {
    const inward = r.y > 0 ? -1 : 1;
    pen.rect("hidden", at(view, r.x - r.diameter / 2, r.y), at(view, r.x + r.diameter / 2, r.y + inward * r.depth), { layer: "ROLLERS" });
    pen.line("centre", at(view, r.x, r.y - inward * 2.5), at(view, r.x, r.y + inward * (r.depth + 1.5)), { layer: "ROLLERS" });
  }
}

/** The mouth of a bore that stands square to a tilted face, seen from above: a circle pressed flat square to the nut's line. */
function leaning(neck: Neck, x: number, y: number, radius: number, tilt: number): Curve[] {
  const s = neck.places.nutSlope;
  const n = Math.hypot(1, s);
  const [nx, ny] = [1 / n, -s / n];
  const less = Math.cos(tilt) - 1;
  return mapped([circleCurve(x, y, radius)], (p) => {
    const d = (p.x - x) * nx + (p.y - y) * ny;
    return { x: p.x + less * d * nx, y: p.y + less * d * ny };
  });
}

const channelLayer = (id: RodChannel["id"]): string => (id === "rod-channel" ? "ROD" : id === "rod-access" ? "ROD-ACCESS" : "BARS");

function drawInside(pen: Pen, neck: Neck, view: View): void {
  const f = neck.features;
  for (const r of f.rod) pen.path("hidden", channelPath(view, r), { layer: channelLayer(r.id) });
  for (const s of f.screws) {
    pen.circle("hidden", at(view, s.x, s.y), s.diameter / 2, { layer: "SCREWS" });
    pen.cross(at(view, s.x, s.y), s.diameter / 2, 1);
  }
  if (f.tenon) {
    const h = f.tenon.width / 2;
    pen.rect("hidden", at(view, f.tenon.xMin, h), at(view, f.tenon.xMax, -h), { layer: "TENON" });
  }
}

/** The strings' middles from the nut to the board's end. */
function drawStrings(pen: Pen, neck: Neck, view: View): void {
  for (let s = 1; s <= neck.order.strings.count; s++) {
    let x = 0;
    for (let k = 0; k < 30; k++) x = neck.places.nutSlope * neck.stringAt(s, x);
    const to = neck.places.boardEnd;
    pen.line("hair", at(view, x, neck.stringAt(s, x)), at(view, to, neck.stringAt(s, to)), { layer: "STRINGS" });
  }
}
