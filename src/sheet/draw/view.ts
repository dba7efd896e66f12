import type { Contour, Curve, Point } from "../../kernel/curve.ts";
import type { PathStep, XY } from "./types.ts";

/**
 * Places a model plane on the page: page = origin + scale * R * (x, y) with R one of the eight ways to lay a plane down
 * without tilting it. `right` and `up` say which model direction points right and up on the page.
 */
export interface View {
  readonly origin: XY;
  readonly scale: number;
  /** Page directions of the model's x and y axes (unit vectors, page y down). */
  readonly ex: XY;
  readonly ey: XY;
}

/** Model x to the right, model y up. */
export const uprightView = (origin: XY, scale: number): View => ({ origin, scale, ex: [1, 0], ey: [0, -1] });

export const at = (v: View, x: number, y: number): XY => [
  v.origin[0] + v.scale * (v.ex[0] * x + v.ey[0] * y),
  v.origin[1] + v.scale * (v.ex[1] * x + v.ey[1] * y),
];

/** +1 when the view keeps the sense of rotation in page axes (x right, y down), -1 when it mirrors it. */
export const senseOf = (v: View): number => (v.ex[0] * v.ey[1] - v.ex[1] * v.ey[0] > 0 ? 1 : -1);

function arcStep(v: View, c: Curve & { kind: "arc" }): PathStep {
  const sense = senseOf(v);
  const [ax, ay] = [Math.cos(c.start), Math.sin(c.start)];
  const [cx, cy] = at(v, c.centre.x, c.centre.y);
  const start = Math.atan2(v.ex[1] * ax + v.ey[1] * ay, v.ex[0] * ax + v.ey[0] * ay);
  const sweep = sense * c.sweep;
  const r = c.radius * v.scale;
  return { to: "arc", cx, cy, r, start, sweep, x: cx + r * Math.cos(start + sweep), y: cy + r * Math.sin(start + sweep) };
}

const startOf = (c: Curve): Point =>
  c.kind === "line"
    ? c.a
    : c.kind === "cubic"
      ? c.p0
      : { x: c.centre.x + c.radius * Math.cos(c.start), y: c.centre.y + c.radius * Math.sin(c.start) };

/** The path of a chain of curves in this view, curve for curve, nothing flattened. */
export function pathOf(v: View, curves: readonly Curve[], closed: boolean): PathStep[] {
  if (curves.length === 0) return [];
  const s = startOf(curves[0]);
  const [mx, my] = at(v, s.x, s.y);
  const steps: PathStep[] = [{ to: "move", x: mx, y: my }];
  for (const c of curves) {
    if (c.kind === "line") {
      const [x, y] = at(v, c.b.x, c.b.y);
      steps.push({ to: "line", x, y });
    } else if (c.kind === "arc") steps.push(arcStep(v, c));
    else {
      const [x1, y1] = at(v, c.p1.x, c.p1.y);
      const [x2, y2] = at(v, c.p2.x, c.p2.y);
      const [x, y] = at(v, c.p3.x, c.p3.y);
      steps.push({ to: "cubic", x1, y1, x2, y2, x, y });
    }
  }
  if (closed) steps.push({ to: "close" });
  return steps;
}

export const contourPath = (v: View, c: Contour): PathStep[] => pathOf(v, c.curves, true);
