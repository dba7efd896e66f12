/*
 * In which order sweeps are done does not change what is left: a cell keeps the least height that any of them gives it. It changes what
 * they cost. A cell under a row of passes side by side is lowered by one after the other, each a little deeper than the one before. Taken far apart
 * first and then ever closer, the first passes bring it near its height, and most of the others end at a block's maximum.
 */

/** Pieces of one unit: near each other, they are taken one after the other. */
const LONGEST_UNIT = 256;

/** What waits at most before it is swept: points of chains and pieces, so that the memory stays small. */
export const MOST_WAITING: number = 1 << 16;

/** Runs along x at one y and single moves that wait to be swept, in units of neighbours. */
export class Waiting {
  /** Points of chains: x and z. */
  x: Float64Array = new Float64Array(256);
  z: Float64Array = new Float64Array(256);
  private points = 0;
  /** Moves: both ends, then from where to where along it. */
  moves: Float64Array = new Float64Array(8 * 64);
  private count = 0;
  /** Units: first and end of points or moves; a chain's y, or NaN for moves. */
  private readonly from: number[] = [];
  private readonly to: number[] = [];
  private readonly y: number[] = [];

  get waiting(): number {
    return this.points + this.count;
  }

  /** Room for a chain of n points at height y above x: the place of its first point in `x` and `z`, ascending in x. */
  chain(n: number, y: number): number {
    const at = this.points;
    this.points += n;
    if (this.points > this.x.length) {
      this.x = grown(this.x, this.points);
      this.z = grown(this.z, this.points);
    }
    this.put(at, this.points, y);
    return at;
  }

  /** A move; `joined`: it goes on from the one before. */
  move(ax: number, ay: number, az: number, bx: number, by: number, bz: number, low: number, high: number, joined: boolean): void {
    const k = this.count++;
    if (8 * this.count > this.moves.length) this.moves = grown(this.moves, 8 * this.count);
    const m = this.moves;
    const at = 8 * k;
    m[at] = ax;
    m[at + 1] = ay;
    m[at + 2] = az;
    m[at + 3] = bx;
    m[at + 4] = by;
    m[at + 5] = bz;
    m[at + 6] = low;
    m[at + 7] = high;
    const last = this.to.length - 1;
    if (joined && last >= 0 && Number.isNaN(this.y[last]) && this.to[last] === k && k - this.from[last] < LONGEST_UNIT) this.to[last]++;
    else this.put(k, k + 1, Number.NaN);
  }

  /** Hands over every unit once, far ones first, and forgets them. */
  sweep(unit: (from: number, to: number, y: number) => void): void {
    const { from, to, y } = this;
    const n = from.length;
    let bits = 0;
    while (1 << bits < n) bits++;
    for (let k = 0; k < 1 << bits; k++) {
      const u = reversed(k, bits);
      if (u < n) unit(from[u], to[u], y[u]);
    }
    from.length = 0;
    to.length = 0;
    y.length = 0;
    this.points = 0;
    this.count = 0;
  }

  private put(from: number, to: number, y: number): void {
    this.from.push(from);
    this.to.push(to);
    this.y.push(y);
  }
}

/** The lowest `bits` bits of k, last first. */
export function reversed(k: number, bits: number): number {
  let r = 0;
  for (let b = 0; b < bits; b++) r |= ((k >> b) & 1) << (bits - 1 - b);
  return r;
}

function grown(a: Float64Array, least: number): Float64Array<ArrayBuffer> {
  const b = new Float64Array(Math.max(2 * a.length, least));
  b.set(a);
  return b;
}
