import type { Mm } from "../units/index.ts";
import type { EngageKernel, EngageMemory, EngageShape } from "./engagement-memory.ts";

/** Wood lower than this above the tip counts as none. */
export const SKIN: Mm = 0.05;
/** Wood that reaches less than this into the rim counts as none. */
export const GRAZE: Mm = 0.004;
/** Distances nearer to each other than this are those of one edge, met twice. */
const SAME: Mm = 0.002;
/** Intervals of the front half circle. */
export const FRONT = 48;
const FAR = 1e9;
/** Stands for a height of 0 where 0 means none. */
const TINY = 1e-30;
/** So far above a cell's wood a sweep surely changes nothing. */
export const OVER: Mm = SKIN + 1e-5;
/** Cells of a tile's side, and its exponent. */
export const TILE = 16;
export const TILE_BITS = 4;
/** Numbers of a cell, and where each stands after its height. */
export const STRIDE = 4;
const [INNER, EDGE, OUTER] = [1, 2, 3] as const;

/** What an EngagementField measures and stamps, in plain TypeScript: as in WebAssembly, to the last bit. */
export class PlainEngage implements EngageKernel {
  private readonly shape: EngageShape;
  private readonly memory: EngageMemory;
  private turn = 0;

  constructor(shape: EngageShape, memory: EngageMemory) {
    this.shape = shape;
    this.memory = memory;
  }

  engageBegin(turn: number): void {
    this.turn = turn;
  }

  engageTile(tile: number, top: Mm): void {
    const { nx, ny, tilesX } = this.shape;
    const i0 = (tile % tilesX) * TILE;
    const j0 = Math.floor(tile / tilesX) * TILE;
    for (let j = j0; j < Math.min(ny, j0 + TILE); j++)
      for (let p = j * nx + i0; p < j * nx + Math.min(nx, i0 + TILE); p++) this.engageCell(p, top);
  }

  engageCell(p: number, top: Mm): void {
    const at = p * STRIDE;
    const { cells, before } = this.memory;
    cells[at] = top;
    cells[at + INNER] = 0;
    cells[at + EDGE] = FAR;
    cells[at + OUTER] = this.shape.band;
    before.fill(0, at, at + STRIDE);
  }

  engageArc(x: Mm, y: Mm, z: Mm, ux: number, uy: number, r: Mm, depth: Mm, off: number): void {
    const { cell, x0, y0, nx, ny, band, wood } = this.shape;
    const { xMin, yMin, xMax, yMax } = wood;
    const { cells, cos, sin, measured } = this.memory;
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
    measured[0] += (angle * Math.PI) / (FRONT - 2 * off);
    measured[1] += (load * Math.PI) / (FRONT - 2 * off) / depth;
  }

  /** Distance outside of all that has been swept down to `z` or lower, as far as the cell remembers: four edges. */
  private distanceAt(at: number, z: Mm): Mm {
    const { cells, before } = this.memory;
    let d = this.shape.band;
    if (cells[at] <= z) d = cells[at + INNER];
    else if (cells[at + EDGE] <= z) d = cells[at + OUTER];
    if (before[at] !== 0 && before[at] <= z) d = Math.min(d, before[at + INNER]);
    else if (before[at + EDGE] !== 0 && before[at + EDGE] <= z) d = Math.min(d, before[at + OUTER]);
    return d;
  }

  /** Finds out from which height on sweeps change nothing in a tile: above its wood, or at its wood's height where all of it lies deep inside what was swept. */
  private lookUp(tile: number): void {
    const { nx, ny, tilesX, band } = this.shape;
    const { cells, most: tops, inVain } = this.memory;
    const deep = Math.fround(-band);
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
    tops[tile] = most;
    inVain[tile] = 0;
  }

  engageStamp(ax: Mm, ay: Mm, az: Mm, bx: Mm, by: Mm, bz: Mm, r: Mm, joined: number): void {
    const { cell, x0, y0, nx, ny, tilesX, band } = this.shape;
    const { cells, before, looks, most, inVain } = this.memory;
    const { turn } = this;
    const dx = bx - ax;
    const dy = by - ay;
    const dz = bz - az;
    const l2 = dx * dx + dy * dy;
    const inv = l2 > 0 ? 1 / l2 : 0;
    const len = Math.sqrt(l2);
    const wide = r + band;
    const fresh = joined === 0 || dz < -1e-9;
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
              if (h - z >= SKIN && (cells[p + INNER] <= before[p + INNER] + SAME || before[p] === 0)) {
                before[p] = h === 0 ? TINY : h;
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
              if (before[p + EDGE] === 0 || cells[p + OUTER] <= before[p + OUTER] + SAME) {
                before[p + EDGE] = e === 0 ? TINY : e;
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
