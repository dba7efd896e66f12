import type { Mm, Rad } from "../units/index.ts";
import { type EngageKernel, type EngageMemory, type EngagementBox, type EngageShape, openEngage } from "./engagement-memory.ts";
import { FRONT, GRAZE, OVER, TILE, TILE_BITS } from "./engagement-plain.ts";

export type { EngagementBox };

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

const ALWAYS = 0x7fffffff;

/** The wood of a blank, box-shaped at first, and what a sweeping cutter's rim meets of it. Lengths mm, angles rad. */
export class EngagementField {
  /** Angle of the rim that stands in wood, of the last measurement. */
  angle: Rad = 0;
  /** The same weighed by the wood's height over the depth given (at full depth the angle itself). */
  load: Rad = 0;
  private readonly top: Mm;
  private readonly shape: EngageShape;
  private readonly memory: EngageMemory;
  private readonly kernel: EngageKernel;
  /** Tiles that have been wood: memory that is never looked at is never touched. */
  private readonly ready: Uint8Array;

  /**
   * `wood`: the blank seen from above; `part`: the rectangle of it that will be looked at. `onlyTold`: rims are measured only where and when
   * `willLook` tells; elsewhere stamps are left out, and no memory is touched.
   */
  constructor(wood: EngagementBox, top: Mm, part: EngagementBox, cell: Mm, onlyTold = false) {
    this.top = top;
    const nx = Math.max(2, Math.ceil((part.xMax - part.xMin) / cell) + 1);
    const ny = Math.max(2, Math.ceil((part.yMax - part.yMin) / cell) + 1);
    this.shape = {
      nx,
      ny,
      tilesX: Math.ceil(nx / TILE),
      tilesY: Math.ceil(ny / TILE),
      // off any round number, so that walls do not run along cell centres
      x0: part.xMin - 0.3137 * cell,
      y0: part.yMin - 0.2713 * cell,
      cell,
      band: 2 * cell,
      wood,
    };
    const { kernel, memory } = openEngage(this.shape);
    this.kernel = kernel;
    this.memory = memory;
    memory.looks.fill(onlyTold ? -1 : ALWAYS);
    memory.most.fill(top + OVER);
    for (let k = 0; k <= FRONT; k++) {
      const a = Math.PI * (k / FRONT - 0.5);
      memory.cos[k] = Math.cos(a);
      memory.sin[k] = Math.sin(a);
    }
    this.ready = new Uint8Array(memory.looks.length);
    if (!onlyTold) for (let tile = 0; tile < memory.looks.length; tile++) this.begun(tile);
  }

  /** How far a measured angle may be off, for a rim of radius r measured every `step` along the path. */
  error(r: Mm, step: Mm): Rad {
    const { cell } = this.shape;
    const interpolation = (cell * cell) / (8 * r);
    const grazing = Math.acos(Math.max(0, 1 - (GRAZE + interpolation) / r));
    return grazing + Math.asin(Math.min(1, GRAZE / step)) + Math.PI / FRONT / 4;
  }

  /** Sees to it that a tile has been wood. */
  private begun(tile: number): void {
    if (this.ready[tile]) return;
    this.ready[tile] = 1;
    this.kernel.engageTile(tile, this.top);
  }

  /** Up to turn `turn`, which never falls, rims are measured about points between a and b, their radius r. */
  willLook(turn: number, ax: Mm, ay: Mm, bx: Mm, by: Mm, r: Mm): void {
    const { cell, x0, y0, tilesX, tilesY } = this.shape;
    const { looks } = this.memory;
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
      for (let j = j0; j <= j1; j++)
        for (let tile = j * tilesX + i0; tile <= j * tilesX + i1; tile++) {
          if (looks[tile] >= turn) continue;
          looks[tile] = turn;
          this.begun(tile);
        }
    }
  }

  /** What is measured and stamped from now on is of this turn. */
  begin(turn: number): void {
    this.kernel.engageBegin(turn);
  }

  /** Puts wood of height `top` back where `distance` is not above 0. */
  fill(box: EngagementBox, top: Mm, distance: (x: Mm, y: Mm) => Mm): void {
    const { cell, x0, y0, nx, ny, tilesX } = this.shape;
    const { most } = this.memory;
    const i0 = Math.max(0, Math.floor((box.xMin - x0) / cell));
    const i1 = Math.min(nx - 1, Math.ceil((box.xMax - x0) / cell));
    const j0 = Math.max(0, Math.floor((box.yMin - y0) / cell));
    const j1 = Math.min(ny - 1, Math.ceil((box.yMax - y0) / cell));
    for (let k = 0; k < most.length; k++) most[k] = Math.max(most[k], top + OVER);
    for (let j = j0; j <= j1; j++)
      for (let i = i0; i <= i1; i++) {
        if (distance(x0 + i * cell, y0 + j * cell) > 0) continue;
        this.begun((j >> TILE_BITS) * tilesX + (i >> TILE_BITS));
        this.kernel.engageCell(j * nx + i, top);
      }
  }

  /**
   * Measures the rim of radius r about (x, y) at height z, going along the unit vector (ux, uy): fills `angle` and `load`.
   * `part`: the front half; the whole circle (a plunge); or the middle five sixths of the front half, scaled to all of it: in a slot
   * that is cut in layers the ends of the half slide along walls that stand there since the layers above, and cut nothing of them.
   */
  measure(x: Mm, y: Mm, z: Mm, ux: number, uy: number, r: Mm, depth: Mm, part: "front" | "whole" | "middle" = "front"): void {
    const { kernel, memory } = this;
    const { measured } = memory;
    measured[0] = 0;
    measured[1] = 0;
    kernel.engageArc(x, y, z, ux, uy, r, depth, part === "middle" ? FRONT / 12 : 0);
    if (part === "whole") kernel.engageArc(x, y, z, -ux, -uy, r, depth, 0);
    this.angle = measured[0];
    this.load = measured[1];
  }

  /**
   * Stamps the sweep of a disc of radius r from (ax, ay, az) to (bx, by, bz). `joined`: the last stamp ended at (ax, ay, az)
   * with the same radius, so that what it covers need not be looked at again.
   */
  stamp(ax: Mm, ay: Mm, az: Mm, bx: Mm, by: Mm, bz: Mm, r: Mm, joined: boolean): void {
    this.kernel.engageStamp(ax, ay, az, bx, by, bz, r, joined ? 1 : 0);
  }
}
