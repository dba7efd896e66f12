import type { Curve, Point } from "../../kernel/curve.ts";
import type { Neck, RollerBore } from "../../neck/types.ts";
import type { Drawing, XY } from "../draw/types.ts";
import { at, pathOf, uprightView } from "../draw/view.ts";
import { dim, SIZE, upperSide } from "../drawings/common.ts";
import { Pen } from "../drawings/pen.ts";
import { nutCorners } from "../drawings/plan.ts";
import { behindNut } from "../template.ts";
import { scaleBar } from "./bar.ts";
import { cutChain, cutOff, mapped } from "./split.ts";

const MARGIN = 12;

/** Tilt of the headstock's face, radians. */
export const tiltOfHead = (neck: Neck): number =>
  (neck.order.headstock.kind ?? "flat") === "flat" ? 0 : (neck.order.headstock.angle ?? 0);

/**
 * Where a place of the plan lies on the headstock's own face, laid flat: beyond the line behind the nut about which the face tilts,
 * distances square to that line grow by 1 / cos(tilt).
 */
export function unfolded(neck: Neck): (p: Point) => Point {
  const tilt = tiltOfHead(neck);
  const s = neck.places.nutSlope;
  const n = Math.hypot(1, s);
  const more = 1 / Math.cos(tilt) - 1;
  return (p) => {
    const d = Math.min(0, (p.x - s * p.y - neck.places.rampTop) / n);
    return { x: p.x + (more * d) / n, y: p.y - (more * d * s) / n };
  };
}

/** A roller's axis on the unfolded face: the foot of the square from its mouth to the face, and how deep under the face it lies. */
export function rollerOnFace(neck: Neck, r: RollerBore): { readonly x: number; readonly y: number; readonly under: number } {
  const tilt = tiltOfHead(neck);
  const s = neck.places.nutSlope;
  const n = Math.hypot(1, s);
  const under = -neck.topDistance(r.x, r.y, r.z);
  const back = under * Math.sin(tilt);
  const foot = { x: r.x - back / n, y: r.y + (back * s) / n };
  return { ...unfolded(neck)(foot), under };
}

/** The mouth of a slot through the head, seen from above, as curves: straight sides, half-round ends. */
export function slotCurves(h: { readonly xMin: number; readonly xMax: number; readonly y: number; readonly width: number }): Curve[] {
  const r = h.width / 2;
  const [a, b] = [h.xMin + r, h.xMax - r];
  return [
    { kind: "line", a: { x: a, y: h.y - r }, b: { x: b, y: h.y - r } },
    { kind: "arc", centre: { x: b, y: h.y }, radius: r, start: -Math.PI / 2, sweep: Math.PI },
    { kind: "line", a: { x: b, y: h.y + r }, b: { x: a, y: h.y + r } },
    { kind: "arc", centre: { x: a, y: h.y }, radius: r, start: Math.PI / 2, sweep: Math.PI },
  ];
}

/**
 * The headstock's face in its true shape, laid flat, with the nut and the beginning of the board: x = 0 is the nut's line. On a
 * tilted headstock lengths along the face are longer than in the plan. Layers: HEADSTOCK, BOARD, NUT, NUT-LINE, TUNERS, BUSHES, HEAD-SLOTS, ROLLERS,
 * CENTRELINE, CHECK-BAR, NOTES.
 */
export function faceDrawing(neck: Neck): Drawing {
  const flat = unfolded(neck);
  const tilt = tiltOfHead(neck);
  const lay = (c: readonly Curve[]): Curve[] => (tilt === 0 ? [...c] : mapped(c, flat));
  const outline = cutOff(neck.outline.curves, behindNut(neck)) ?? [];
  const head = lay(outline);
  const points = head.flatMap((c): Point[] =>
    c.kind === "line"
      ? [c.a, c.b]
      : c.kind === "cubic"
        ? [c.p0, c.p1, c.p2, c.p3]
        : [
            { x: c.centre.x - c.radius, y: c.centre.y - c.radius },
            { x: c.centre.x + c.radius, y: c.centre.y + c.radius },
          ],
  );
  const xMin = Math.min(...points.map((p) => p.x), neck.places.tip);
  const nut = nutCorners(neck);
  const yMax = Math.max(...points.map((p) => p.y), ...nut.map((q) => q[1]));
  const yMin = Math.min(...points.map((p) => p.y), ...nut.map((q) => q[1]));
  const board = 16;
  const view = uprightView([MARGIN - xMin, MARGIN + yMax], 1);
  const pen = new Pen();
  pen.path("wide", pathOf(view, head, true), { layer: "HEADSTOCK" });
  for (const run of cutChain(neck.outline.curves, { a: 1, b: 0, c: board }))
    for (const piece of cutChain(run, { a: -1, b: neck.places.nutSlope, c: -neck.places.rampTop }))
      pen.path("narrow", pathOf(view, piece, false), { layer: "BOARD" });
  pen.polyline(
    "narrow",
    nut.map(([x, y]) => at(view, x, y)),
    { closed: true, layer: "NUT" },
  );
  const across = (i: 0 | 1): XY => {
    let y = 0;
    for (let k = 0; k < 20; k++) y = neck.boardEdges(neck.places.nutSlope * y)[i];
    return at(view, neck.places.nutSlope * y, y);
  };
  pen.line("wide", across(0), across(1), { layer: "NUT-LINE" });
  for (const t of neck.features.tuners) {
    const p = flat({ x: t.x, y: t.y });
    const c = at(view, p.x, p.y);
    t.steps.forEach((s, k) => {
      pen.circle("wide", c, s.diameter / 2, { layer: k === t.steps.length - 1 ? "TUNERS" : "BUSHES" });
    });
    pen.cross(c, t.steps[0].diameter / 2, 1.4);
    const r = t.steps[0].diameter / 2;
    pen.text([c[0] + r * 0.75 + 0.5, c[1] - r * 0.75 - 0.5], `${t.string}`, SIZE.small, { layer: "NOTES" });
  }
  for (const h of neck.features.headSlots) pen.path("wide", pathOf(view, lay(slotCurves(h)), true), { layer: "HEAD-SLOTS" });
  for (const r of neck.features.rollers) {
    const f = rollerOnFace(neck, r);
    const inward = r.y > 0 ? -1 : 1;
    const h = r.diameter / 2;
    pen.rect("hidden", at(view, f.x - h, f.y), at(view, f.x + h, f.y + inward * r.depth), { layer: "ROLLERS" });
    pen.line("centre", at(view, f.x, f.y - inward * 3), at(view, f.x, f.y + inward * (r.depth + 2)), { layer: "ROLLERS" });
    pen.text(at(view, f.x + h + 0.6, f.y + (inward < 0 ? 1.2 : -3)), `${r.string}`, SIZE.small, { layer: "NOTES" });
  }
  pen.line("centre", at(view, xMin - 6, 0), at(view, board + 4, 0), { layer: "CENTRELINE" });
  // the line along which the face meets the board is where a tilted face begins
  const words = tilt === 0 ? "as in the plan" : `tilted ${dim((tilt * 180) / Math.PI)}°: lengths along the face`;
  const height = MARGIN + yMax - yMin + 26;
  scaleBar(pen, [4, height - 4], "x");
  pen.text([4, height - 13], `${upperSide(neck)} side up; ${words}`, SIZE.small, { layer: "NOTES" });
  return {
    id: "headstock",
    title: "Headstock face, true shape",
    says: `The headstock's face laid flat at true size, ${dim(-xMin)} mm from the nut to the tip along the face.`,
    width: Math.max(MARGIN + board - xMin + 8, 120),
    height,
    group: 0.35,
    items: pen.items,
    scale: 1,
    origin: view.origin,
  };
}
