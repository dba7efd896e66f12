import { flatten } from "../../kernel/contour.ts";
import { polygonArea, reversedPolygon } from "../../kernel/polygon.ts";
import { fibresOf, wallGrain } from "../../neck/grain.ts";
import type { Neck } from "../../neck/types.ts";
import type { Drawing, XY } from "../draw/types.ts";
import { at, uprightView, type View } from "../draw/view.ts";
import { hexOf, rampColour } from "../ramp.ts";
import { extentOf, liesSays, SIZE } from "./common.ts";
import { Pen } from "./pen.ts";

/*
 * Where the outline's walls would tear out, by the angle between wall and fibres: once for each side, since a turning cutter drives
 * its edges past a wall the other way when the piece is turned over. Coloured walls are those where edges run against the fibres,
 * so that only climbing feed is safe there; arrows show the feed that lays the fibres down on every stretch.
 */

const LEFT = 12;
const GAP = 16;
/** Colours step by this much, so that neighbouring pieces of one colour are one shape. */
const STEP = Math.PI / 36;
/** Full scale. */
const MOST = Math.PI / 2;
/** Width of the coloured band, paper mm. */
const BAND = 1.4;
/** Straights along the fibres have no direction to show. */
const LEAST = (0.3 * Math.PI) / 180;

interface Edge {
  readonly ax: number;
  readonly ay: number;
  readonly bx: number;
  readonly by: number;
  readonly nx: number;
  readonly ny: number;
  /** Feed that keeps the wood on the left: the way the edges run past the wall. */
  readonly tx: number;
  readonly ty: number;
  readonly angle: number;
  readonly against: boolean;
}

function edgesOf(neck: Neck, side: "board" | "carve"): Edge[] {
  const flat = flatten(neck.outline, 0.05);
  const ring = polygonArea(flat) < 0 ? reversedPolygon(flat) : flat;
  const n = ring.length / 2;
  const fibres = fibresOf(neck);
  const out: Edge[] = [];
  // seen from the back the neck runs round the other way
  const way = side === "board" ? 1 : -1;
  for (let k = 0; k < n; k++) {
    const m = (k + 1) % n;
    const [ax, ay, bx, by] = [ring[2 * k], ring[2 * k + 1], ring[2 * m], ring[2 * m + 1]];
    const L = Math.hypot(bx - ax, by - ay);
    if (L < 1e-9) continue;
    const [ux, uy] = [(bx - ax) / L, (by - ay) / L];
    const [fx, fy] = fibres((ax + bx) / 2, (ay + by) / 2);
    const [tx, ty] = [way * ux, way * uy];
    const g = wallGrain(uy, -ux, tx, ty, fx, fy);
    out.push({ ax, ay, bx, by, nx: uy, ny: -ux, tx, ty, angle: g.angle, against: !g.downhill && g.angle > LEAST });
  }
  return out;
}

const colour = (angle: number): `#${string}` => hexOf(rampColour("below", (Math.floor(angle / STEP) + 0.5) * (STEP / MOST)));

function drawSide(pen: Pen, edges: readonly Edge[], view: View): void {
  // coloured bands on the outside of the walls, one shape for each run of a colour
  let run: Edge[] = [];
  const flush = (): void => {
    if (run.length > 0) {
      const inner: XY[] = [at(view, run[0].ax, run[0].ay), ...run.map((e) => at(view, e.bx, e.by))];
      const off = BAND / view.scale;
      const outer = run.flatMap((e): XY[] => [
        at(view, e.ax + off * e.nx, e.ay + off * e.ny),
        at(view, e.bx + off * e.nx, e.by + off * e.ny),
      ]);
      pen.polyline("none", [...inner, ...outer.reverse()], { closed: true, fill: colour(run[0].angle) });
    }
    run = [];
  };
  for (const e of edges) {
    const last = run[run.length - 1];
    if (last !== undefined && (!e.against || colour(last.angle) !== colour(e.angle))) flush();
    if (e.against) run.push(e);
  }
  flush();
  pen.polyline(
    "narrow",
    edges.map((e) => at(view, e.ax, e.ay)),
    { closed: true },
  );
  // arrows downhill: one in the middle of every stretch fed one way, more on long ones
  let stretch: Edge[] = [];
  const arrows = (): void => {
    const length = stretch.reduce((sum, e) => sum + Math.hypot(e.bx - e.ax, e.by - e.ay), 0);
    const n = Math.max(1, Math.round((length * view.scale) / 60));
    if (length * view.scale > 4) for (let k = 0; k < n; k++) arrowAt(pen, view, stretch, ((k + 0.5) / n) * length);
    stretch = [];
  };
  for (const e of edges) {
    const last = stretch[stretch.length - 1];
    if (last !== undefined && (e.angle <= LEAST || last.against !== e.against)) arrows();
    if (e.angle > LEAST) stretch.push(e);
  }
  arrows();
}

/** An arrow beside the wall at a length along a stretch, the way that is downhill there. */
function arrowAt(pen: Pen, view: View, stretch: readonly Edge[], length: number): void {
  let left = length;
  for (const e of stretch) {
    const L = Math.hypot(e.bx - e.ax, e.by - e.ay);
    if (left > L) {
      left -= L;
      continue;
    }
    const s = 1 / view.scale;
    const sign = e.against ? -1 : 1;
    const [dx, dy] = [sign * e.tx, sign * e.ty];
    const cx = e.ax + ((e.bx - e.ax) * left) / L + 3.2 * s * e.nx;
    const cy = e.ay + ((e.by - e.ay) * left) / L + 3.2 * s * e.ny;
    const tip = at(view, cx + 2.4 * s * dx, cy + 2.4 * s * dy);
    pen.line("narrow", at(view, cx - 2.4 * s * dx, cy - 2.4 * s * dy), tip, { ink: "soft" });
    for (const q of [-0.7, 0.7])
      pen.line("narrow", at(view, cx + s * (0.9 * dx + q * dy), cy + s * (0.9 * dy - q * dx)), tip, { ink: "soft" });
    return;
  }
}

function legend(pen: Pen, x: number, y: number): void {
  const width = 60;
  const n = Math.round(MOST / STEP);
  for (let k = 0; k < n; k++)
    pen.rect("none", [x + (k * width) / n, y], [x + ((k + 1) * width) / n, y + 3], { fill: colour((k + 0.5) * STEP) });
  pen.rect("hair", [x, y], [x + width, y + 3]);
  for (const deg of [0, 15, 30, 45, 60, 75, 90]) {
    const at0 = x + (deg / 90) * width;
    pen.line("hair", [at0, y + 3], [at0, y + 4]);
    pen.text([at0, y + 6.4], `${deg}°`, SIZE.small, { anchor: "middle" });
  }
  pen.text([x, y - 1.4], "Angle of the fibres to the wall, where cutting edges run against them: climb only", SIZE.small);
  pen.text(
    [x + width + 6, y + 2.4],
    "Arrows: feed that lays the fibres down. Near 90° is end grain: cut before the long edges.",
    SIZE.small,
  );
}

/** The map of both sides, the board side above. */
export function tearOutDrawing(neck: Neck, scale: number): Drawing {
  const box = extentOf(neck);
  const high = (box.yMax - box.yMin) * scale;
  const pen = new Pen();
  const first = 10 + box.yMax * scale;
  const sides = ["board", "carve"] as const;
  let against = 0;
  for (const [k, side] of sides.entries()) {
    const view = uprightView([LEFT - box.xMin * scale, first + k * (high + GAP)], scale);
    const edges = edgesOf(neck, side);
    for (const e of edges) if (e.against) against += Math.hypot(e.bx - e.ax, e.by - e.ay);
    pen.text(
      [LEFT, first - box.yMax * scale + k * (high + GAP) - 5],
      side === "board" ? "Board side up" : "Carve side up, drawn as seen through the board",
      SIZE.note,
      {
        bold: true,
      },
    );
    drawSide(pen, edges, view);
  }
  const low = first - box.yMax * scale + 2 * high + GAP + 10;
  legend(pen, LEFT, low);
  return {
    id: "tear-out",
    title: "Tear-out map",
    says: `The outline twice, as each side is cut: walls where the cutting edges run against the fibres are coloured by the angle of the fibres to the wall, ${(against / 2).toFixed(0)} mm of each side; arrows show the feed that lays the fibres down. ${liesSays(neck)}`,
    width: LEFT + Math.max((box.xMax - box.xMin) * scale + LEFT, 200),
    height: low + 10,
    group: 0.35,
    items: pen.items,
    scale,
  };
}
