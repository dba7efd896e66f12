import type { MoveList } from "../../kernel/moves.ts";
import { MoveBuilder, MoveKind } from "../../kernel/moves.ts";
import type { Profile } from "../../kernel/profile.ts";
import type { Stock } from "../../kernel/stock.ts";
import type { Mm, MmPerSecond, Rad } from "../../units/index.ts";
import { RAMP_ANGLE } from "../strategies/common.ts";
import { clipStroke, type Island, islands, moveAt, type Piece, type PieceMove, placeOn } from "./clip.ts";

/** What the moves of one cut in one section need to know. */
export interface WindowAsk {
  /** Along which axis of the program frame the blank is shifted. */
  readonly axis: 0 | 1;
  /** The window along it: moves stay in it. */
  readonly lo: Mm;
  readonly hi: Mm;
  /** Whether an island of moves goes whole, or not at all, into this section; null: it is cut off at the window. */
  readonly takes: (island: Island) => boolean | null;
  readonly safeZ: Mm;
  readonly plunge: MmPerSecond;
  readonly ramp: MmPerSecond;
  readonly feed: MmPerSecond;
  readonly profile: Profile;
  readonly radius: Mm;
  /** Wood (mm3) that a plunge may meet: a thin layer's under a finishing cutter; of other cuts next to none. */
  readonly thin: number;
  /** Every layer of roughing ends so much before the one above it, for each mm that it lies below the wood's face: no layer runs its rim along a wall that stands to the top. */
  readonly lean: number;
  readonly top: Mm;
  /** The wood as it stands when the cut begins; lowered by what is given back. */
  readonly stock: Stock;
}

/** A piece that begins or ends at the window's edges, a little within them by how deep it lies. */
function leaned(piece: Piece, { axis, lo, hi, lean, top }: WindowAsk): Piece {
  if (lean === 0 || piece.moves.length === 0) return piece;
  const last = piece.moves[piece.moves.length - 1];
  const ends: readonly (readonly [Mm, Mm, Mm])[] = [...(piece.planned ? [] : [piece.start]), [last.x, last.y, last.z]];
  const inset = (edge: Mm): Mm => Math.max(0, ...ends.filter((e) => Math.abs(e[axis] - edge) < 1e-6).map((e) => lean * (top - e[2])));
  const [a, b] = [inset(lo), inset(hi)];
  if (a === 0 && b === 0) return piece;
  const within = clipStroke(piece.start, piece.moves, axis, lo + a, hi - b);
  return within.length === 1 ? { ...within[0], planned: within[0].planned && piece.planned } : piece;
}

/** The moves given back, and those of them that the wood has not felt yet. */
class Both {
  private readonly all: MoveBuilder;
  private fresh: MoveBuilder;

  constructor(start: readonly [Mm, Mm, Mm]) {
    this.all = new MoveBuilder(start);
    this.fresh = new MoveBuilder(start, 64);
  }

  get px(): Mm {
    return this.all.px;
  }
  get py(): Mm {
    return this.all.py;
  }
  get pz(): Mm {
    return this.all.pz;
  }
  get count(): number {
    return this.all.count;
  }

  rapid(x: Mm, y: Mm, z: Mm): void {
    if (x === this.px && y === this.py && z === this.pz) return;
    for (const b of [this.all, this.fresh]) b.rapid(x, y, z);
  }
  lineTo(x: Mm, y: Mm, z: Mm, feed: MmPerSecond): void {
    if (x === this.px && y === this.py && z === this.pz) return;
    for (const b of [this.all, this.fresh]) b.lineTo(x, y, z, feed);
  }
  arcTo(p: PieceMove): void {
    for (const b of [this.all, this.fresh]) b.arcTo(p.x, p.y, p.z, p.cx, p.cy, p.cz, p.sweep, p.feed, p.plane);
  }
  dwell(seconds: number): void {
    this.all.dwell(seconds);
  }

  cutUp(stock: Stock, profile: Profile): void {
    const list = this.fresh.list();
    if (list.count > 0) stock.cut(profile, list, 0, list.count);
    this.fresh = new MoveBuilder([this.px, this.py, this.pz], 64);
  }

  list(): MoveList {
    return this.all.list();
  }
}

/** Rapids down stop this far above wood, low ways across pass so far above it. */
const GAP: Mm = 0.5;
/** Pieces closer than this are joined by a low way across. */
const CLOSE: Mm = 8;
/** In an open slot a cutter goes down along so much of it. */
const AHEAD: Mm = 2;
/** Chords of arcs that a ramp follows. */
const CHORD: Mm = 0.001;

/**
 * The moves of a cut within one section's window. Islands inside it stay as they are, unless wood stands that the whole plan had cleared
 * by then; the others are cut off at the window's edges. A piece that begins at an edge is entered from above: straight down where the
 * wood as it stands there is found to be away (or a thin layer under a finishing cutter), else by a ramp along the piece itself, out and
 * back, which the piece then levels. Null: nothing of the cut lies here.
 */
export function windowMoves(m: MoveList, ask: WindowAsk): MoveList | null {
  const { axis, lo, hi, safeZ, stock, profile, radius } = ask;
  let b: Both | null = null;
  /** The wood's highest place under the cutter's disc on a straight way. */
  const cell = stock.map.cell;
  const high = (ax: Mm, ay: Mm, bx = ax, by = ay): Mm => stock.penetration(radius + 0.7 * cell, ax, ay, 0, bx, by, 0);
  // what was added since is cut, so that the wood is as it stands
  const cutUp = (): void => b?.cutUp(stock, profile);
  const begin = (x: Mm, y: Mm): Both => {
    b ??= new Both([x, y, safeZ]);
    return b;
  };
  /** Wood that straight down from `from` to `to` takes; the wood is cut by it. */
  const down = (x: Mm, y: Mm, from: Mm, to: Mm): number => {
    if (to >= from) return 0;
    const one = new MoveBuilder([x, y, from], 1);
    one.lineTo(x, y, to, 1);
    return stock.cut(profile, one.list(), 0, 1);
  };

  const enter = (piece: Piece): void => {
    const [x, y, z] = piece.start;
    const q = begin(x, y);
    const here = Math.max(z, high(x, y) + GAP);
    const way = Math.hypot(q.px - x, q.py - y);
    const over = Math.max(high(q.px, q.py, x, y) + GAP, z, q.pz);
    if (q.count > 0 && q.pz < safeZ && way <= CLOSE && over < safeZ) {
      if (over > q.pz) q.lineTo(q.px, q.py, over, ask.plunge);
      if (way > 0) q.lineTo(x, y, over, ask.feed);
    } else {
      if (q.pz < safeZ) q.rapid(q.px, q.py, safeZ);
      q.rapid(x, y, safeZ);
      if (here < safeZ) q.rapid(x, y, here);
    }
    cutUp();
    if (z >= q.pz) return;
    const layer = down(x, y, q.pz, z);
    if (layer > ask.thin) rampDown(q, piece);
    else {
      // between the walls of a slot that is open ahead: down along it, not along them
      const [ax, ay] = ask.lean > 0 && !piece.planned ? headOf(piece, 2 * AHEAD).path.slice(-3) : [x, y];
      if ((ax !== x || ay !== y) && stock.penetration(radius / 2, x, y, 0, ax, ay, 0) <= z + 1e-3) q.lineTo(ax, ay, q.pz, ask.feed);
      q.lineTo(x, y, z, ask.plunge);
    }
  };

  /** Out along the piece and back, sinking, to its start. The cutter stands above that, on no wood. */
  const rampDown = (q: Both, piece: Piece): void => {
    const { path, length } = headOf(piece, (2 * (q.pz - piece.start[2])) / Math.tan(RAMP_ANGLE));
    // wood further along may stand higher than over the start
    let top = q.pz;
    for (let k = 3; k < path.length; k += 3) top = Math.max(top, high(path[k - 3], path[k - 2], path[k], path[k + 1]) + GAP);
    if (top > q.pz) q.lineTo(q.px, q.py, Math.min(top, safeZ), ask.plunge);
    const drop = q.pz - piece.start[2];
    const legs = 2 * Math.max(1, Math.ceil(drop / (2 * length * Math.tan(RAMP_ANGLE as Rad)) - 1e-9));
    const zTop = q.pz;
    const n = path.length / 3;
    for (let leg = 0; leg < legs; leg++) {
      const out = leg % 2 === 0;
      let s = 0;
      for (let i = 1; i < n; i++) {
        const at = out ? i : n - 1 - i;
        const was = out ? i - 1 : n - i;
        s += Math.hypot(path[3 * at] - path[3 * was], path[3 * at + 1] - path[3 * was + 1]);
        const slope = zTop - drop * ((leg + Math.min(1, s / length)) / legs);
        q.lineTo(path[3 * at], path[3 * at + 1], Math.max(path[3 * at + 2], slope), ask.ramp);
      }
    }
    q.lineTo(piece.start[0], piece.start[1], piece.start[2], ask.ramp);
  };

  const add = (q: Both, p: PieceMove): void => {
    if (p.kind === MoveKind.dwell) q.dwell(p.feed);
    else if (p.kind === MoveKind.arc) q.arcTo(p);
    else if (p.kind === MoveKind.rapid) q.rapid(p.x, p.y, p.z);
    else q.lineTo(p.x, p.y, p.z, p.feed);
  };

  const startOf = (k: number): readonly [Mm, Mm, Mm] => (k > 0 ? [m.x[k - 1], m.y[k - 1], m.z[k - 1]] : m.start);

  for (const island of islands(m, axis, safeZ)) {
    const whole = ask.takes(island);
    if (whole === false) continue;
    if (whole === null && (island.max < lo || island.min > hi)) continue;
    const inside = whole === true || (island.min >= lo - 1e-9 && island.max <= hi + 1e-9);
    if (inside && freeRapids(island)) {
      const start = startOf(island.from);
      const q = begin(start[0], start[1]);
      if (q.pz < safeZ) q.rapid(q.px, q.py, safeZ);
      q.rapid(start[0], start[1], safeZ);
      for (let k = island.from; k < island.to; k++) add(q, moveAt(m, k));
      if (q.pz < safeZ) q.rapid(q.px, q.py, safeZ);
      cutUp();
      continue;
    }
    const [from, to] = whole === true ? [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY] : [lo, hi];
    let stroke: PieceMove[] = [];
    let start = startOf(island.from);
    const finish = (): void => {
      for (const clipped of clipStroke(start, stroke, axis, from, to)) {
        const piece = whole === true ? clipped : leaned(clipped, ask);
        if (!piece.planned && isCrumb(piece)) continue;
        enter(piece);
        const q = b as unknown as Both;
        for (const p of piece.moves) add(q, p);
        cutUp();
      }
      stroke = [];
    };
    for (let k = island.from; k < island.to; k++) {
      const one = moveAt(m, k);
      if (one.kind !== MoveKind.rapid) {
        stroke.push(one);
        continue;
      }
      finish();
      start = [one.x, one.y, one.z];
    }
    finish();
    const q = b as Both | null;
    if (q !== null && q.pz < safeZ) q.rapid(q.px, q.py, safeZ);
  }
  return b === null ? null : (b as Both).list();

  /** Whether the way down into an island ends on no wood, as it stands now: the rapids before its first feed move. */
  function freeRapids(island: Island): boolean {
    let z = startOf(island.from)[2];
    for (let k = island.from; k < island.to && m.kind[k] === MoveKind.rapid; k++) {
      if (m.z[k] < z && high(m.x[k], m.y[k]) > m.z[k] + 1e-3) return false;
      z = m.z[k];
    }
    return true;
  }
}

/** A piece's beginning as a polyline of x, y, z, as long as asked (seen from above) or as the piece is. */
function headOf(piece: Piece, ask: Mm): { readonly path: Float64Array; readonly length: Mm } {
  const out: number[] = [...piece.start];
  let length = 0;
  let from = piece.start;
  const want = Math.max(CRUMB, ask / 2);
  for (const p of piece.moves) {
    if (p.kind === MoveKind.dwell) continue;
    const r = p.kind === MoveKind.arc ? radiusOf(from, p) : 0;
    const n =
      p.kind === MoveKind.arc
        ? Math.max(1, Math.ceil(Math.abs(p.sweep) / (2 * Math.acos(Math.max(0, 1 - CHORD / Math.max(r, CHORD))))))
        : 1;
    for (let k = 1; k <= n; k++) {
      const q = placeOn(from, p, k / n);
      const [x, y, z] = out.slice(-3);
      const L = Math.hypot(q[0] - x, q[1] - y);
      if (length + L >= want && L > 0) {
        const t = (want - length) / L;
        out.push(x + (q[0] - x) * t, y + (q[1] - y) * t, z + (q[2] - z) * t);
        return { path: Float64Array.from(out), length: want };
      }
      out.push(...q);
      length += L;
    }
    from = [p.x, p.y, p.z];
  }
  return { path: Float64Array.from(out), length: Math.max(length, 1e-3) };
}

/** Shorter than this a piece that comes in over the window's edge is left to the other section, whose window overlaps this one. */
const CRUMB: Mm = 1.5;
const isCrumb = (piece: Piece): boolean => headOf(piece, 2 * CRUMB).length < CRUMB - 1e-9;

function radiusOf(from: readonly [Mm, Mm, Mm], p: PieceMove): Mm {
  const c = [p.cx, p.cy, p.cz];
  const [u, v] = p.plane === 0 ? [0, 1] : p.plane === 1 ? [2, 0] : [1, 2];
  return Math.hypot(from[u] - c[u], from[v] - c[v]);
}
