import { MoveKind, type MoveList } from "../kernel/moves.ts";
import {
  arcPieces,
  arcPoint,
  chordCount,
  type PlaneArc,
  planeArc,
  roundedCentre,
  survivesRounding,
  turn,
  unturn,
  writableArc,
} from "./arcs.ts";
import { type ByteText, roundScaled, writeCount } from "./bytes.ts";
import { type Emitter, MANY, openEmitter } from "./emit.ts";
import type { ProgramInput } from "./types.ts";

/** Dwell after the spindle is switched on or changes speed; common practice, no source. */
export const SPIN_UP_SECONDS = 3;
/** Decimals of F (mm/min), S and P. */
const FEED_DECIMALS = 3;
/** Coordinates past this are no router's. */
export const LARGEST = 1e5;

const G_WORDS = ["G0", "G1", "G2", "G3"] as const;
const PLANE_WORDS = ["G17", "G18", "G19"] as const;
const [X, Y, Z, I, F, S, P] = [88, 89, 90, 73, 70, 83, 80];
const [G, ONE] = [71, 49];
/** More bytes than a straight move's line has. */
const LINE = 128;
export const NEWLINE = 10;
const BLANK = 32;
/** "No value yet": no count of a coordinate, feed or mode is ever this. */
const UNKNOWN = Number.NaN;

/** What the machine knows while it reads the text; says only what changes. Positions are counts of 10^-decimals mm. */
export class TextMachine {
  private readonly text: ByteText;
  private readonly decimals: number;
  private readonly scale: number;
  private readonly arcs: boolean;
  private readonly safeCount: number;
  private x = UNKNOWN;
  private y = UNKNOWN;
  private z = UNKNOWN;
  private feed = UNKNOWN;
  private readonly emitter: Emitter | null;
  private motion = UNKNOWN;
  private plane = 0;
  private rpm = UNKNOWN;
  private lineStart = 0;
  /** Moves of all cuts, and how many of them are written. */
  private readonly all: number;
  private written = 0;

  constructor(text: ByteText, input: ProgramInput) {
    this.text = text;
    this.decimals = input.decimals;
    this.scale = 10 ** input.decimals;
    this.arcs = input.arcs;
    this.safeCount = roundScaled(input.safeZ, this.scale);
    this.lineStart = text.length;
    this.emitter = openEmitter(input.decimals, LARGEST);
    this.all = input.cuts.reduce((n, c) => n + c.moves.count, 0);
  }

  /** Up to the safe height, unless the tip is known to be at or above it. */
  safe(): void {
    if (!(this.z >= this.safeCount)) this.rapidCounts(this.x, this.y, this.safeCount);
  }

  /** Motion and feed are said again at the head of each cut, for a person who reads or restarts there. */
  forget(): void {
    this.motion = UNKNOWN;
    this.feed = UNKNOWN;
  }

  /** A line that moves nothing. */
  note(line: string): void {
    this.text.ascii(line);
    this.endLine();
  }

  /** Spindle at a speed, with time to reach it. */
  spindle(rpm: number): void {
    const count = roundScaled(rpm, 1);
    if (count === this.rpm) return;
    this.rpm = count;
    const { text } = this;
    text.byte(S);
    text.decimal(count, 0);
    text.ascii(" M3");
    this.endLine();
    this.dwell(SPIN_UP_SECONDS);
  }

  /** Writes a list's moves. The tip is at or above the safe height. */
  run(moves: MoveList): void {
    const { count, kind, x, y, z, feed } = moves;
    let [px, py, pz] = moves.start;
    if (kind[0] !== MoveKind.rapid) {
      const start = this.counts(px, py, pz, -1);
      if (start[2] < this.safeCount) throw new RangeError(`it starts at z = ${pz}, below the safe height`);
      this.rapidCounts(...start);
    }
    for (let k = 0; k < count; k++) {
      if (kind[k] === MoveKind.line) {
        const quick = this.many(moves, k);
        const to = quick > k ? quick : this.lines(moves, k);
        if (to > k) {
          px = x[to - 1];
          py = y[to - 1];
          pz = z[to - 1];
          k = to - 1;
          continue;
        }
      }
      const [nx, ny, nz] = this.counts(x[k], y[k], z[k], k);
      switch (kind[k]) {
        case MoveKind.rapid:
          this.rapidCounts(nx, ny, nz);
          break;
        case MoveKind.line:
          this.feedTo(nx, ny, nz, feedCount(feed[k], k));
          break;
        case MoveKind.arc:
          this.arc(planeArc(moves, k, px, py, pz), feedCount(feed[k], k));
          break;
        case MoveKind.dwell:
          if (!(feed[k] >= 0 && feed[k] < 1e5)) throw new RangeError(`move ${k}: a dwell of ${feed[k]} s`);
          this.dwell(feed[k]);
          break;
        default:
          throw new RangeError(`move ${k}: unknown kind ${kind[k]}`);
      }
      this.written++;
      px = x[k];
      py = y[k];
      pz = z[k];
    }
  }

  /**
   * What `lines` writes, for the straight moves from k on where many follow each other; gives the first that is not written.
   */
  private many(moves: MoveList, k: number): number {
    const { emitter, text } = this;
    const { kind, count } = moves;
    if (emitter === null) return k;
    let end = k + 1;
    const far = Math.min(count, k + emitter.room);
    while (end < far && kind[end] === MoveKind.line) end++;
    if (end - k < MANY || text.length > this.lineStart) return k;
    // of what is not known yet no count is held
    if (!(emitter.holds(this.x) && emitter.holds(this.y) && emitter.holds(this.z))) return k;
    const { state } = emitter;
    state[0] = this.x;
    state[1] = this.y;
    state[2] = this.z;
    state[3] = Number.isNaN(this.feed) ? -1 : this.feed;
    state[4] = this.motion === 1 ? 1 : 0;
    const bytes = emitter.emit(moves, k, end);
    const done = state[5];
    if (done === 0) return k;
    text.share = this.written / this.all;
    text.room(bytes.length).set(bytes, text.length);
    text.wrote(text.length + bytes.length);
    this.lineStart = text.length;
    this.written += done;
    this.x = state[0];
    this.y = state[1];
    this.z = state[2];
    if (state[3] >= 0) this.feed = state[3];
    if (state[4] === 1) this.motion = 1;
    return k + done;
  }

  /**
   * Straight moves from move k on, as many as follow each other and are in order; gives the first that is not written. What
   * `feedTo` writes, straight into the buffer: nearly all of a program is this.
   */
  private lines(moves: MoveList, k: number): number {
    const { kind, x: X0, y: Y0, z: Z0, feed: F0, count } = moves;
    const { text, scale, decimals } = this;
    let { x, y, z, feed } = this;
    let lineStart = this.lineStart;
    let n = text.length;
    let buf = text.room(LINE);
    let room = buf.length - LINE;
    let saidFeed = UNKNOWN;
    let ax = UNKNOWN;
    let ay = UNKNOWN;
    let az = UNKNOWN;
    let to = k;
    for (; to < count && kind[to] === MoveKind.line; to++) {
      const fx = X0[to];
      const fy = Y0[to];
      const fz = Z0[to];
      if (!(Math.abs(fx) < LARGEST && Math.abs(fy) < LARGEST && Math.abs(fz) < LARGEST)) break;
      const f = F0[to];
      let feedNow = feed;
      if (f !== saidFeed) {
        feedNow = roundScaled(f * 60, 1000);
        if (!(feedNow > 0 && feedNow < 1e9)) break;
      }
      saidFeed = f;
      // an axis that stays is not rounded again
      const cx = fx === ax ? x : roundScaled(fx, scale);
      const cy = fy === ay ? y : roundScaled(fy, scale);
      const cz = fz === az ? z : roundScaled(fz, scale);
      ax = fx;
      ay = fy;
      az = fz;
      if (cx === x && cy === y && cz === z) {
        // nothing is written, so the feed is not said either
        if (feedNow !== feed) saidFeed = UNKNOWN;
        continue;
      }
      if (n > room) {
        text.wrote(n);
        text.share = (this.written + to - k) / this.all;
        buf = text.room(LINE);
        room = buf.length - LINE;
      }
      if (this.motion !== 1) {
        this.motion = 1;
        if (n > lineStart) buf[n++] = BLANK;
        buf[n++] = G;
        buf[n++] = ONE;
      }
      if (cx !== x) {
        if (n > lineStart) buf[n++] = BLANK;
        buf[n++] = X;
        n = writeCount(buf, n, cx, decimals);
        x = cx;
      }
      if (cy !== y) {
        if (n > lineStart) buf[n++] = BLANK;
        buf[n++] = Y;
        n = writeCount(buf, n, cy, decimals);
        y = cy;
      }
      if (cz !== z) {
        if (n > lineStart) buf[n++] = BLANK;
        buf[n++] = Z;
        n = writeCount(buf, n, cz, decimals);
        z = cz;
      }
      if (feedNow !== feed) {
        text.wrote(n);
        this.feedWord(feedNow);
        n = text.length;
        feed = feedNow;
      }
      buf[n++] = NEWLINE;
      lineStart = n;
    }
    text.wrote(n);
    this.x = x;
    this.y = y;
    this.z = z;
    this.feed = feed;
    this.lineStart = lineStart;
    this.written += to - k;
    return to;
  }

  /**
   * Rapid, z and xy never together: machines do not agree on the way that a rapid takes when several axes move. Upward z
   * goes first, downward z last, so the way written is never below the straight one.
   */
  private rapidCounts(x: number, y: number, z: number): void {
    if (z > this.z || Number.isNaN(this.z)) this.rapidWords(this.x, this.y, z);
    this.rapidWords(x, y, this.z);
    this.rapidWords(this.x, this.y, z);
  }

  private rapidWords(x: number, y: number, z: number): void {
    if (same(x, this.x) && same(y, this.y) && same(z, this.z)) return;
    this.say(0);
    this.axes(x, y, z);
    this.endLine();
  }

  private feedTo(x: number, y: number, z: number, feed: number): void {
    if (x === this.x && y === this.y && z === this.z) return;
    this.say(1);
    this.axes(x, y, z);
    this.feedWord(feed);
    this.endLine();
  }

  private arc(a: PlaneArc, feed: number): void {
    if (this.arcs && writableArc(a)) {
      const pieces = arcPieces(a.sweep);
      for (let n = 1; n <= pieces; n++) this.arcPiece(a, (n - 1) / pieces, n / pieces, feed);
    } else this.chords(a, 0, 1, feed);
  }

  /** One arc of at most half a turn, or its chords when rounding would change it. */
  private arcPiece(a: PlaneArc, from: number, to: number, feed: number): void {
    const { plane } = a;
    const [su, sv] = turn(plane, this.x, this.y, this.z);
    const [eu, ev, ew] = this.pointCounts(a, to);
    const [cu, cv] = roundedCentre(a, this.scale);
    const sweep = a.sweep * (to - from);
    if (!survivesRounding(su, sv, eu, ev, cu, cv, sweep, this.scale)) {
      this.chords(a, from, to, feed);
      return;
    }
    if (plane !== this.plane) {
      this.gap();
      this.text.ascii(PLANE_WORDS[plane]);
      this.plane = plane;
    }
    this.say(sweep < 0 ? 2 : 3);
    this.axes(...unturn(plane, eu, ev, ew), plane);
    const offsets = unturn(plane, cu - su, cv - sv, UNKNOWN);
    for (let axis = 0; axis < 3; axis++) if (!Number.isNaN(offsets[axis])) this.word(I + axis, offsets[axis]);
    this.feedWord(feed);
    this.endLine();
  }

  private chords(a: PlaneArc, from: number, to: number, feed: number): void {
    const n = chordCount(Math.max(a.r0, a.r1), a.sweep * (to - from));
    for (let k = 1; k <= n; k++) {
      const t = k === n ? to : from + ((to - from) * k) / n;
      const [u, v, w] = this.pointCounts(a, t);
      this.feedTo(...unturn(a.plane, u, v, w), feed);
    }
  }

  private dwell(seconds: number): void {
    const ms = roundScaled(seconds, 1000);
    if (ms === 0) return;
    const { text } = this;
    text.ascii("G4 ");
    text.byte(P);
    text.decimal(ms, 3);
    this.endLine();
  }

  private pointCounts(a: PlaneArc, t: number): [number, number, number] {
    const [u, v, w] = arcPoint(a, t);
    const { scale } = this;
    return [roundScaled(u, scale), roundScaled(v, scale), roundScaled(w, scale)];
  }

  private counts(x: number, y: number, z: number, k: number): [number, number, number] {
    if (!(Math.abs(x) < LARGEST && Math.abs(y) < LARGEST && Math.abs(z) < LARGEST)) {
      throw new RangeError(`${k < 0 ? "the start" : `move ${k}`}: (${x}, ${y}, ${z}) is no place on a machine`);
    }
    const { scale } = this;
    return [roundScaled(x, scale), roundScaled(y, scale), roundScaled(z, scale)];
  }

  /** The motion word, when it changes. */
  private say(motion: number): void {
    if (motion === this.motion) return;
    this.gap();
    this.text.ascii(G_WORDS[motion]);
    this.motion = motion;
  }

  /** Axis words of what changes, and of both axes of the plane when one is given (a reader may ask for them on an arc). */
  private axes(x: number, y: number, z: number, plane = -1): void {
    if (!same(x, this.x) || plane === 0 || plane === 1) this.word(X, x);
    if (!same(y, this.y) || plane === 0 || plane === 2) this.word(Y, y);
    if (!same(z, this.z) || plane === 1 || plane === 2) this.word(Z, z);
    this.x = x;
    this.y = y;
    this.z = z;
  }

  /** A word of a length. */
  private word(letter: number, count: number): void {
    this.gap();
    this.text.byte(letter);
    this.text.decimal(count, this.decimals);
  }

  private feedWord(count: number): void {
    if (count === this.feed) return;
    this.gap();
    this.text.byte(F);
    this.text.decimal(count, FEED_DECIMALS, true);
    this.feed = count;
  }

  /** A blank between words. */
  private gap(): void {
    if (this.text.length > this.lineStart) this.text.byte(BLANK);
  }

  private endLine(): void {
    this.text.byte(NEWLINE);
    this.lineStart = this.text.length;
  }
}

const same = (a: number, b: number): boolean => a === b || (Number.isNaN(a) && Number.isNaN(b));

/** mm/s as counts of 0.001 mm/min. */
function feedCount(feed: number, k: number): number {
  const count = roundScaled(feed * 60, 1000);
  if (!(count > 0 && count < 1e9)) throw new RangeError(`move ${k}: a feed of ${feed} mm/s`);
  return count;
}
