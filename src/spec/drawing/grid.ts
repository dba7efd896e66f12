import type { Mm } from "../../units/index.ts";

/** Points in square cells, for what lies within one cell's width of a place. Hashed, so that far-off points cost nothing. */
export class PointGrid {
  private readonly cell: Mm;
  private readonly mask: number;
  private readonly head: Int32Array;
  private readonly next: Int32Array;
  private readonly ids: readonly number[];

  /** `ids` index xs and ys. */
  constructor(ids: readonly number[], xs: Float64Array, ys: Float64Array, cell: Mm) {
    let size = 16;
    while (size < 2 * ids.length) size *= 2;
    this.cell = cell;
    this.mask = size - 1;
    this.head = new Int32Array(size).fill(-1);
    this.next = new Int32Array(ids.length);
    this.ids = ids;
    for (let k = ids.length - 1; k >= 0; k--) {
      const h = this.bucket(Math.floor(xs[ids[k]] / cell), Math.floor(ys[ids[k]] / cell));
      this.next[k] = this.head[h];
      this.head[h] = k;
    }
  }

  private bucket(ix: number, iy: number): number {
    // cells may count past 2^31: fold first
    const a = Math.imul(ix % 2147483647, 73856093);
    const b = Math.imul(iy % 2147483647, 19349663);
    let h = a ^ b;
    h = Math.imul(h ^ (h >>> 15), 2246822519);
    return (h ^ (h >>> 13)) & this.mask;
  }

  /** Calls `visit` for every point that may lie within a cell's width of the place; sometimes for others, rarely twice. */
  near(x: Mm, y: Mm, visit: (id: number) => void): void {
    const ix = Math.floor(x / this.cell);
    const iy = Math.floor(y / this.cell);
    for (let dx = -1; dx <= 1; dx++) {
      for (let dy = -1; dy <= 1; dy++) {
        for (let k = this.head[this.bucket(ix + dx, iy + dy)]; k >= 0; k = this.next[k]) visit(this.ids[k]);
      }
    }
  }
}
