import { MoveKind } from "../../kernel/moves.ts";
import { MM_PER_INCH } from "../../units/index.ts";
import { centreFromRadius, sweepAbout } from "./arc.ts";
import { type Block, hasLetter, letter, NONE } from "./block.ts";
import { anyWord, checkBlock, firstAxis, positive } from "./checks.ts";
import { ABSURD, newSeries, PLANES, runCycle, type Series } from "./cycles.ts";
import { Refusal } from "./refusal.ts";
import { R } from "./rules.ts";
import type { Track } from "./track.ts";
import { asWhole, LAST_PARAMETER } from "./value.ts";

/** Something a program does besides moving. `move` is the index of the move that follows it. */
export interface ProgramEvent {
  readonly kind:
    | "spindle" // value: rpm, positive clockwise, negative counter-clockwise, 0 stopped
    | "select" // value: number of the cutter that comes next
    | "change" // value: number of the cutter now in the spindle
    | "length" // value: H number whose length offset is in force, 0 for none
    | "coolant" // value: 1 on, 0 off
    | "stop" // value: the M code (0, 1, 2, 30, 60)
    | "overrides" // value: 1 allowed, 0 not
    | "units" // value: 20 or 21
    | "path" // value: 0 exact (G61), P in mm of G64 P, -1 for G64 without a bound
    | "origin" // at: the active origin against the first, mm
    | "machine place" // the move is to a place of the machine (G28, G30, G53), not of the program
    | "optional line" // the line begins with a slash
    | "comment"; // text
  readonly line: number;
  readonly move: number;
  readonly value: number;
  readonly text: string;
  readonly at?: readonly [number, number, number];
}

/** A row of the machine's table of cutters; lengths in mm. */
export interface CutterLength {
  readonly number: number;
  readonly length: number;
}

const [F, H, I, J, K, L, P, RR, S, T, X, Y, Z] = [..."fhijklprstxyz"].map(letter);
const AXES = (1 << X) | (1 << Y) | (1 << Z);
/** The modal state of an RS274/NGC machine and what its lines do to it (NISTIR 6556, section 3). Lengths in mm. */
export class Machine {
  readonly moves: Track;
  readonly events: ProgramEvent[] = [];
  readonly parameters: Float64Array;
  /** Motion in force, G code times ten; 800 is none. */
  motion = 800;
  /** mm per unit of the program. */
  unit = 1;
  plane = 0;
  absolute = true;
  inverseTime = false;
  /** mm/min. */
  feed = 0;
  oldZ = true;
  speed = 0;
  /** Direction of the spindle: 1, -1, 0. */
  turning = 0;
  selected = 0;
  length = 0;
  /** Active origin (system plus G92) in the machine's frame, and the first one, which is the frame of the moves. */
  readonly origin: Float64Array;
  readonly zero: Float64Array;
  /** Place in program coordinates, from the active origin, at the cutter's tip. */
  readonly place: Float64Array;
  readonly shift: Float64Array = new Float64Array(3);
  /** The moves' frame minus program coordinates: origin - zero, refreshed with the origin. */
  readonly off: Float64Array = new Float64Array(3);
  ended = 0;
  line = 0;
  private readonly lengths: ReadonlyMap<number, number> | null;
  private readonly mostCutters: number;
  private readonly series: Series = newSeries();

  constructor(
    start: readonly [number, number, number],
    parameters: ReadonlyMap<number, number>,
    cutters: readonly CutterLength[] | null,
    moves: Track,
  ) {
    this.parameters = new Float64Array(LAST_PARAMETER + 1);
    this.parameters[5220] = 1;
    for (const [n, v] of parameters) this.parameters[n] = v;
    this.lengths = cutters === null ? null : new Map(cutters.map((c) => [c.number, c.length]));
    this.mostCutters = 99999;
    this.moves = moves;
    this.place = Float64Array.from(start);
    this.origin = this.systemOrigin();
    this.zero = this.origin.slice();
  }

  /** Carries out one line in the order of NISTIR 6556, table 8. */
  run(b: Block): void {
    checkBlock(b, this);
    if (b.optional) this.event("optional line", 0);
    if (b.comment !== "") this.event("comment", 0, b.comment);
    const g = b.g;
    if (g[5] !== NONE) this.inverseTime = g[5] === 930;
    if (hasLetter(b, F) && !this.inverseTime) this.feed = positive(b, F, "feed") * this.unit;
    if (hasLetter(b, S)) this.setSpeed(positive(b, S, "speed"));
    if (hasLetter(b, T)) {
      this.selected = this.whole(b, T, 0, this.mostCutters);
      this.event("select", this.selected);
    }
    if (b.m[6] === 6) {
      if (this.turning !== 0) {
        this.turning = 0;
        this.event("spindle", 0);
      }
      this.event("change", this.selected);
    }
    if (b.m[7] !== NONE) {
      this.turning = b.m[7] === 3 ? 1 : b.m[7] === 4 ? -1 : 0;
      this.event("spindle", this.turning * this.speed);
    }
    if (b.m[8] === 7 || b.m[3] === 8) this.event("coolant", 1);
    if (b.m[8] === 9) this.event("coolant", 0);
    if (b.m[9] !== NONE) this.event("overrides", b.m[9] === 48 ? 1 : 0);
    if (g[0] === 40) this.dwell(positive(b, P, "dwell"));
    if (g[2] !== NONE) this.plane = (g[2] - 170) / 10;
    if (g[6] !== NONE) {
      this.unit = g[6] === 200 ? MM_PER_INCH : 1;
      this.event("units", g[6] / 10);
    }
    if (g[8] !== NONE) this.setLength(b);
    if (g[12] !== NONE) this.setSystem(g[12]);
    if (g[13] !== NONE) this.setPath(b, g[13]);
    if (g[3] !== NONE) this.absolute = g[3] === 900;
    if (g[10] !== NONE) this.oldZ = g[10] === 980;
    const zero = g[0];
    if (zero === 100) this.setOrigin(b);
    else if (zero === 280 || zero === 300) this.goHome(b, zero === 280 ? 5161 : 5181);
    else if (zero >= 920) this.shiftOrigin(b, zero);
    const usesAxes = zero === 100 || zero === 280 || zero === 300 || zero === 920;
    if (g[1] !== NONE || ((b.has & AXES) !== 0 && !usesAxes)) this.move(b, g[1] !== NONE ? g[1] : this.motion);
    if (b.m[4] !== NONE) this.stop(b.m[4]);
  }

  private event(kind: ProgramEvent["kind"], value: number, text = "", at?: readonly [number, number, number]): void {
    const e = { kind, line: this.line, move: this.moves.count, value, text };
    this.events.push(at === undefined ? e : { ...e, at });
  }

  whole(b: Block, k: number, least: number, most: number): number {
    const n = asWhole(b.value[k]);
    if (n === null || n < least || n > most) {
      throw new Refusal(R.range, b.at[k], b.to[k], `This must be a whole number from ${least} to ${most}.`, "Check the number.");
    }
    return n;
  }

  private setSpeed(rpm: number): void {
    this.speed = rpm;
    if (this.turning !== 0) this.event("spindle", this.turning * rpm);
  }

  private setLength(b: Block): void {
    let next = 0;
    let number = 0;
    if (b.g[8] === 430) {
      if (!hasLetter(b, H)) {
        throw new Refusal(R.range, b.gAt[8], b.gTo[8], "G43 has no H word.", "Write G43 and H with the cutter's number.");
      }
      number = this.whole(b, H, 0, this.mostCutters);
      if (this.lengths !== null && number !== 0) {
        const known = this.lengths.get(number);
        if (known === undefined) {
          throw new Refusal(
            R.range,
            b.at[H],
            b.to[H],
            "The table of cutters has no such number.",
            "Use the number of a cutter of the shop.",
          );
        }
        next = known;
      }
    }
    const change = next - this.length;
    this.length = next;
    this.event("length", number);
    if (change !== 0) {
      // the spindle stands still, so the tip's place in the program changes
      this.place[2] -= change;
      this.jump();
    }
  }

  /** The tip came to another place without a move (a length offset was changed): a rapid of no machine time keeps the list whole. */
  private jump(): void {
    const { place, off } = this;
    this.moves.add(MoveKind.rapid, place[0] + off[0], place[1] + off[1], place[2] + off[2], 0, this.line);
  }

  /** G64 with P (how far the path may be rounded off) is not in NISTIR 6556 but in common use since; without it nothing bounds the rounding. */
  private setPath(b: Block, g: number): void {
    const bound = hasLetter(b, P) ? positive(b, P, "path tolerance") * this.unit : -1;
    this.event("path", g === 640 ? bound : 0);
  }

  private systemOrigin(): Float64Array {
    const base = 5201 + 20 * Math.round(this.parameters[5220]);
    const o = new Float64Array(3);
    for (let k = 0; k < 3; k++) o[k] = (this.parameters[base + k] || 0) + this.shift[k];
    return o;
  }

  /** Takes the active origin from the parameters; the machine stands still, so program coordinates change. */
  private refreshOrigin(): void {
    const next = this.systemOrigin();
    const { origin, place, zero, off } = this;
    for (let k = 0; k < 3; k++) {
      place[k] += origin[k] - next[k];
      origin[k] = next[k];
      off[k] = next[k] - zero[k];
    }
    this.event("origin", 0, "", [off[0], off[1], off[2]]);
  }

  private setSystem(g: number): void {
    this.parameters[5220] = g <= 590 ? (g - 530) / 10 : g - 584;
    this.refreshOrigin();
  }

  private setOrigin(b: Block): void {
    if (!hasLetter(b, L) || asWhole(b.value[L]) !== 2) {
      throw new Refusal(
        R.range,
        b.gAt[0],
        b.gTo[0],
        "Of G10 there is only L2, the origin of a coordinate system.",
        "Write G10 L2 P1 and the axis words.",
      );
    }
    if (!hasLetter(b, P)) throw new Refusal(R.range, b.gAt[0], b.gTo[0], "G10 L2 has no P word.", "Give the system, P1 to P9.");
    const system = this.whole(b, P, 1, 9);
    for (let k = 0; k < 3; k++) {
      if (hasLetter(b, X + k)) this.parameters[5201 + 20 * system + k] = b.value[X + k] * this.unit;
    }
    if (system === this.parameters[5220]) this.refreshOrigin();
  }

  private shiftOrigin(b: Block, g: number): void {
    const { shift, place, parameters: p } = this;
    for (let k = 0; k < 3; k++) {
      if (g === 920) {
        if (hasLetter(b, X + k)) shift[k] += place[k] - b.value[X + k] * this.unit;
        p[5211 + k] = shift[k];
      } else if (g === 923) shift[k] = p[5211 + k];
      else {
        shift[k] = 0;
        if (g === 921) p[5211 + k] = 0;
      }
    }
    this.refreshOrigin();
  }

  /** Where the axis words of a line point, program coordinates in mm. */
  target(b: Block, k: number): number {
    if (!hasLetter(b, X + k)) return this.place[k];
    const v = b.value[X + k] * this.unit + (this.absolute ? 0 : this.place[k]);
    if (Math.abs(v) > ABSURD) {
      throw new Refusal(R.absurd, b.at[X + k], b.to[X + k], "This place lies more than 100 m away.", "Check the number and the units.");
    }
    return v;
  }

  private goHome(b: Block, parameter: number): void {
    if ((b.has & AXES) !== 0) this.rapidTo(this.target(b, 0), this.target(b, 1), this.target(b, 2));
    this.event("machine place", 0);
    const { parameters: p, origin: o } = this;
    this.rapidTo(p[parameter] - o[0], p[parameter + 1] - o[1], p[parameter + 2] - o[2] - this.length);
  }

  dwell(seconds: number): void {
    const { place, off } = this;
    this.moves.add(MoveKind.dwell, place[0] + off[0], place[1] + off[1], place[2] + off[2], seconds, this.line);
  }

  rapidTo(x: number, y: number, z: number): void {
    const { place, off } = this;
    place[0] = x;
    place[1] = y;
    place[2] = z;
    this.moves.add(MoveKind.rapid, x + off[0], y + off[1], z + off[2], 0, this.line);
  }

  feedTo(x: number, y: number, z: number, feed: number): void {
    const { place, off } = this;
    place[0] = x;
    place[1] = y;
    place[2] = z;
    this.moves.add(MoveKind.line, x + off[0], y + off[1], z + off[2], feed / 60, this.line);
  }

  private move(b: Block, motion: number): void {
    if (motion === 0 || motion === 10) this.straight(b, motion);
    else if (motion === 20 || motion === 30) this.arc(b, motion === 30);
    else if (motion >= 810) runCycle(b, motion, this, this.series);
    this.motion = motion;
  }

  private straight(b: Block, motion: number): void {
    let [x, y, z] = [0, 0, 0];
    if (b.g[0] === 530) {
      this.event("machine place", 0);
      const to = [0, 1, 2].map((k) =>
        hasLetter(b, X + k) ? b.value[X + k] * this.unit - this.origin[k] - (k === 2 ? this.length : 0) : this.place[k],
      );
      [x, y, z] = to;
      if (to.some((v) => Math.abs(v) > ABSURD)) {
        throw new Refusal(R.absurd, ...firstAxis(b), "This place lies more than 100 m away.", "Check the number and the units.");
      }
    } else {
      x = this.target(b, 0);
      y = this.target(b, 1);
      z = this.target(b, 2);
    }
    if (motion === 0) this.rapidTo(x, y, z);
    else this.feedTo(x, y, z, this.rate(b, Math.hypot(x - this.place[0], y - this.place[1], z - this.place[2])));
  }

  /** mm/min of a move of this length. */
  private rate(b: Block, length: number): number {
    return this.inverseTime ? length * b.value[F] : this.feed;
  }

  private arc(b: Block, ccw: boolean): void {
    const [u, v, w] = PLANES[this.plane];
    const [at, to] = anyWord(b);
    const OFFSETS = [I, J, K];
    if (!hasLetter(b, X + u) && !hasLetter(b, X + v)) {
      throw new Refusal(
        R.arcWords,
        at,
        to,
        "This arc has no end point in its plane.",
        "Give the axes of the plane (G17: X Y, G18: Z X, G19: Y Z).",
      );
    }
    const centred = hasLetter(b, OFFSETS[u]) || hasLetter(b, OFFSETS[v]);
    if (hasLetter(b, OFFSETS[w])) {
      throw new Refusal(
        R.arcWords,
        b.at[OFFSETS[w]],
        b.to[OFFSETS[w]],
        "This offset does not lie in the arc's plane.",
        "Select the plane with G17, G18 or G19.",
      );
    }
    if (centred === hasLetter(b, RR)) {
      const says = centred ? "This arc has both a radius and a centre." : "This arc has neither radius nor centre.";
      throw new Refusal(R.arcWords, at, to, says, "Give either R or the centre offsets.");
    }
    const end = [this.target(b, 0), this.target(b, 1), this.target(b, 2)];
    const p = this.place;
    let cu: number;
    let cv: number;
    if (centred) {
      cu = p[u] + (hasLetter(b, OFFSETS[u]) ? b.value[OFFSETS[u]] * this.unit : 0);
      cv = p[v] + (hasLetter(b, OFFSETS[v]) ? b.value[OFFSETS[v]] * this.unit : 0);
    } else {
      [cu, cv] = centreFromRadius(p[u], p[v], end[u], end[v], b.value[RR] * this.unit, ccw, b.at[RR], b.to[RR]);
    }
    // 0.002 mm, 0.0002 inch; one part in a million more for what the decimal fractions lose
    const tolerance = (this.unit === 1 ? 0.002 : 0.0002 * MM_PER_INCH) * 1.000001;
    const sweep = sweepAbout(p[u], p[v], end[u], end[v], cu, cv, ccw, tolerance, at, to);
    const flat = Math.abs(sweep) * Math.hypot(p[u] - cu, p[v] - cv);
    const feed = this.rate(b, Math.hypot(flat, end[w] - p[w]));
    const c = [p[0], p[1], p[2]];
    c[u] = cu;
    c[v] = cv;
    const { off } = this;
    this.moves.addArc(
      end[0] + off[0],
      end[1] + off[1],
      end[2] + off[2],
      c[0] + off[0],
      c[1] + off[1],
      c[2] + off[2],
      sweep,
      feed / 60,
      this.plane,
      this.line,
    );
    p.set(end);
  }

  /** M2 and M30 also put the modes back (NISTIR 6556, 3.6.1). */
  private stop(m: number): void {
    this.event("stop", m);
    if (m !== 2 && m !== 30) return;
    this.ended = m;
    if (this.turning !== 0) {
      this.turning = 0;
      this.event("spindle", 0);
    }
    this.event("coolant", 0);
  }
}
