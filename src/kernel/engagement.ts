import type { Mm, Rad } from "../units/index.ts";
import { type EngageKernel, openEngage, plainMemory } from "./engagement-memory.ts";

/*
 * How much of a cutter's rim stands in wood, measured on pixels:
 *
 *        wood /////|            The rim's front half is looked at, point by point, in a field that holds for every cell how far
 *        /////.--->|            it lies outside what has been swept (signed, so that an edge is known far better than a cell
 *        ////(  o  )  ->        is wide) and how high the wood stands there. What the cutter has swept up to here lies behind
 *         ----`---'---          its front half, so a whole straight is measured before it is stamped into the field.
 *
 * Two edges are kept per cell: that of the wood that stands now (its height and the distance inside what lowered it), and
 * that of the lowest sweep that passes close by without reaching the cell's centre. Of both also the one before (the layer above):
 * while a slot is gone over again lower down, its walls stand where the layer above has cut them, ahead of the cutter too.
 */

/** Wood lower than this above the tip counts as none. */
export const SKIN: Mm = 0.05;
/** Wood that reaches less than this into the rim counts as none. */
export const GRAZE: Mm = 0.004;
/** Distances nearer to each other than this are those of one edge, met twice. */
const SAME: Mm = 0.002;
/** Intervals of the front half circle. */
const FRONT = 48;
const FAR = 1e9;
/** So far above a cell's wood a sweep surely changes nothing. */
const OVER: Mm = SKIN + 1e-5;
/** Cells of a tile's side, and its exponent. */
const TILE = 16;
const TILE_BITS = 4;
const ALWAYS = 0x7fffffff;
/** Numbers of a cell, and where each stands after its height. */
const STRIDE = 4;
const [INNER, EDGE, OUTER] = [1, 2, 3] as const;

export interface EngagementBox {
  readonly xMin: Mm;
  readonly yMin: Mm;
  readonly xMax: Mm;
  readonly yMax: Mm;
}

/** The wood of a blank, box-shaped at first, and what a sweeping cutter's rim meets of it. Lengths mm, angles rad. */
export class EngagementField {
  /** Angle of the rim that stands in wood, of the last measurement. */
  angle: Rad = 0;
  /** The same weighed by the wood's height over the depth given (at full depth the angle itself). */
  load: Rad = 0;
  private readonly cell: Mm;
  private readonly nx: number;
  private readonly ny: number;
  private readonly x0: Mm;
  private readonly y0: Mm;
  private readonly wood: EngagementBox;
  private readonly band: Mm;
  /**
   * Four numbers of each cell, one after the other: height of the wood, and signed distance to the edge of what lowered it (at most 0);
   * height of the lowest sweep that passes by within the band, and the distance to its edge.
   */
  private readonly cells: Float32Array;
  /** The same four before they were lowered to those, of the layer above: looked at seldom, so they lie apart. */
  private readonly before: Float32Array;
  /** Of each tile of TILE x TILE cells the last turn at which a rim is measured there; what comes later need not be stamped. */
  private readonly looks: Int32Array;
  private readonly tilesX: number;
  private readonly tilesY: number;
  private turn = 0;
  /** Of each tile: a sweep at this height or higher changes nothing in it; and how many cells have been looked at in vain since that was found out. */
  private readonly most: Float32Array;
  private readonly inVain: Uint16Array;
  private readonly cos: Float64Array;
  private readonly sin: Float64Array;
  /** Measures and stamps in WebAssembly, in whose memory the arrays then are; null: in plain TypeScript, with the same results. */
  private readonly kernel: EngageKernel | null;
  private readonly measured: Float64Array;

  /** `wood`: the blank seen from above; `part`: the rectangle of it that will be looked at. */
  constructor(wood: EngagementBox, top: Mm, part: EngagementBox, cell: Mm) {
    this.wood = wood;
    this.cell = cell;
    this.band = 2 * cell;
    this.nx = Math.max(2, Math.ceil((part.xMax - part.xMin) / cell) + 1);
    this.ny = Math.max(2, Math.ceil((part.yMax - part.yMin) / cell) + 1);
    // off any round number, so that walls do not run along cell centres
    this.x0 = part.xMin - 0.3137 * cell;
    this.y0 = part.yMin - 0.2713 * cell;
    this.tilesX = Math.ceil(this.nx / TILE);
    this.tilesY = Math.ceil(this.ny / TILE);
    const numbers = [this.x0, this.y0, cell, this.band, wood.xMin, wood.yMin, wood.xMax, wood.yMax];
    const memory =
      openEngage(this.nx, this.ny, this.tilesX, this.tilesY, FRONT + 1, numbers) ??
      plainMemory(this.nx * this.ny, this.tilesX * this.tilesY, FRONT + 1);
    this.kernel = memory.kernel;
    this.cells = memory.cells;
    this.before = memory.before;
    this.looks = memory.looks.fill(ALWAYS);
    this.most = memory.most.fill(top + OVER);
    this.inVain = memory.inVain;
    this.cos = memory.cos;
    this.sin = memory.sin;
    this.measured = memory.measured;
    if (this.kernel !== null) this.kernel.engageWood(top);
    else for (let p = 0; p < this.nx * this.ny; p++) this.wooden(p, top);
    for (let k = 0; k <= FRONT; k++) {
      const a = Math.PI * (k / FRONT - 0.5);
      this.cos[k] = Math.cos(a);
      this.sin[k] = Math.sin(a);
    }
  }

  /** How far a measured angle may be off, for a rim of radius r measured every `step` along the path. */
  error(r: Mm, step: Mm): Rad {
    const interpolation = (this.cell * this.cell) / (8 * r);
    const grazing = Math.acos(Math.max(0, 1 - (GRAZE + interpolation) / r));
    return grazing + Math.asin(Math.min(1, GRAZE / step)) + Math.PI / FRONT / 4;
  }

  /** A cell of untouched wood. */
  private wooden(p: number, top: Mm): void {
    const at = p * STRIDE;
    this.cells[at] = top;
    this.cells[at + INNER] = 0;
    this.cells[at + EDGE] = FAR;
    this.cells[at + OUTER] = this.band;
    this.before[at] = FAR;
    this.before[at + INNER] = 0;
    this.before[at + EDGE] = FAR;
    this.before[at + OUTER] = this.band;
  }

  /** Says that rims are measured only where and when `willLook` tells: elsewhere stamps may be left out. */
  lookOnlyWhereTold(): void {
    this.looks.fill(-1);
  }

  /** Up to turn `turn`, which never falls, rims are measured about points between a and b, their radius r. */
  willLook(turn: number, ax: Mm, ay: Mm, bx: Mm, by: Mm, r: Mm): void {
    const { cell, x0, y0, looks, tilesX, tilesY } = this;
    const size = TILE * cell;
    const parts = Math.max(1, Math.ceil(Math.hypot(bx - ax, by - ay) / size));
    const far = r + 2 * cell;
    for (let k = 0; k < parts; k++) {
      const px = ax + ((bx - ax) * k) / parts;
      const py = ay + ((by - ay) * k) / parts;
      const qx = ax + ((bx - ax) * (k + 1)) / parts;
      const qy = ay + ((by - ay) * (k + 1)) / parts;
      const i0 = Math.max(0, Math.floor((Math.min(px, qx) - far - x0) / size));
      const i1 = Math.min(tilesX - 1, Math.floor((Math.max(px, qx) + far - x0) / size));
      const j0 = Math.max(0, Math.floor((Math.min(py, qy) - far - y0) / size));
      const j1 = Math.min(tilesY - 1, Math.floor((Math.max(py, qy) + far - y0) / size));
      for (let j = j0; j <= j1; j++) for (let i = i0; i <= i1; i++) if (looks[j * tilesX + i] < turn) looks[j * tilesX + i] = turn;
    }
  }

  /** What is measured and stamped from now on is of this turn. */
  begin(turn: number): void {
    this.turn = turn;
    this.kernel?.engageBegin(turn);
  }

  /** Puts wood of height `top` back where `distance` is not above 0. */
  fill(box: EngagementBox, top: Mm, distance: (x: Mm, y: Mm) => Mm): void {
    const { cell, x0, y0, nx, ny } = this;
    const i0 = Math.max(0, Math.floor((box.xMin - x0) / cell));
    const i1 = Math.min(nx - 1, Math.ceil((box.xMax - x0) / cell));
    const j0 = Math.max(0, Math.floor((box.yMin - y0) / cell));
    const j1 = Math.min(ny - 1, Math.ceil((box.yMax - y0) / cell));
    for (let k = 0; k < this.most.length; k++) this.most[k] = Math.max(this.most[k], top + OVER);
    for (let j = j0; j <= j1; j++)
      for (let i = i0; i <= i1; i++) {
        if (distance(x0 + i * cell, y0 + j * cell) > 0) continue;
        this.wooden(j * nx + i, top);
      }
  }

  /**
   * Measures the rim of radius r about (x, y) at height z, going along the unit vector (ux, uy): fills `angle` and `load`.
   * `part`: the front half; the whole circle (a plunge); or the middle five sixths of the front half, scaled to all of it: in a slot
   * that is cut in layers the ends of the half slide along walls that stand there since the layers above, and cut nothing of them.
   */
  measure(x: Mm, y: Mm, z: Mm, ux: number, uy: number, r: Mm, depth: Mm, part: "front" | "whole" | "middle" = "front"): void {
    this.angle = 0;
    this.load = 0;
    const { kernel, measured } = this;
    const off = part === "middle" ? FRONT / 12 : 0;
    if (kernel === null) {
      this.arc(x, y, z, ux, uy, r, depth, off);
      if (part === "whole") this.arc(x, y, z, -ux, -uy, r, depth, 0);
      return;
    }
    measured[0] = 0;
    measured[1] = 0;
    kernel.engageArc(x, y, z, ux, uy, r, depth, off);
    if (part === "whole") kernel.engageArc(x, y, z, -ux, -uy, r, depth, 0);
    this.angle = measured[0];
    this.load = measured[1];
  }

  private arc(x: Mm, y: Mm, z: Mm, ux: number, uy: number, r: Mm, depth: Mm, off: number): void {
    const { cell, x0, y0, nx, ny, cells, band, cos, sin } = this;
    const { xMin, yMin, xMax, yMax } = this.wood;
    const zs = z + SKIN;
    const perCell = 1 / cell;
    let before = -band;
    let tall = 0;
    let angle = 0;
    let load = 0;
    for (let k = off; k <= FRONT - off; k++) {
      const px = x + r * (cos[k] * ux - sin[k] * uy);
      const py = y + r * (sin[k] * ux + cos[k] * uy);
      let m = px - xMin;
      if (xMax - px < m) m = xMax - px;
      if (py - yMin < m) m = py - yMin;
      if (yMax - py < m) m = yMax - py;
      let h = 0;
      if (m > -band) {
        const fx = (px - x0) * perCell;
        const fy = (py - y0) * perCell;
        const i = Math.floor(fx);
        const j = Math.floor(fy);
        if (i >= 0 && j >= 0 && i < nx - 1 && j < ny - 1) {
          const p = (j * nx + i) * STRIDE;
          const q = p + nx * STRIDE;
          const ha = cells[p];
          const hb = cells[p + STRIDE];
          const hc = cells[q];
          const hd = cells[q + STRIDE];
          let highest = ha;
          if (hb > highest) highest = hb;
          if (hc > highest) highest = hc;
          if (hd > highest) highest = hd;
          h = highest - z;
          if (h <= SKIN) m = -band;
          else {
            const a = ha <= zs ? cells[p + INNER] : cells[p + EDGE] <= zs ? cells[p + OUTER] : band;
            const b = hb <= zs ? cells[p + STRIDE + INNER] : cells[p + STRIDE + EDGE] <= zs ? cells[p + STRIDE + OUTER] : band;
            const c = hc <= zs ? cells[q + INNER] : cells[q + EDGE] <= zs ? cells[q + OUTER] : band;
            const d = hd <= zs ? cells[q + STRIDE + INNER] : cells[q + STRIDE + EDGE] <= zs ? cells[q + STRIDE + OUTER] : band;
            const tx = fx - i;
            const v = (a + (b - a) * tx) * (1 - (fy - j)) + (c + (d - c) * tx) * (fy - j);
            if (v < m) m = v;
            // beside a step in the wood's own height: is this point still within the lower part?
            let level = m > 0 ? Math.min(ha > zs ? ha : FAR, hb > zs ? hb : FAR, hc > zs ? hc : FAR, hd > zs ? hd : FAR) : FAR;
            while (level < h + z - SKIN) {
              const zl = level + SKIN;
              const e = this.distanceAt(p, zl);
              const f = this.distanceAt(p + STRIDE, zl);
              const g = this.distanceAt(q, zl);
              const w = this.distanceAt(q + STRIDE, zl);
              if ((e + (f - e) * tx) * (1 - (fy - j)) + (g + (w - g) * tx) * (fy - j) <= GRAZE) {
                h = level - z;
                break;
              }
              // not there: on the next step up, where three heights meet (a ramp just begun, the layer above, the wall)
              level = Math.min(ha > zl ? ha : FAR, hb > zl ? hb : FAR, hc > zl ? hc : FAR, hd > zl ? hd : FAR);
            }
          }
        } else m = -band;
      }
      m -= GRAZE;
      if (k > off) {
        // the edge of the wood lies where the distance crosses zero between two points of the rim
        const share = m > 0 ? (before > 0 ? 1 : m / (m - before)) : before > 0 ? before / (before - m) : 0;
        if (share > 0) {
          angle += share;
          load += share * (m > 0 ? (before > 0 ? (h + tall) / 2 : h) : tall);
        }
      }
      before = m;
      tall = h;
    }
    this.angle += (angle * Math.PI) / (FRONT - 2 * off);
    this.load += (load * Math.PI) / (FRONT - 2 * off) / depth;
  }

  /** Distance outside of all that has been swept down to `z` or lower, as far as the cell remembers: four edges. */
  private distanceAt(at: number, z: Mm): Mm {
    const { cells, before } = this;
    let d = this.band;
    if (cells[at] <= z) d = cells[at + INNER];
    else if (cells[at + EDGE] <= z) d = cells[at + OUTER];
    if (before[at] <= z) d = Math.min(d, before[at + INNER]);
    else if (before[at + EDGE] <= z) d = Math.min(d, before[at + OUTER]);
    return d;
  }

  /** Finds out from which height on sweeps change nothing in a tile: above its wood, or at its wood's height where all of it lies deep inside what was swept. */
  private lookUp(tile: number): void {
    const { nx, ny, tilesX, cells } = this;
    const deep = Math.fround(-this.band);
    const j0 = Math.floor(tile / tilesX) * TILE;
    const i0 = (tile % tilesX) * TILE;
    const j1 = Math.min(ny, j0 + TILE);
    const i1 = Math.min(nx, i0 + TILE);
    let most = -FAR;
    for (let j = j0; j < j1; j++)
      for (let p = j * nx + i0; p < j * nx + i1; p++) {
        const h = cells[p * STRIDE];
        most = Math.max(most, cells[p * STRIDE + INNER] <= deep ? h : h + OVER);
      }
    this.most[tile] = most;
    this.inVain[tile] = 0;
  }

  /**
   * Stamps the sweep of a disc of radius r from (ax, ay, az) to (bx, by, bz). `joined`: the last stamp ended at (ax, ay, az)
   * with the same radius, so that what it covers need not be looked at again.
   */
  stamp(ax: Mm, ay: Mm, az: Mm, bx: Mm, by: Mm, bz: Mm, r: Mm, joined: boolean): void {
    if (this.kernel !== null) {
      this.kernel.engageStamp(ax, ay, az, bx, by, bz, r, joined ? 1 : 0);
      return;
    }
    const { cell, x0, y0, nx, ny, cells, before, band } = this;
    const dx = bx - ax;
    const dy = by - ay;
    const dz = bz - az;
    const l2 = dx * dx + dy * dy;
    const inv = l2 > 0 ? 1 / l2 : 0;
    const len = Math.sqrt(l2);
    const wide = r + band;
    const fresh = !joined || dz < -1e-9;
    const { looks, tilesX, turn, most, inVain } = this;
    const r2 = r * r;
    const wide2 = wide * wide;
    const deep = r - band;
    const deep2 = deep > 0 ? deep * deep : 0;
    const j0 = Math.max(0, Math.ceil((Math.min(ay, by) - wide - y0) / cell));
    const j1 = Math.min(ny - 1, Math.floor((Math.max(ay, by) + wide - y0) / cell));
    // a plunge stands as far from its lower end as from its upper one
    const zPlunge = l2 > 0 ? az : Math.min(az, bz);
    // below all of the sweep, as it would be kept
    const least = Math.fround(-band);
    const low = Math.fround(dz === 0 ? az : Math.min(az, bz) - 1e-6);
    for (let j = j0; j <= j1; j++) {
      const y = y0 + j * cell - ay;
      // x from a: two discs and the slab between
      let lo = FAR;
      let hi = -FAR;
      const wa = wide2 - y * y;
      if (wa > 0) {
        hi = Math.sqrt(wa);
        lo = -hi;
      }
      const wb = wide2 - (y - dy) * (y - dy);
      if (wb > 0) {
        const w = Math.sqrt(wb);
        if (dx + w > hi) hi = dx + w;
        if (dx - w < lo) lo = dx - w;
      }
      if (len > 0 && Math.abs(dy) > 1e-12) {
        // the slab's two long sides at this height
        const c = (y * dx) / dy;
        const s = (wide * len) / Math.abs(dy);
        const t0 = ((c - s) * dx + y * dy) * inv;
        const t1 = ((c + s) * dx + y * dy) * inv;
        if (t0 > 0 && t0 < 1 && c - s < lo) lo = c - s;
        if (t1 > 0 && t1 < 1 && c + s > hi) hi = c + s;
      }
      if (!fresh && Math.abs(dx) > 1e-9) {
        // behind the start nothing changes
        const start = (-y * dy) / dx;
        if (dx > 0) lo = Math.max(lo, start - cell);
        else hi = Math.min(hi, start + cell);
      }
      if (lo > hi) continue;
      let i = Math.max(0, Math.ceil((ax + lo - x0) / cell));
      const last = Math.min(nx - 1, Math.floor((ax + hi - x0) / cell));
      // deep inside the last stamp's end nothing changes
      let skip = nx;
      let skipTo = 0;
      if (!fresh && deep2 > y * y) {
        const w = Math.sqrt(deep2 - y * y);
        skip = Math.ceil((ax - w - x0) / cell);
        skipTo = Math.floor((ax + w - x0) / cell) + 1;
      }
      const row = j * nx;
      const tiles = (j >> TILE_BITS) * tilesX;
      // by tiles: over those that nobody looks at any more, and those in which all wood stands lower already
      while (i <= last) {
        if (i >= skip && i < skipTo) {
          i = skipTo;
          continue;
        }
        const tile = tiles + (i >> TILE_BITS);
        const next = ((i >> TILE_BITS) + 1) << TILE_BITS;
        if (looks[tile] < turn || low >= most[tile]) {
          i = next;
          continue;
        }
        const end = Math.min(last, next - 1, i < skip ? skip - 1 : last);
        let vain = 0;
        for (; i <= end; i++) {
          const x = x0 + i * cell - ax;
          let t = (x * dx + y * dy) * inv;
          if (t < 0) {
            if (!fresh) continue;
            t = 0;
          } else if (t > 1) t = 1;
          const ex = x - t * dx;
          const ey = y - t * dy;
          const d2 = ex * ex + ey * ey;
          if (d2 >= wide2) continue;
          const z = zPlunge + t * dz;
          const p = (row + i) * STRIDE;
          const h = cells[p];
          if (z > h + SKIN) {
            vain++;
            continue;
          }
          if (z >= h && cells[p + INNER] <= least) {
            vain++;
            continue;
          }
          if (d2 <= r2) {
            const d = d2 < deep2 ? -band : Math.sqrt(d2) - r;
            if (z < h) {
              if (h - z >= SKIN && (cells[p + INNER] <= before[p + INNER] + SAME || before[p] === FAR)) {
                before[p] = h;
                before[p + INNER] = cells[p + INNER];
              }
              // lowered by next to nothing (a slope): the nearer edge is still that of before
              cells[p + INNER] = h - z < SKIN && cells[p + INNER] < d ? cells[p + INNER] : d;
              cells[p] = z;
            } else if (d < cells[p + INNER]) cells[p + INNER] = d;
          } else if (z < h - SKIN) {
            const d = Math.sqrt(d2) - r;
            const e = cells[p + EDGE];
            if (z < e - SKIN) {
              if (cells[p + OUTER] <= before[p + OUTER] + SAME) {
                before[p + EDGE] = e;
                before[p + OUTER] = cells[p + OUTER];
              }
              cells[p + EDGE] = z;
              cells[p + OUTER] = d;
            } else if (z <= e + SKIN) {
              if (z < e) cells[p + EDGE] = z;
              if (d < cells[p + OUTER]) cells[p + OUTER] = d;
            }
          }
        }
        if (vain > 0) {
          inVain[tile] += vain;
          if (inVain[tile] > TILE * TILE) this.lookUp(tile);
        }
      }
    }
  }
}
