import { MoveKind, type MoveList } from "../../kernel/moves.ts";

function wider<A extends Float64Array | Uint32Array | Uint8Array>(a: A, b: A): A {
  b.set(a);
  return b;
}

/** A move list that grows under the reader's hands: open arrays, so that the inner loop stores without a call. */
export class Track {
  start: readonly [number, number, number];
  count = 0;
  room = 0;
  kind: Uint8Array = new Uint8Array(0);
  x: Float64Array = new Float64Array(0);
  y: Float64Array = new Float64Array(0);
  z: Float64Array = new Float64Array(0);
  feed: Float64Array = new Float64Array(0);
  cx: Float64Array = new Float64Array(0);
  cy: Float64Array = new Float64Array(0);
  cz: Float64Array = new Float64Array(0);
  sweep: Float64Array = new Float64Array(0);
  plane: Uint8Array = new Uint8Array(0);
  line: Uint32Array = new Uint32Array(0);
  /** All nought, and never written to: what a list without arcs says of its arcs. */
  private nought = new Float64Array(0);

  constructor(start: readonly [number, number, number] = [0, 0, 0], room = 0) {
    this.start = start;
    this.grow(room);
  }

  /** Begins anew in the memory that is there; what an earlier list of this track held is overwritten. */
  begin(start: readonly [number, number, number], room: number): void {
    this.start = start;
    this.count = 0;
    // an arc's data is kept for every move or for none
    this.cx = this.cy = this.cz = this.sweep = new Float64Array(0);
    this.plane = new Uint8Array(0);
    if (room > this.room) this.grow(room);
  }

  /** Adds a rapid, line or dwell; feed mm/s, or seconds of a dwell. */
  add(kind: number, x: number, y: number, z: number, feed: number, line: number): number {
    if (this.count === this.room) this.grow(this.room * 2 + 64);
    const n = this.count++;
    this.kind[n] = kind;
    this.x[n] = x;
    this.y[n] = y;
    this.z[n] = z;
    this.feed[n] = feed;
    this.line[n] = line;
    return n;
  }

  addArc(
    x: number,
    y: number,
    z: number,
    cx: number,
    cy: number,
    cz: number,
    sweep: number,
    feed: number,
    plane: number,
    line: number,
  ): void {
    const n = this.add(MoveKind.arc, x, y, z, feed, line);
    if (this.plane.length === 0) this.growArcs(this.room);
    this.cx[n] = cx;
    this.cy[n] = cy;
    this.cz[n] = cz;
    this.sweep[n] = sweep;
    this.plane[n] = plane;
  }

  /** Room for so many moves more; `share` is how much of the text has been read, from which the whole is judged. */
  makeRoom(more: number, share: number): void {
    const need = this.count + more;
    if (need > this.room) this.grow(Math.max(need, Math.ceil((1.05 * need) / Math.max(share, 0.01))));
  }

  grow(room: number): void {
    this.room = room;
    for (const name of ["x", "y", "z", "feed"] as const) this[name] = wider(this[name], new Float64Array(room));
    if (this.plane.length > 0) this.growArcs(room);
    this.line = wider(this.line, new Uint32Array(room));
    this.kind = wider(this.kind, new Uint8Array(room));
  }

  /** Arc data has no room of its own until the first arc. */
  private growArcs(room: number): void {
    for (const name of ["cx", "cy", "cz", "sweep"] as const) this[name] = wider(this[name], new Float64Array(room));
    this.plane = wider(this.plane, new Uint8Array(room));
  }

  /** What was gathered. Shares this track's memory where little of it is spare, so nothing may be added afterwards. */
  list(): MoveList {
    const n = this.count;
    const bare = this.plane.length === 0;
    const full = n > this.room / 2;
    const cut = <A extends Float64Array | Uint32Array | Uint8Array>(a: A): A => (full ? a.subarray(0, n) : a.slice(0, n)) as A;
    // without an arc all that an arc has is nought, and one piece of memory says so; nor does a reader know of cuts
    const noughts = bare ? n : Math.ceil(n / 4);
    // as much anew as is asked for, not as there is room, and kept for the next list in this memory
    if (this.nought.length < noughts || this.nought.length > 2 * noughts) this.nought = new Float64Array(noughts);
    const nought = this.nought.buffer;
    const none = new Float64Array(nought, 0, bare ? n : 0);
    const arc = (a: Float64Array): Float64Array => (bare ? none : cut(a));
    return {
      count: n,
      start: this.start,
      kind: cut(this.kind),
      x: cut(this.x),
      y: cut(this.y),
      z: cut(this.z),
      feed: cut(this.feed),
      cx: arc(this.cx),
      cy: arc(this.cy),
      cz: arc(this.cz),
      sweep: arc(this.sweep),
      plane: bare ? new Uint8Array(nought, 0, n) : cut(this.plane),
      cut: new Uint16Array(nought, 0, n),
      line: cut(this.line),
    };
  }
}
