import type { HatchItem, PolylineItem, XY } from "./types.ts";

/** Breaks a hatch into the lines that show it. */
export function hatchLines(h: HatchItem): PolylineItem[] {
  const { ink = "soft", layer } = h;
  return hatchRuns(h).map((run): PolylineItem => {
    const points: XY[] = [];
    for (let k = 0; k < run.length; k += 2) points.push([run[k], run[k + 1]]);
    return { kind: "polyline", line: "hair", points, closed: false, ink, ...(layer === undefined ? {} : { layer }) };
  });
}

/**
 * The lines of a hatch as x, y, x, y, ... Growth rings are circles about a far pith, fibres are parallel lines; either way a line is a set of
 * one level of a function (the distance from the pith, the height over a direction). Every vertex of the rings lies on one side of a level, so
 * crossings come in pairs, and between the odd and the even ones lies the wood.
 */
export function hatchRuns(h: HatchItem): number[][] {
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
  return h.grain === "end" ? rings(h, box) : straights(h, box);
}

interface Box {
  readonly cx: number;
  readonly cy: number;
  readonly halfX: number;
  readonly halfY: number;
  /** Half the diagonal. */
  readonly half: number;
}

/** Chords of growth rings stay this near their arc, mm on paper: less than half a hair line. */
const CHORD = 0.05;
/** Edges longer than this are looked at in pieces, mm: over a piece the distance from the pith changes evenly, to a hundredth of a millimetre. */
const PIECE = 2;

/** Edges of the rings, each with level and place along the level at both ends; `piece` splits long ones. */
class Edges {
  /** level a, along a, level b, along b */
  private readonly data: number[] = [];

  constructor(all: HatchItem["rings"], piece: number, place: (x: number, y: number, out: [number, number]) => void) {
    const a: [number, number] = [0, 0];
    const b: [number, number] = [0, 0];
    for (const ring of all) {
      if (ring.length < 3) continue;
      let [px, py] = ring[ring.length - 1];
      place(px, py, a);
      for (const [x, y] of ring) {
        const n = Math.max(1, Math.ceil(Math.hypot(x - px, y - py) / piece));
        for (let k = 1; k <= n; k++) {
          if (k === n) place(x, y, b);
          else place(px + ((x - px) * k) / n, py + ((y - py) * k) / n, b);
          this.data.push(a[0], a[1], b[0], b[1]);
          a[0] = b[0];
          a[1] = b[1];
        }
        px = x;
        py = y;
      }
    }
  }

  /** Places along a level where the rings cross it, in order. */
  crossings(level: number, out: number[]): void {
    const { data } = this;
    out.length = 0;
    for (let k = 0; k < data.length; k += 4) {
      const la = data[k];
      const lb = data[k + 2];
      if (la >= level === lb >= level) continue;
      const t = data[k + 1] + ((level - la) / (lb - la)) * (data[k + 3] - data[k + 1]);
      // a handful at most: sorted as they come
      let j = out.length - 1;
      out.push(t);
      for (; j >= 0 && out[j] > t; j--) out[j + 1] = out[j];
      out[j + 1] = t;
    }
  }
}

/** Growth rings: arcs about a far pith, every third gap a little narrower, as wood has it. */
function rings(h: HatchItem, b: Box): number[][] {
  const turn = ((h.turn ?? 0) * Math.PI) / 180;
  const far = 2.6 * b.half;
  const px = b.cx + far * Math.sin(turn);
  const py = b.cy + far * Math.cos(turn);
  const n = Math.ceil((2 * b.half) / h.spacing);
  // angles from the direction of the box, which the pith lies well outside of: they never wrap round
  const middle = -Math.PI / 2 - turn;
  const [cm, sm] = [Math.cos(middle), Math.sin(middle)];
  const edges = new Edges(h.rings, PIECE, (x, y, out) => {
    const [dx, dy] = [x - px, y - py];
    out[0] = Math.hypot(dx, dy);
    out[1] = Math.atan2(cm * dy - sm * dx, cm * dx + sm * dy);
  });
  const out: number[][] = [];
  const ts: number[] = [];
  for (let k = 0; k <= n; k++) {
    const r = far - b.half + (k + (k % 3 === 1 ? 0.22 : 0)) * h.spacing;
    edges.crossings(r, ts);
    const step = 2 * Math.acos(1 - Math.min(0.1, CHORD / r));
    for (let c = 0; c + 1 < ts.length; c += 2) {
      const sweep = ts[c + 1] - ts[c];
      if (sweep * r < 1e-6) continue;
      const steps = Math.max(1, Math.ceil(sweep / step));
      const run: number[] = [];
      for (let i = 0; i <= steps; i++) {
        const a = middle + ts[c] + (sweep * i) / steps;
        run.push(px + r * Math.cos(a), py + r * Math.sin(a));
      }
      out.push(run);
    }
  }
  return out;
}

/** Parallel lines: along the fibres, or at 45 degrees for metal. */
function straights(h: HatchItem, b: Box): number[][] {
  const angle = (((h.turn ?? 0) + (h.grain === "metal" ? 45 : 0)) * Math.PI) / 180;
  const [dx, dy] = [Math.cos(angle), Math.sin(angle)];
  const edges = new Edges(h.rings, Number.POSITIVE_INFINITY, (x, y, out) => {
    out[0] = dx * (y - b.cy) - dy * (x - b.cx);
    out[1] = dx * (x - b.cx) + dy * (y - b.cy);
  });
  // how far the box reaches square to the lines
  const tall = Math.abs(dy) * b.halfX + Math.abs(dx) * b.halfY;
  const n = Math.ceil(tall / h.spacing);
  const out: number[][] = [];
  const ts: number[] = [];
  for (let k = -n; k < n; k++) {
    const d = (k + 0.5) * h.spacing;
    edges.crossings(d, ts);
    const [ox, oy] = [b.cx - dy * d, b.cy + dx * d];
    for (let c = 0; c + 1 < ts.length; c += 2) {
      if (ts[c + 1] - ts[c] < 1e-6) continue;
      out.push([ox + dx * ts[c], oy + dy * ts[c], ox + dx * ts[c + 1], oy + dy * ts[c + 1]]);
    }
  }
  return out;
}
