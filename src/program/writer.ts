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
import { ByteText, roundScaled } from "./bytes.ts";
import { cutLines, headerLines } from "./header.ts";
import type { ProgramInput } from "./types.ts";

/** What a controller of a dialect can do. */
export interface Abilities {
  /** T, M6, and G43 with an H from a tool table. */
  readonly toolTable: boolean;
  /** G64 P, blending within a stated distance of the path; without it every program asks for the exact path, G61. */
  readonly blending: boolean;
}

/** Dwell after the spindle is switched on or changes speed; common practice, no source. */
export const SPIN_UP_SECONDS = 3;
/** Decimals of F (mm/min), S and P. */
const FEED_DECIMALS = 3;
/** Coordinates past this are no router's. */
const LARGEST = 1e5;

const G_WORDS = ["G0", "G1", "G2", "G3"] as const;
const PLANE_WORDS = ["G17", "G18", "G19"] as const;
const [X, Y, Z, I, F, S, P] = [88, 89, 90, 73, 70, 83, 80];
const NEWLINE = 10;
const BLANK = 32;
/** "No value yet": no count of a coordinate, feed or mode is ever this. */
const UNKNOWN = Number.NaN;

/** Program text as bytes: header, modes, then the cuts; throws on values that no program may carry. */
export function writeProgram(input: ProgramInput, abilities: Abilities): Uint8Array {
  refuseNonsense(input);
  const text = new ByteText(1 << 14);
  const line = (s: string): void => {
    text.ascii(s);
    text.byte(NEWLINE);
  };
  for (const l of headerLines(input)) line(l);
  line("G21 G90 G94");
  line("G17 G40 G49 G80 G54");
  if (abilities.blending && input.pathTolerance !== undefined) {
    text.ascii("G64 P");
    text.decimal(roundScaled(input.pathTolerance, 1e4), 4);
    text.byte(NEWLINE);
  } else line("G61");
  if (abilities.toolTable) {
    line(`T${input.cutter.number} M6`);
    line(`G43 H${input.cutter.number}`);
  }
  const machine = new TextMachine(text, input);
  machine.safe();
  for (let k = 0; k < input.cuts.length; k++) {
    for (const l of cutLines(input, k)) machine.note(l);
    const cut = input.cuts[k];
    machine.forget();
    machine.spindle(cut.rpm);
    try {
      machine.run(cut.moves);
    } catch (error) {
      if (error instanceof RangeError) throw new RangeError(`${input.file}, cut "${cut.id}": ${error.message}`);
      throw error;
    }
    machine.safe();
  }
  machine.note("M5");
  machine.note("M2");
  return text.bytes();
}

function refuseNonsense(input: ProgramInput): void {
  const need = (ok: boolean, what: string, value: unknown): void => {
    if (!ok) throw new RangeError(`${input.file}: ${what}, not ${String(value)}`);
  };
  const { decimals, safeZ, cutter, cuts, pathTolerance } = input;
  need(Number.isInteger(decimals) && decimals >= 4 && decimals <= 6, "decimals must be 4, 5 or 6", decimals);
  need(Number.isFinite(safeZ) && Math.abs(safeZ) < LARGEST, "the safe height must be a finite length in mm", safeZ);
  need(
    Number.isInteger(cutter.number) && cutter.number >= 1 && cutter.number <= 99999,
    "a cutter's number must be 1 to 99999",
    cutter.number,
  );
  need(cuts.length > 0, "a program must have at least one cut", 0);
  need(Number.isFinite(input.seconds) && input.seconds >= 0, "the time must be finite", input.seconds);
  if (pathTolerance !== undefined)
    need(pathTolerance >= 1e-4 && pathTolerance <= 1, "the path tolerance must be 0.0001 to 1 mm", pathTolerance);
  for (const c of cuts) {
    need(Number.isFinite(c.rpm) && c.rpm > 0 && c.rpm < 1e6, `cut "${c.id}": the spindle speed must be above 0 rpm`, c.rpm);
    need(c.moves.count > 0, `cut "${c.id}": a cut must have moves`, c.moves.count);
  }
}

/** What the machine knows while it reads the text; says only what changes. Positions are counts of 10^-decimals mm. */
class TextMachine {
  private readonly text: ByteText;
  private readonly decimals: number;
  private readonly scale: number;
  private readonly arcs: boolean;
  private readonly safeCount: number;
  private x = UNKNOWN;
  private y = UNKNOWN;
  private z = UNKNOWN;
  private feed = UNKNOWN;
  private motion = UNKNOWN;
  private plane = 0;
  private rpm = UNKNOWN;
  private lineStart = 0;

  constructor(text: ByteText, input: ProgramInput) {
    this.text = text;
    this.decimals = input.decimals;
    this.scale = 10 ** input.decimals;
    this.arcs = input.arcs;
    this.safeCount = roundScaled(input.safeZ, this.scale);
    this.lineStart = text.length;
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
      px = x[k];
      py = y[k];
      pz = z[k];
    }
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
