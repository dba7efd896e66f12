import type { Contour, Curve, Point } from "../../kernel/curve.ts";
import { reversed } from "./curves.ts";
import type { DrawingRequest } from "./types.ts";

/** Quarter turns that bring the headstock of a drawing to point to the left. */
const TURNS = { left: 0, up: 1, right: 2, down: 3 } as const;

/**
 * A drawing's outline (y up) in the neck's frame: the nut's centre comes to the origin, the headstock to x < 0, the treble side of a
 * right-handed neck to y > 0. `nutAt` is a place as the file counts it: y downward in an SVG. Exact: quarter turns and mirrors.
 */
export function placeOutline(outline: Contour, request: DrawingRequest, kind: "dxf" | "svg"): Contour {
  const nut = { x: request.nutAt?.x ?? 0, y: (request.nutAt?.y ?? 0) * (kind === "svg" ? -1 : 1) };
  const turns = TURNS[request.toward ?? "left"];
  const back = request.seen === "back";
  const curves = outline.curves.map((c) => placed(c, nut, turns, back));
  return { name: "drawing", curves: back ? curves.map(reversed).reverse() : curves };
}

function placed(c: Curve, nut: Point, turns: number, back: boolean): Curve {
  const p = (q: Point): Point => {
    const [x, y] = [q.x - nut.x, q.y - nut.y];
    const [u, v] = turns === 0 ? [x, y] : turns === 1 ? [-y, x] : turns === 2 ? [-x, -y] : [y, -x];
    // + 0: no negative zeros
    return { x: u + 0, y: (back ? -v : v) + 0 };
  };
  if (c.kind === "line") return { kind: "line", a: p(c.a), b: p(c.b) };
  if (c.kind === "cubic") return { kind: "cubic", p0: p(c.p0), p1: p(c.p1), p2: p(c.p2), p3: p(c.p3) };
  const start = c.start + (turns * Math.PI) / 2;
  return { kind: "arc", centre: p(c.centre), radius: c.radius, start: back ? -start : start, sweep: back ? -c.sweep : c.sweep };
}
