/**
 * The move list: one struct of arrays that every reader takes (writer, clock, bounds, plotter, simulator).
 * Move k runs from the end of move k-1 (move 0 from `start`) to (x[k], y[k], z[k]). Lengths mm, feed mm/s, dwell s.
 *
 * Arcs lie in a plane (0 = XY, 1 = ZX, 2 = YZ, as G17 G18 G19) about the absolute centre (cx, cy, cz), of which the two
 * in-plane components count; `sweep` is the signed angle in radians, counter-clockwise positive seen from the positive
 * end of the plane's normal; the third axis moves linearly (helix). A full circle has sweep = +-2 pi.
 */
export const MoveKind = { rapid: 0, line: 1, arc: 2, dwell: 3 } as const;

export interface MoveList {
  readonly count: number;
  /** Where the first move begins. */
  readonly start: readonly [number, number, number];
  readonly kind: Uint8Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
  /** Feed in mm/s for line and arc; seconds for dwell; 0 for rapid. */
  readonly feed: Float64Array;
  /** Arc data; zero for other kinds. */
  readonly cx: Float64Array;
  readonly cy: Float64Array;
  readonly cz: Float64Array;
  readonly sweep: Float64Array;
  readonly plane: Uint8Array;
  /** Which cut (index into a list kept by the owner) the move belongs to. */
  readonly cut: Uint16Array;
  /** Source line in the program text (1-based), 0 when the list was not read from text. */
  readonly line: Uint32Array;
}

/** Length of a move, mm; of an arc along it. */
export function moveLength(m: MoveList, k: number): number {
  if (m.kind[k] === MoveKind.dwell) return 0;
  const px = k === 0 ? m.start[0] : m.x[k - 1];
  const py = k === 0 ? m.start[1] : m.y[k - 1];
  const pz = k === 0 ? m.start[2] : m.z[k - 1];
  if (m.kind[k] !== MoveKind.arc) return Math.hypot(m.x[k] - px, m.y[k] - py, m.z[k] - pz);
  const dx = px - m.cx[k];
  const dy = py - m.cy[k];
  const dz = pz - m.cz[k];
  const plane = m.plane[k];
  const radius = plane === 0 ? Math.hypot(dx, dy) : plane === 1 ? Math.hypot(dx, dz) : Math.hypot(dy, dz);
  const rise = plane === 0 ? m.z[k] - pz : plane === 1 ? m.y[k] - py : m.x[k] - px;
  return Math.hypot(radius * m.sweep[k], rise);
}

/** Grows a MoveList; `list()` gives a trimmed copy. */
export class MoveBuilder {
  private n = 0;
  private cap: number;
  private kind: Uint8Array;
  private f: Float64Array[];
  private plane: Uint8Array;
  private cutOf: Uint16Array;
  private lineOf: Uint32Array;
  private readonly start: readonly [number, number, number];
  /** Current position. */
  px: number;
  py: number;
  pz: number;
  /** Stamped on the moves that follow. */
  cut = 0;
  line = 0;

  constructor(start: readonly [number, number, number] = [0, 0, 0], capacity = 1024) {
    this.start = start;
    [this.px, this.py, this.pz] = start;
    this.cap = capacity;
    this.kind = new Uint8Array(capacity);
    this.f = Array.from({ length: 8 }, () => new Float64Array(capacity));
    this.plane = new Uint8Array(capacity);
    this.cutOf = new Uint16Array(capacity);
    this.lineOf = new Uint32Array(capacity);
  }

  get count(): number {
    return this.n;
  }

  rapid(x: number, y: number, z: number): void {
    this.push(MoveKind.rapid, x, y, z, 0, 0, 0, 0, 0, 0);
  }

  /** Straight feed move; feed in mm/s. */
  lineTo(x: number, y: number, z: number, feed: number): void {
    this.push(MoveKind.line, x, y, z, feed, 0, 0, 0, 0, 0);
  }

  /** Arc or helix about an absolute centre; `sweep` in radians, counter-clockwise positive; see the file's head. */
  arcTo(x: number, y: number, z: number, cx: number, cy: number, cz: number, sweep: number, feed: number, plane = 0): void {
    this.push(MoveKind.arc, x, y, z, feed, cx, cy, cz, sweep, plane);
  }

  dwell(seconds: number): void {
    this.push(MoveKind.dwell, this.px, this.py, this.pz, seconds, 0, 0, 0, 0, 0);
  }

  /** Adds all moves of another list as they are; its start is not visited. */
  append(other: MoveList): void {
    for (let k = 0; k < other.count; k++) {
      this.push(
        other.kind[k],
        other.x[k],
        other.y[k],
        other.z[k],
        other.feed[k],
        other.cx[k],
        other.cy[k],
        other.cz[k],
        other.sweep[k],
        other.plane[k],
      );
    }
  }

  list(): MoveList {
    const n = this.n;
    const [x, y, z, feed, cx, cy, cz, sweep] = this.f.map((a) => a.slice(0, n));
    return {
      count: n,
      start: this.start,
      kind: this.kind.slice(0, n),
      x,
      y,
      z,
      feed,
      cx,
      cy,
      cz,
      sweep,
      plane: this.plane.slice(0, n),
      cut: this.cutOf.slice(0, n),
      line: this.lineOf.slice(0, n),
    };
  }

  private push(
    kind: number,
    x: number,
    y: number,
    z: number,
    feed: number,
    cx: number,
    cy: number,
    cz: number,
    sweep: number,
    plane: number,
  ): void {
    if (this.n === this.cap) this.grow();
    const n = this.n++;
    this.kind[n] = kind;
    const f = this.f;
    f[0][n] = x;
    f[1][n] = y;
    f[2][n] = z;
    f[3][n] = feed;
    f[4][n] = cx;
    f[5][n] = cy;
    f[6][n] = cz;
    f[7][n] = sweep;
    this.plane[n] = plane;
    this.cutOf[n] = this.cut;
    this.lineOf[n] = this.line;
    this.px = x;
    this.py = y;
    this.pz = z;
  }

  private grow(): void {
    const cap = this.cap * 2;
    const kind = new Uint8Array(cap);
    kind.set(this.kind);
    this.kind = kind;
    this.f = this.f.map((a) => {
      const b = new Float64Array(cap);
      b.set(a);
      return b;
    });
    const plane = new Uint8Array(cap);
    plane.set(this.plane);
    this.plane = plane;
    const cut = new Uint16Array(cap);
    cut.set(this.cutOf);
    this.cutOf = cut;
    const line = new Uint32Array(cap);
    line.set(this.lineOf);
    this.lineOf = line;
    this.cap = cap;
  }
}
