import { clipTo } from "./clip.ts";
import type { HatchItem, PolylineItem, XY } from "./types.ts";

/** Breaks a hatch into the lines that show it. */
export function hatchLines(h: HatchItem): PolylineItem[] {
  let xMin = Number.POSITIVE_INFINITY;
  let yMin = Number.POSITIVE_INFINITY;
  let xMax = Number.NEGATIVE_INFINITY;
  let yMax = Number.NEGATIVE_INFINITY;
  for (const ring of h.rings) {
    for (const [x, y] of ring) {
      xMin = Math.min(xMin, x);
      xMax = Math.max(xMax, x);
      yMin = Math.min(yMin, y);
      yMax = Math.max(yMax, y);
    }
  }
  if (!(xMax > xMin) || !(yMax > yMin) || !(h.spacing > 0)) return [];
  const [halfX, halfY] = [(xMax - xMin) / 2, (yMax - yMin) / 2];
  const box: Box = { cx: xMin + halfX, cy: yMin + halfY, halfX, halfY, half: Math.hypot(halfX, halfY) };
  const lines = h.grain === "end" ? rings(h, box) : straights(h, box);
  const { rings: clip, ink = "soft", layer } = h;
  const clipped = clipTo(clip);
  return lines.flatMap((l) =>
    clipped(l).map(
      (points): PolylineItem => ({
        kind: "polyline",
        line: "hair",
        points,
        closed: false,
        ink,
        ...(layer === undefined ? {} : { layer }),
      }),
    ),
  );
}

interface Box {
  readonly cx: number;
  readonly cy: number;
  readonly halfX: number;
  readonly halfY: number;
  /** Half the diagonal. */
  readonly half: number;
}

/** Nearest and farthest distance of a point outside the box from its rectangle. */
function reach(b: Box, x: number, y: number): readonly [number, number] {
  const [dx, dy] = [Math.abs(x - b.cx), Math.abs(y - b.cy)];
  return [Math.hypot(Math.max(0, dx - b.halfX), Math.max(0, dy - b.halfY)), Math.hypot(dx + b.halfX, dy + b.halfY)];
}

/** Chords of growth rings stay this near their arc, mm on paper: less than half a hair line. */
const CHORD = 0.05;

/** Growth rings: arcs about a far pith, every third gap a little narrower, as wood has it. */
function rings(h: HatchItem, b: Box): XY[][] {
  const turn = ((h.turn ?? 0) * Math.PI) / 180;
  const far = 2.6 * b.half;
  const px = b.cx + far * Math.sin(turn);
  const py = b.cy + far * Math.cos(turn);
  const out: XY[][] = [];
  const n = Math.ceil((2 * b.half) / h.spacing);
  const [nearest, farthest] = reach(b, px, py);
  const middle = -Math.PI / 2 - turn;
  // the box as seen from the pith, which lies outside it
  let spread = 0;
  for (const [x, y] of [
    [b.cx - b.halfX, b.cy - b.halfY],
    [b.cx + b.halfX, b.cy - b.halfY],
    [b.cx - b.halfX, b.cy + b.halfY],
    [b.cx + b.halfX, b.cy + b.halfY],
  ] as const) {
    const a = Math.atan2(y - py, x - px) - middle;
    spread = Math.max(spread, Math.abs(Math.atan2(Math.sin(a), Math.cos(a))));
  }
  for (let k = 0; k <= n; k++) {
    const r = far - b.half + (k + (k % 3 === 1 ? 0.22 : 0)) * h.spacing;
    if (r < nearest || r > farthest) continue;
    const steps = Math.max(4, Math.ceil((2 * spread) / (2 * Math.acos(1 - Math.min(0.1, CHORD / r)))));
    out.push(
      Array.from({ length: steps + 1 }, (_, i): XY => {
        const a = middle - spread + (2 * spread * i) / steps;
        return [px + r * Math.cos(a), py + r * Math.sin(a)];
      }),
    );
  }
  return out;
}

/** Parallel lines: along the fibres, or at 45 degrees for metal. */
function straights(h: HatchItem, b: Box): XY[][] {
  const angle = (((h.turn ?? 0) + (h.grain === "metal" ? 45 : 0)) * Math.PI) / 180;
  const [dx, dy] = [Math.cos(angle), Math.sin(angle)];
  // how far the box reaches square to the lines
  const tall = Math.abs(dy) * b.halfX + Math.abs(dx) * b.halfY;
  const n = Math.ceil(tall / h.spacing);
  const out: XY[][] = [];
  for (let k = -n; k < n; k++) {
    const d = (k + 0.5) * h.spacing;
    const [ox, oy] = [b.cx - dy * d, b.cy + dx * d];
    out.push([
      [ox - dx * b.half * 1.01, oy - dy * b.half * 1.01],
      [ox + dx * b.half * 1.01, oy + dy * b.half * 1.01],
    ]);
  }
  return out;
}
