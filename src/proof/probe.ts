import { MoveKind, type MoveList } from "../kernel/moves.ts";
import { contactOffset, heightAt, type Shape } from "../kernel/tilt.ts";

/*
 * The true height of what is left at any point, from the moves themselves and not from a grid: the lowest that any cutter's
 * surface came there. With it a wall is found by halving to a micrometre, at the cost of a few hundred moves nearby.
 */

/** One program's feed moves as pieces in a grid of 4 mm squares that tells which of them come near a place. */
export interface ProbeLayer {
  readonly shape: Shape;
  /** Position in the order of work. */
  readonly step: number;
  readonly pieces: Pieces;
}

/** A hand step that brings wood back to `top` inside its footprint. */
export interface ProbeFill {
  readonly step: number;
  readonly top: number;
  /** Signed distance to the filled region's edge in program coordinates, negative inside. */
  readonly distance: (x: number, y: number) => number;
}

/**
 * Straight pieces of a program's feed moves, arcs already in chords, lowest first. Per piece: start x, y, z, direction x, y in plan, length
 * in plan (0: upright), slope, lowest z.
 */
interface Pieces {
  readonly data: Float64Array;
  readonly nx: number;
  readonly ny: number;
  readonly x0: number;
  readonly y0: number;
  /** Pieces of square b: items[starts[b]] .. items[starts[b + 1] - 1], by their boxes. */
  readonly starts: Uint32Array;
  readonly items: Uint32Array;
  /** Scratch of `gather`: the last search that saw a piece. */
  readonly seen: Uint32Array;
}

const BIN = 4;

/** Straight pieces near a place, in the layout of `Pieces.data`. */
interface Near {
  readonly step: number;
  readonly shape: Shape;
  readonly pieces: Float64Array;
}

const STRIDE = 8;

/** Chord error of arcs in the probe, mm. */
const CHORD = 0.0005;

/** A program's moves for the probe, over the box given; its pieces are made when they are first asked for. */
export function layerOf(shape: Shape, moves: MoveList, step: number, xMin: number, yMin: number, xMax: number, yMax: number): ProbeLayer {
  let kept: Pieces | null = null;
  return {
    shape,
    step,
    get pieces(): Pieces {
      kept ??= piecesOf(moves, xMin, yMin, xMax, yMax);
      return kept;
    },
  };
}

/** Sorts a program's feed moves, in straight pieces, by height and into squares by their boxes: counts first, then places (no list per square). */
function piecesOf(m: MoveList, xMin: number, yMin: number, xMax: number, yMax: number): Pieces {
  let ends = new Float64Array(6 * (m.count + 64));
  let n = 0;
  const put = (ax: number, ay: number, az: number, bx: number, by: number, bz: number): void => {
    if (6 * n + 6 > ends.length) {
      const more = new Float64Array(2 * ends.length);
      more.set(ends);
      ends = more;
    }
    const k = 6 * n++;
    ends[k] = ax;
    ends[k + 1] = ay;
    ends[k + 2] = az;
    ends[k + 3] = bx;
    ends[k + 4] = by;
    ends[k + 5] = bz;
  };
  let px = m.start[0];
  let py = m.start[1];
  let pz = m.start[2];
  for (let k = 0; k < m.count; k++) {
    if (m.kind[k] === MoveKind.line) put(px, py, pz, m.x[k], m.y[k], m.z[k]);
    else if (m.kind[k] === MoveKind.arc) chords(m, k, px, py, pz, CHORD, put);
    px = m.x[k];
    py = m.y[k];
    pz = m.z[k];
  }
  const low = new Float64Array(n);
  for (let k = 0; k < n; k++) low[k] = Math.min(ends[6 * k + 2], ends[6 * k + 5]);
  const order = Uint32Array.from({ length: n }, (_, k) => k).sort((a, b) => low[a] - low[b] || a - b);
  const nx = Math.max(1, Math.ceil((xMax - xMin) / BIN));
  const ny = Math.max(1, Math.ceil((yMax - yMin) / BIN));
  const data = new Float64Array(n * STRIDE);
  const boxes = new Int32Array(n * 4);
  const starts = new Uint32Array(nx * ny + 1);
  for (let i = 0; i < n; i++) {
    const k = 6 * order[i];
    const ax = ends[k];
    const ay = ends[k + 1];
    const bx = ends[k + 3];
    const by = ends[k + 4];
    const L = Math.hypot(bx - ax, by - ay);
    const upright = L < 1e-9;
    const at = i * STRIDE;
    data[at] = ax;
    data[at + 1] = ay;
    data[at + 2] = upright ? low[order[i]] : ends[k + 2];
    data[at + 3] = upright ? 1 : (bx - ax) / L;
    data[at + 4] = upright ? 0 : (by - ay) / L;
    data[at + 5] = upright ? 0 : L;
    data[at + 6] = upright ? 0 : (ends[k + 5] - ends[k + 2]) / L;
    data[at + 7] = low[order[i]];
    const i0 = Math.max(0, Math.floor((Math.min(ax, bx) - xMin) / BIN));
    const i1 = Math.min(nx - 1, Math.floor((Math.max(ax, bx) - xMin) / BIN));
    const j0 = Math.max(0, Math.floor((Math.min(ay, by) - yMin) / BIN));
    const j1 = Math.min(ny - 1, Math.floor((Math.max(ay, by) - yMin) / BIN));
    boxes[4 * i] = i0;
    boxes[4 * i + 1] = i1;
    boxes[4 * i + 2] = j0;
    boxes[4 * i + 3] = j1;
    for (let j = j0; j <= j1; j++) for (let c = i0; c <= i1; c++) starts[j * nx + c + 1]++;
  }
  for (let b = 0; b < nx * ny; b++) starts[b + 1] += starts[b];
  const items = new Uint32Array(starts[nx * ny]);
  const at = starts.slice();
  for (let i = 0; i < n; i++)
    for (let j = boxes[4 * i + 2]; j <= boxes[4 * i + 3]; j++)
      for (let c = boxes[4 * i]; c <= boxes[4 * i + 1]; c++) items[at[j * nx + c]++] = i;
  return { data, nx, ny, x0: xMin, y0: yMin, starts, items, seen: new Uint32Array(n) };
}

export class Probe {
  private readonly layers: readonly ProbeLayer[];
  private readonly fills: readonly ProbeFill[];
  private readonly top: number;

  constructor(layers: readonly ProbeLayer[], fills: readonly ProbeFill[], top: number) {
    this.layers = layers;
    this.fills = fills;
    this.top = top;
  }

  /** What can reach the box, of the steps before `until`. */
  near(xMin: number, yMin: number, xMax: number, yMax: number, until: number = Number.POSITIVE_INFINITY): Spot {
    const near: Near[] = [];
    for (const layer of this.layers) {
      if (layer.step >= until) continue;
      const r = layer.shape.radius;
      const pieces = gather(layer, xMin - r, yMin - r, xMax + r, yMax + r);
      if (pieces.length > 0) near.push({ step: layer.step, shape: layer.shape, pieces });
    }
    return new Spot(
      near,
      this.fills.filter((f) => f.step < until),
      this.top,
    );
  }
}

/** A place with its moves at hand. */
export class Spot {
  private readonly near: readonly Near[];
  private readonly fills: readonly ProbeFill[];
  private readonly top: number;

  constructor(near: readonly Near[], fills: readonly ProbeFill[], top: number) {
    this.near = near;
    this.fills = fills;
    this.top = top;
  }

  /** Height of the wood at a point, program coordinates; once it is found to lie below `enough`, any height below that. */
  height(x: number, y: number, enough: number = Number.NEGATIVE_INFINITY): number {
    let from = -1;
    let h = this.top;
    for (const f of this.fills) {
      if (f.step > from && f.distance(x, y) <= 0) {
        from = f.step;
        h = f.top;
      }
    }
    for (const n of this.near) {
      if (h < enough) break;
      if (n.step > from) h = Math.min(h, lowest(n.shape, n.pieces, x, y, h, enough));
    }
    return h;
  }
}

let search = 0;

/** The pieces of a layer that come into a box, lowest first. */
function gather({ pieces }: ProbeLayer, xMin: number, yMin: number, xMax: number, yMax: number): Float64Array {
  const { data, nx, ny, x0, y0, starts, items, seen } = pieces;
  search = search === 0xffffffff ? 1 : search + 1;
  const i0 = Math.max(0, Math.floor((xMin - x0) / BIN));
  const i1 = Math.min(nx - 1, Math.floor((xMax - x0) / BIN));
  const j0 = Math.max(0, Math.floor((yMin - y0) / BIN));
  const j1 = Math.min(ny - 1, Math.floor((yMax - y0) / BIN));
  const found: number[] = [];
  for (let j = j0; j <= j1; j++)
    for (let i = i0; i <= i1; i++) {
      const end = starts[j * nx + i + 1];
      for (let n = starts[j * nx + i]; n < end; n++) {
        const k = items[n];
        if (seen[k] === search) continue;
        seen[k] = search;
        const ax = data[k * STRIDE];
        const ay = data[k * STRIDE + 1];
        const bx = ax + data[k * STRIDE + 3] * data[k * STRIDE + 5];
        const by = ay + data[k * STRIDE + 4] * data[k * STRIDE + 5];
        if (Math.max(ax, bx) < xMin || Math.min(ax, bx) > xMax || Math.max(ay, by) < yMin || Math.min(ay, by) > yMax) continue;
        found.push(k);
      }
    }
  const order = Uint32Array.from(found).sort();
  const out = new Float64Array(order.length * STRIDE);
  for (let i = 0; i < order.length; i++) {
    const k = order[i] * STRIDE;
    for (let c = 0; c < STRIDE; c++) out[i * STRIDE + c] = data[k + c];
  }
  return out;
}

/** Cuts an arc (any plane, helix too) into chords that leave it by no more than `error`. */
export function chords(
  m: MoveList,
  k: number,
  ax: number,
  ay: number,
  az: number,
  error: number,
  put: (ax: number, ay: number, az: number, bx: number, by: number, bz: number) => void,
): void {
  const plane = m.plane[k];
  const [bx, by, bz] = [m.x[k], m.y[k], m.z[k]];
  const [cx, cy, cz] = [m.cx[k], m.cy[k], m.cz[k]];
  const u = plane === 0 ? ax - cx : plane === 1 ? az - cz : ay - cy;
  const v = plane === 0 ? ay - cy : plane === 1 ? ax - cx : az - cz;
  const eu = plane === 0 ? bx - cx : plane === 1 ? bz - cz : by - cy;
  const ev = plane === 0 ? by - cy : plane === 1 ? bx - cx : bz - cz;
  const r0 = Math.hypot(u, v);
  const r1 = Math.hypot(eu, ev);
  const a0 = Math.atan2(v, u);
  const sweep = m.sweep[k];
  const step = 2 * Math.acos(Math.max(0.5, 1 - error / Math.max(error * 2, r0)));
  const n = Math.max(1, Math.ceil(Math.abs(sweep) / step));
  let [px, py, pz] = [ax, ay, az];
  for (let i = 1; i < n; i++) {
    const t = i / n;
    const a = a0 + sweep * t;
    const r = r0 + (r1 - r0) * t;
    const p = r * Math.cos(a);
    const q = r * Math.sin(a);
    const qx = plane === 0 ? cx + p : plane === 1 ? cx + q : ax + (bx - ax) * t;
    const qy = plane === 0 ? cy + q : plane === 1 ? ay + (by - ay) * t : cy + p;
    const qz = plane === 0 ? az + (bz - az) * t : plane === 1 ? cz + p : cz + q;
    put(px, py, pz, qx, qy, qz);
    px = qx;
    py = qy;
    pz = qz;
  }
  put(px, py, pz, bx, by, bz);
}

/** Lowest cutter surface over a point among straight pieces; `best` when none is lower. Below `enough` the first is as good as the lowest. */
function lowest(s: Shape, pieces: Float64Array, x: number, y: number, best: number, enough: number): number {
  const R = s.radius;
  let guess = 0;
  const R2 = R * R;
  for (let n = 0; n < pieces.length; n += STRIDE) {
    if (pieces[n + 7] >= best) break;
    const px = x - pieces[n];
    const py = y - pieces[n + 1];
    const ux = pieces[n + 3];
    const uy = pieces[n + 4];
    const b = Math.abs(py * ux - px * uy);
    if (b > R) continue;
    const along = px * ux + py * uy;
    const L = pieces[n + 5];
    if (along < -R || along > L + R) continue;
    const rim = Math.sqrt(R2 - b * b);
    const low = Math.max(along - L, -rim);
    const high = Math.min(along, rim);
    if (low > high) continue;
    const m = pieces[n + 6];
    if (m !== 0) guess = contactOffset(s, b, Math.abs(m), guess);
    const u = Math.min(high, Math.max(low, m === 0 ? 0 : m < 0 ? -guess : guess));
    const v = pieces[n + 2] + m * (along - u) + heightAt(s, Math.min(R, Math.sqrt(b * b + u * u)));
    if (v < best) {
      best = v;
      if (best < enough) break;
    }
  }
  return best;
}

/**
 * Where, on the way from `inside` to `outside` (distances along a ray), the wood falls below `level`: to 0.1 um. Walks inward
 * from outside until it meets wood, then halves. NaN when outside is not cut or nothing stands on the way. `height` is told the level:
 * below it any height is as good as another.
 */
export function wallAt(
  height: (s: number, enough: number) => number,
  level: number,
  inside: number,
  outside: number,
  stride = 0.05,
): number {
  if (height(outside, level) >= level) return Number.NaN;
  const dir = Math.sign(inside - outside);
  let cut = outside;
  let wood = Number.NaN;
  for (let n = 1; ; n++) {
    const s = outside + dir * stride * n;
    if ((s - inside) * dir > 0) break;
    if (height(s, level) >= level) {
      wood = s;
      break;
    }
    cut = s;
  }
  if (Number.isNaN(wood)) return Number.NaN;
  while (Math.abs(wood - cut) > 1e-4) {
    const mid = (wood + cut) / 2;
    if (height(mid, level) >= level) wood = mid;
    else cut = mid;
  }
  return (wood + cut) / 2;
}
