import { type Field, makeField } from "./field.ts";
import { cellsOver, type HeightMap } from "./heightmap.ts";
import { MoveKind, type MoveList } from "./moves.ts";
import { penetrationOf } from "./penetration.ts";
import { mergeStraight } from "./polyline.ts";
import type { Profile } from "./profile.ts";
import { BLOCK, fillBlockMaxima, makeBlockMaxima } from "./pyramid.ts";
import type { Rows, Stock } from "./stock.ts";
import { arcBox, sweepArc } from "./sweep-arc.ts";
import { sweepChain } from "./sweep-chain.ts";
import { sweepHelix } from "./sweep-helix.ts";
import { sweepLine } from "./sweep-line.ts";
import { MOST_WAITING, Waiting } from "./sweep-order.ts";
import { contactOffset, type Shape, shapeOf } from "./tilt.ts";
import { openLevelSweeps, openSweeps, type WasmSweeps } from "./wasm/sweeps.ts";

/** Largest distance between an arc and the chords that stand for it, where an arc is not swept as such (ZX and YZ arcs, helices of a cutter that is not flat). */
export const CHORD_ERROR = 0.0005;

/**
 * Makes a stock of a height map; the map's heights are lowered by `cut`. See the `Stock` contract.
 *
 * Where WebAssembly is in use the heights move into its memory and `map.z` becomes a view of them, so read `map.z` (or
 * `stock.map.z`, the same) anew after this call, and copy it (`slice`) before transferring it to another thread.
 * Both kernels compute in Float64, in the same order, and leave the same heights to the last bit.
 */
export function makeStock(map: HeightMap): Stock {
  return new SweptStock(map, openSweeps(map), [0, map.ny]);
}

/**
 * The stock of a block that stands at one height over a rectangle: as `makeStock` of such a map, without a map to copy from. `rows`: only
 * this band of the map's rows is there to be cut, the rest of the map is memory that is never touched; its heights are those of
 * the whole block's to the last bit, so that bands may be cut in several threads. A band begins at a multiple of 16 (RangeError else).
 */
export function makeBlock(xMin: number, yMin: number, xMax: number, yMax: number, cell: number, height: number, rows?: Rows): Stock {
  const cells = cellsOver(xMin, yMin, xMax, yMax, cell);
  const { nx, ny } = cells;
  const [first, end] = rows ?? [0, ny];
  if (!(first >= 0 && first % BLOCK === 0 && first < end && end <= ny)) throw new RangeError(`no rows ${first} to ${end} of ${ny} to cut`);
  const wasm = openLevelSweeps(nx, first, end, cell, height);
  if (wasm !== null) return new SweptStock({ ...cells, z: wasm.field.z }, wasm, [first, end]);
  const z = new Float32Array(nx * ny);
  z.fill(height, first * nx, end * nx);
  return new SweptStock({ ...cells, z }, null, [first, end]);
}

/** Rows of a map in `parts` bands of like width, each beginning at a multiple of 16; fewer where there are too few rows. */
export function bandsOf(ny: number, parts: number): readonly Rows[] {
  const at = Array.from({ length: parts }, (_, k) => BLOCK * Math.floor((k * ny) / (parts * BLOCK)));
  return at.map((from, k): Rows => [from, k + 1 < parts ? at[k + 1] : ny]).filter(([from, to]) => from < to);
}

/** Longer polylines are swept in parts that share a point, so that scratch stays in the processor's cache. */
const LONGEST = 16384;

class SweptStock implements Stock {
  readonly map: HeightMap;
  readonly rows: Rows;
  /** Of a band: where its cells end, in millimetres from the centre of cell (0, 0). */
  private readonly yLow: number;
  private readonly yHigh: number;
  private readonly field: Field;
  private readonly wasm: WasmSweeps | null;
  /** Feed moves gathered into one polyline, in millimetres from the centre of cell (0, 0). */
  private xs = new Float64Array(1024);
  private ys = new Float64Array(1024);
  private zs = new Float64Array(1024);
  private n = 0;
  private removed = 0;
  private readonly waiting = new Waiting();

  constructor(map: HeightMap, wasm: WasmSweeps | null, rows: Rows) {
    this.map = map;
    this.rows = rows;
    this.wasm = wasm;
    this.field = this.wasm ? this.wasm.field : makeField(map, makeBlockMaxima(map, ...rows), ...rows);
    this.yLow = rows[0] > 0 ? rows[0] * map.cell : Number.NEGATIVE_INFINITY;
    this.yHigh = rows[1] < map.ny ? (rows[1] - 1) * map.cell : Number.POSITIVE_INFINITY;
  }

  refresh(i0 = 0, j0: number = this.rows[0], i1: number = this.map.nx - 1, j1: number = this.rows[1] - 1): void {
    if (this.wasm) this.wasm.refresh(i0, j0, i1, j1);
    else fillBlockMaxima(this.map, this.field, ...this.rows);
  }

  release(): void {
    this.wasm?.giveBack();
  }

  cut(profile: Profile, moves: MoveList, from: number, to: number): number {
    const s = shapeOf(profile);
    const { kind, x, y, z, start } = moves;
    const { map } = this;
    const { x0, y0, cell } = map;
    const xLow = x0 - s.radius;
    const xHigh = x0 + (map.nx - 1) * cell + s.radius;
    const yLow = y0 - s.radius;
    const yHigh = y0 + (map.ny - 1) * cell + s.radius;
    this.removed = 0;
    this.n = 0;
    let px = from > 0 ? x[from - 1] : start[0];
    let py = from > 0 ? y[from - 1] : start[1];
    let pz = from > 0 ? z[from - 1] : start[2];
    for (let k = from; k < to; k++) {
      const qx = x[k];
      const qy = y[k];
      const qz = z[k];
      const what = kind[k];
      if (what === MoveKind.line) {
        if ((px < xLow && qx < xLow) || (px > xHigh && qx > xHigh) || (py < yLow && qy < yLow) || (py > yHigh && qy > yHigh)) {
          if (this.n > 0) this.flush(s);
        } else {
          let n = this.n;
          if (n === 0 || n >= LONGEST) {
            if (n > 0) this.flush(s);
            this.push(px - x0, py - y0, pz);
            n = 1;
          }
          if (n < this.xs.length) {
            this.xs[n] = qx - x0;
            this.ys[n] = qy - y0;
            this.zs[n] = qz;
            this.n = n + 1;
          } else this.push(qx - x0, qy - y0, qz);
        }
      } else if (what === MoveKind.arc) {
        this.arc(s, px - x0, py - y0, pz, moves, k);
      } else if (this.n > 0) this.flush(s);
      px = qx;
      py = qy;
      pz = qz;
    }
    if (this.n > 0) this.flush(s);
    this.sweep(s);
    return this.removed * cell * cell;
  }

  penetration(radius: number, ax: number, ay: number, az: number, bx: number, by: number, bz: number): number {
    const { x0, y0 } = this.map;
    return penetrationOf(this.field, radius, ax - x0, ay - y0, az, bx - x0, by - y0, bz);
  }

  private push(x: number, y: number, z: number): void {
    if (this.n === this.xs.length) {
      this.xs = twice(this.xs);
      this.ys = twice(this.ys);
      this.zs = twice(this.zs);
    }
    const n = this.n++;
    this.xs[n] = x;
    this.ys[n] = y;
    this.zs[n] = z;
  }

  /** Whether a cutter of this radius on the polyline gathered so far stays beside the band. The whole of it: what is merged is the same in all bands. */
  private beside(radius: number): boolean {
    const { ys, n, yLow, yHigh } = this;
    if (yLow === Number.NEGATIVE_INFINITY && yHigh === Number.POSITIVE_INFINITY) return false;
    let low = ys[0];
    let high = ys[0];
    for (let k = 1; k < n; k++) {
      const y = ys[k];
      if (y < low) low = y;
      else if (y > high) high = y;
    }
    return low - radius > yHigh || high + radius < yLow;
  }

  /** The polyline gathered so far waits to be swept: runs along x as chains, the rest move by move with margins. */
  private flush(s: Shape): void {
    const { xs, ys, zs } = this;
    if (this.beside(s.radius)) {
      this.n = 0;
      return;
    }
    const n = mergeStraight(xs, ys, zs, this.n);
    this.n = 0;
    const simple = s.kind !== "other";
    let k = 0;
    while (k + 1 < n) {
      let e = k;
      if (simple) {
        const dir = xs[k + 1] > xs[k] ? 1 : -1;
        while (e + 1 < n && ys[e + 1] === ys[e] && (xs[e + 1] - xs[e]) * dir > 1e-9) e++;
      }
      if (e > k) {
        this.chain(k, e);
        k = e;
        continue;
      }
      e = k + 1;
      while (e + 1 < n && !(simple && ys[e + 1] === ys[e] && Math.abs(xs[e + 1] - xs[e]) > 1e-9)) e++;
      this.strips(s, k, e);
      k = e;
    }
    if (this.waiting.waiting > MOST_WAITING) this.sweep(s);
  }

  /** Sweeps what waits. */
  private sweep(s: Shape): void {
    const { waiting, wasm, field } = this;
    const flat = s.kind === "flat";
    const R = s.radius;
    const { x, z, moves: m } = waiting;
    waiting.sweep((from, to, y) => {
      if (!Number.isNaN(y)) {
        const [xs, zs] = [x.subarray(from, to), z.subarray(from, to)];
        this.removed += wasm ? wasm.chain(flat, R, xs, zs, to - from, y) : sweepChain(field, flat, R, xs, zs, to - from, y);
        return;
      }
      for (let k = 8 * from; k < 8 * to; k += 8)
        this.removed +=
          wasm && s.kind !== "other"
            ? wasm.line(flat, R, m[k], m[k + 1], m[k + 2], m[k + 3], m[k + 4], m[k + 5], m[k + 6], m[k + 7])
            : sweepLine(field, s, m[k], m[k + 1], m[k + 2], m[k + 3], m[k + 4], m[k + 5], m[k + 6], m[k + 7]);
    });
  }

  /** A run along x, turned so that x ascends. */
  private chain(from: number, to: number): void {
    const { xs, zs, waiting } = this;
    const n = to - from + 1;
    const up = xs[to] > xs[from];
    const at = waiting.chain(n, this.ys[from]);
    for (let i = 0; i < n; i++) {
      const k = up ? from + i : to - i;
      waiting.x[at + i] = xs[k];
      waiting.z[at + i] = zs[k];
    }
  }

  /**
   * Takes the moves between points `from` and `to`, each only where its own contact can be: behind or before its ends by the
   * largest contact offset, and at a vertex by the wedge of the turn. A point of the wedge is at most R away, so
   * along the first move it lies no further on than the second move's contact + 2 R sin(turn / 2).
   */
  private strips(s: Shape, from: number, to: number): void {
    const { xs, ys, zs } = this;
    const R = s.radius;
    let joined = false;
    for (let k = from; k < to; k++) {
      const dx = xs[k + 1] - xs[k];
      const dy = ys[k + 1] - ys[k];
      const L = Math.sqrt(dx * dx + dy * dy);
      if (L < 1e-9) {
        this.line(k, -R, R, joined);
        joined = false;
        continue;
      }
      const m = (zs[k + 1] - zs[k]) / L;
      const u = largestOffset(s, m);
      const low = joined ? Math.min(0, u) : -R;
      const goesOn = joined;
      let high = R;
      joined = false;
      if (k + 1 < to) {
        const ex = xs[k + 2] - xs[k + 1];
        const ey = ys[k + 2] - ys[k + 1];
        const L2 = Math.sqrt(ex * ex + ey * ey);
        const cos = L2 < 1e-9 ? -1 : (dx * ex + dy * ey) / (L * L2);
        if (cos > 0.5) {
          const m2 = (zs[k + 2] - zs[k + 1]) / L2;
          high = Math.min(R, Math.max(0, u, Math.max(0, largestOffset(s, m2)) + R * Math.sqrt(2 - 2 * Math.min(1, cos))));
          joined = true;
        }
      }
      this.line(k, low, L + high, goesOn);
    }
  }

  private line(k: number, low: number, high: number, joined: boolean): void {
    const { xs, ys, zs } = this;
    this.waiting.move(xs[k], ys[k], zs[k], xs[k + 1], ys[k + 1], zs[k + 1], low, high, joined);
  }

  private arc(s: Shape, ax: number, ay: number, az: number, moves: MoveList, k: number): void {
    const { x0, y0, nx, ny, cell } = this.map;
    const R = s.radius;
    const bx = moves.x[k] - x0;
    const by = moves.y[k] - y0;
    const bz = moves.z[k];
    const cx = moves.cx[k] - x0;
    const cy = moves.cy[k] - y0;
    const cz = moves.cz[k];
    const sweep = moves.sweep[k];
    const plane = moves.plane[k];
    const first = plane === 0 ? ax - cx : plane === 1 ? az - cz : ay - cy;
    const second = plane === 0 ? ay - cy : plane === 1 ? ax - cx : az - cz;
    const last = plane === 0 ? Math.hypot(bx - cx, by - cy) : plane === 1 ? Math.hypot(bz - cz, bx - cx) : Math.hypot(by - cy, bz - cz);
    const rho = 0.5 * (Math.hypot(first, second) + last);
    // quick reject on the whole circle (and, for the axis that runs straight, on its ends)
    const xa = plane === 2 ? Math.min(ax, bx) : cx - rho;
    const xb = plane === 2 ? Math.max(ax, bx) : cx + rho;
    const ya = plane === 1 ? Math.min(ay, by) : cy - rho;
    const yb = plane === 1 ? Math.max(ay, by) : cy + rho;
    const reach = R + 1e-3;
    if (xb < -reach || xa > (nx - 1) * cell + reach || yb < -reach || ya > (ny - 1) * cell + reach) {
      if (this.n > 0) this.flush(s);
      return;
    }
    if (plane === 0 && az === bz) {
      if (this.n > 0) this.flush(s);
      this.removed += sweepArc(this.field, s, ax, ay, bx, by, cx, cy, rho, az, sweep);
      return;
    }
    const half = rho > CHORD_ERROR ? Math.acos(1 - CHORD_ERROR / rho) : Math.PI / 4;
    const n = Math.max(1, Math.ceil(Math.abs(sweep) / (2 * half)));
    if (plane === 0 && s.kind === "flat" && n > 2 && Math.abs(last - Math.hypot(first, second)) < CHORD_ERROR) {
      if (this.n > 0) this.flush(s);
      this.helix(R, cx, cy, rho, first, second, bx - cx, by - cy, az, bz, sweep);
      return;
    }
    const angle = Math.atan2(second, first);
    // chords join the polyline of the moves before and after: only its own ends are capped
    if (this.n === 0) this.push(ax, ay, az);
    for (let i = 1; i < n; i++) {
      const t = i / n;
      const p = rho * Math.cos(angle + sweep * t);
      const q = rho * Math.sin(angle + sweep * t);
      if (plane === 0) this.push(cx + p, cy + q, az + (bz - az) * t);
      else if (plane === 1) this.push(cx + q, ay + (by - ay) * t, cz + p);
      else this.push(ax + (bx - ax) * t, cy + p, cz + q);
    }
    this.push(bx, by, bz);
  }

  /** A flat cutter's way round (cx, cy) from (sx, sy, az) to (ex, ey, bz), both seen from the centre: down to its lower end, whichever way it goes. */
  private helix(
    R: number,
    cx: number,
    cy: number,
    rho: number,
    sx: number,
    sy: number,
    ex: number,
    ey: number,
    az: number,
    bz: number,
    sweep: number,
  ): void {
    const down = bz < az;
    const turn = Math.abs(sweep);
    const full = turn >= 2 * Math.PI - 1e-9;
    const box = sweep > 0 ? arcBox(sx, sy, ex, ey, rho, full, turn > Math.PI) : arcBox(ex, ey, sx, sy, rho, full, turn > Math.PI);
    const climb = Math.abs(bz - az) / turn;
    const dir = sweep > 0 === down ? 1 : -1;
    const [x, y, low] = down ? [ex, ey, bz] : [sx, sy, az];
    const [x0, y0, x1, y1] = [cx + box.xMin, cy + box.yMin, cx + box.xMax, cy + box.yMax];
    this.removed += this.wasm
      ? this.wasm.helix(R, cx, cy, rho, x0, y0, x1, y1, x, y, low, climb, dir, turn)
      : sweepHelix(this.field, R, cx, cy, rho, x0, y0, x1, y1, x, y, low, climb, dir, turn);
  }
}

/** The contact offset furthest from zero over the cutter's width, for slope m; signed as m. */
function largestOffset(s: Shape, m: number): number {
  if (m === 0) return 0;
  const slope = Math.abs(m);
  const u = s.kind === "ball" ? (s.radius * slope) / Math.sqrt(1 + slope * slope) : s.kind === "flat" ? s.radius : widest(s, slope);
  return m < 0 ? -u : u;
}

/** An upper bound of the contact offset of a general profile: on the flat's rim and corner at b = 0, on the cone anywhere. */
function widest(s: Shape, slope: number): number {
  if (s.cone > 0) return s.radius;
  return Math.min(s.radius, contactOffset(s, 0, slope, 0) + 1e-6);
}

function twice(a: Float64Array): Float64Array<ArrayBuffer> {
  const b = new Float64Array(a.length * 2);
  b.set(a);
  return b;
}
