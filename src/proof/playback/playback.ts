import type { Cutter } from "../../cutting/types.ts";
import { cutBy } from "../../holding/correct/posting.ts";
import { settingOf } from "../../holding/sections/setting.ts";
import { type ClockLimits, timeOf } from "../../kernel/clock.ts";
import { makeBlock } from "../../kernel/make-stock.ts";
import { MoveKind, type MoveList } from "../../kernel/moves.ts";
import { profileHeight } from "../../kernel/profile.ts";
import type { Stock } from "../../kernel/stock.ts";
import { NOWHERE, settleStart } from "../machine-use.ts";
import { type FillRegion, fillRegion, frameOf } from "../place.ts";
import { interpretProgram } from "../reader/index.ts";
import { shifted } from "../sections.ts";
import { raise, type SimulationInput } from "../simulate.ts";
import { type Tool, toolOf } from "../tool.ts";
import type { ProofSide } from "../types.ts";
import { partOfMove, placeAt } from "./part.ts";

/*
 * The wood at any second of a side's work. The whole side is cut once, and its heights are kept at moments spread over the time; any moment is
 * then reached from the one kept before it. Time is that of the machine's clock, hand steps take none.
 */

/** One program of the side on the common time of its side. */
export interface PlayedProgram {
  readonly file: string;
  readonly cuts: readonly string[];
  readonly cutter: Cutter;
  readonly tool: Tool;
  readonly moves: MoveList;
  /** Second at which it begins, and the end of each of its moves from there on. */
  readonly from: number;
  readonly ends: Float64Array;
  /** Speed of the spindle in each move, rpm. */
  readonly rpm: Float32Array;
  /** Index of the first move of each of its cuts, in their order. */
  readonly cutFrom: readonly number[];
}

/** What stands where at a moment. */
export interface Moment {
  readonly seconds: number;
  /** Index into `programs`. */
  readonly program: number;
  /** Index of the move under way, and its line in the program's text. */
  readonly move: number;
  readonly line: number;
  /** The tip, in the side's program frame. */
  readonly tip: readonly [number, number, number];
}

interface Kept {
  readonly program: number;
  readonly move: number;
  readonly z: Float32Array;
}

export interface PlaybackOptions {
  /** Cell of the heights, mm. */
  readonly cell: number;
  /** Heights kept at most; more make a jump shorter. */
  readonly keep?: number;
  readonly progress?: (share: number) => void;
}

export class Playback {
  readonly side: ProofSide;
  readonly programs: readonly PlayedProgram[];
  readonly seconds: number;
  /** Features that hand steps fill. */
  readonly filled: ReadonlySet<string>;
  /** As it stands at the moment last asked for. */
  readonly stock: Stock;
  private readonly frame: ReturnType<typeof frameOf>;
  private readonly kept: Kept[] = [];
  /** Fills by the index of the program before which they are made. */
  private readonly fills: ReadonlyMap<number, readonly FillRegion[]>;
  private readonly top: number;
  /** Where the stock stands: within `move` of `program`, `share` of it cut. */
  private program = 0;
  private move = 0;
  private share = 0;
  /** mm3 taken off by every `cut` so far. */
  private removed = 0;

  /**
   * Plays a side's programs as they are read from their text. A program that cannot be read or whose cutter is missing is left out: the
   * proof says so elsewhere. Throws RangeError on a side that the input does not have.
   */
  constructor(input: SimulationInput, name: ProofSide["name"], limits: ClockLimits, options: PlaybackOptions) {
    const side = input.sides.find((s) => s.name === name);
    if (side === undefined) throw new RangeError(`there is no side called ${name}`);
    this.side = side;
    const frame = frameOf(side);
    const { min, max } = side.stock;
    this.top = max[2];
    const fills = new Map<number, FillRegion[]>();
    const programs: PlayedProgram[] = [];
    const filled = new Set<string>();
    let at = 0;
    for (const step of input.steps) {
      if (!("program" in step)) {
        if (step.side !== name || input.neck === null) continue;
        for (const id of step.fills) {
          const region = fillRegion(input.neck, id, step.fills);
          if (region === null) continue;
          filled.add(id);
          fills.set(programs.length, [...(fills.get(programs.length) ?? []), region]);
        }
        continue;
      }
      const program = input.programs.find((p) => p.file === step.program && p.side === name);
      const cutter = input.cutters.find((c) => c.number === program?.cutter);
      if (program === undefined || cutter === undefined) continue;
      const read = interpretProgram(program.text, { start: NOWHERE });
      if (read.errors.length > 0) continue;
      const settled = settleStart(program.file, read.moves, Number.POSITIVE_INFINITY);
      const { moves: made, events } = cutBy(settled.moves, read.events, side.real);
      const moves = shifted(made, settingOf(side, program.section).shift);
      const { perMove } = timeOf(moves, limits);
      const ends = new Float64Array(moves.count);
      let t = 0;
      for (let k = 0; k < moves.count; k++) {
        t += perMove[k];
        ends[k] = t;
      }
      programs.push({
        file: program.file,
        cuts: program.cuts,
        cutter,
        tool: toolOf(cutter, profileHeight),
        moves,
        from: at,
        ends,
        rpm: rpmOf(events, moves.count),
        cutFrom: cutsFrom(events, program.cuts),
      });
      at += t;
    }
    this.frame = frame;
    this.programs = programs;
    this.seconds = at;
    this.fills = fills;
    this.filled = filled;
    this.stock = makeBlock(min[0], min[1], max[0], max[1], options.cell, max[2]);
    const keep = Math.max(2, options.keep ?? 48);
    this.keepHere();
    this.fillBefore(0);
    const every = Math.max(1e-9, at / (keep - 1));
    let next = every;
    programs.forEach((p, n) => {
      for (let k = 0; k < p.moves.count; k++) {
        const end = p.from + p.ends[k];
        if (end < next && k < p.moves.count - 1) continue;
        this.runTo(n, k + 1, 0);
        if (end >= next && this.kept.length < keep) {
          this.keepHere();
          next = end + every;
        }
        options.progress?.(end / at);
      }
    });
  }

  /** Where everything stands at a second, the wood left as it was. Seconds beyond the ends mean the ends. */
  momentAt(seconds: number): Moment {
    const t = Math.max(0, Math.min(this.seconds, seconds));
    const { programs } = this;
    if (programs.length === 0) return { seconds: 0, program: -1, move: 0, line: 0, tip: [0, 0, this.top] };
    let n = programs.length - 1;
    while (n > 0 && programs[n].from > t) n--;
    const p = programs[n];
    const k = Math.min(p.moves.count - 1, firstAbove(p.ends, t - p.from));
    const before = k > 0 ? p.ends[k - 1] : 0;
    const share = p.ends[k] > before ? Math.min(1, (t - p.from - before) / (p.ends[k] - before)) : 1;
    return { seconds: t, program: n, move: k, line: p.moves.line[k], tip: placeAt(p.moves, k, share) };
  }

  /** Brings the wood to a second and says where everything stands. */
  seek(seconds: number): Moment {
    const m = this.momentAt(seconds);
    if (m.program < 0) return m;
    const p = this.programs[m.program];
    const before = m.move > 0 ? p.ends[m.move - 1] : 0;
    const span = p.ends[m.move] - before;
    const share = span > 0 ? Math.min(1, (m.seconds - p.from - before) / span) : 1;
    const ahead = compare(m.program, m.move, share, this.program, this.move, this.share) >= 0;
    const best = this.kept.findLast((f) => compare(f.program, f.move, 0, m.program, m.move, share) <= 0) as Kept;
    // a kept moment between here and there is nearer than here
    if (!ahead || compare(best.program, best.move, 0, this.program, this.move, this.share) > 0) {
      this.stock.map.z.set(best.z);
      this.stock.refresh();
      this.program = best.program;
      this.move = best.move;
      this.share = 0;
      if (best.program === 0 && best.move === 0) this.fillBefore(0);
    }
    this.runTo(m.program, m.move, share);
    return m;
  }

  /** Second at which a line of a program's text is begun, or null when the program has no move of that line or after it. */
  secondOf(file: string, line: number): number | null {
    const p = this.programs.find((q) => q.file === file);
    if (p === undefined) return null;
    for (let k = 0; k < p.moves.count; k++) if (p.moves.line[k] >= line) return p.from + (k > 0 ? p.ends[k - 1] : 0);
    return null;
  }

  /**
   * Wood that each move of a program takes off, mm3/s, averaged over at least `window` seconds of neighbouring moves. Leaves the wood as it
   * stands after the program.
   */
  woodAlong(program: number, window = 0.25): Float32Array {
    const p = this.programs[program];
    const out = new Float32Array(p.moves.count);
    this.seek(p.from);
    this.runTo(program, 0, 0);
    let k = 0;
    while (k < p.moves.count) {
      const begin = k > 0 ? p.ends[k - 1] : 0;
      let to = k + 1;
      // rapids stand alone: no wood is shared with them
      if (isFeed(p.moves, k)) while (to < p.moves.count && isFeed(p.moves, to) && p.ends[to - 1] - begin < window) to++;
      const before = this.removed;
      this.cut(to, 0);
      const span = p.ends[to - 1] - begin;
      if (span > 0) out.fill((this.removed - before) / span, k, to);
      k = to;
    }
    return out;
  }

  private keepHere(): void {
    this.kept.push({ program: this.program, move: this.move, z: this.stock.map.z.slice() });
  }

  private fillBefore(program: number): void {
    for (const region of this.fills.get(program) ?? []) raise(this.stock, this.frame, region, this.top);
  }

  /** Cuts on from where the stock stands to `share` of a move; that place must not lie before. */
  private runTo(program: number, move: number, share: number): void {
    while (this.program < program) {
      this.cut(this.programs[this.program].moves.count, 0);
      this.program++;
      this.move = 0;
      this.share = 0;
      this.fillBefore(this.program);
    }
    this.cut(move, share);
  }

  private cut(move: number, share: number): void {
    const { moves, tool } = this.programs[this.program];
    const { stock } = this;
    if (this.share > 0 && move > this.move) {
      const rest = partOfMove(moves, this.move, this.share, 1);
      if (rest !== null) this.removed += stock.cut(tool.profile, rest, 0, 1);
      this.move++;
      this.share = 0;
    }
    if (move > this.move) {
      this.removed += stock.cut(tool.profile, moves, this.move, move);
      this.move = move;
    }
    if (share > this.share && this.move === move) {
      const part = partOfMove(moves, move, this.share, share);
      if (part !== null) this.removed += stock.cut(tool.profile, part, 0, 1);
      this.share = share;
    }
  }
}

const compare = (n: number, k: number, s: number, n2: number, k2: number, s2: number): number => n - n2 || k - k2 || s - s2;

/** Index of the first end above a time; the length when there is none. */
function firstAbove(ends: Float64Array, t: number): number {
  let lo = 0;
  let hi = ends.length;
  while (lo < hi) {
    const mid = (lo + hi) >> 1;
    if (ends[mid] > t) hi = mid;
    else lo = mid + 1;
  }
  return lo;
}

/** Cuts are announced by comments; a program without them is all of its first cut. */
function cutsFrom(
  events: readonly { readonly kind: string; readonly move: number; readonly text: string }[],
  cuts: readonly string[],
): number[] {
  const said = events.filter((e) => e.kind === "comment" && /^\s*CUT \d/.test(e.text));
  return cuts.map((id, k) => (k === 0 ? 0 : (said.find((e) => e.text.includes(`: ${id} -`))?.move ?? Number.POSITIVE_INFINITY)));
}

function rpmOf(events: readonly { readonly kind: string; readonly move: number; readonly value: number }[], count: number): Float32Array {
  const out = new Float32Array(count);
  const spindle = events.filter((e) => e.kind === "spindle");
  spindle.forEach((e, k) => {
    out.fill(Math.abs(e.value), e.move, k + 1 < spindle.length ? spindle[k + 1].move : count);
  });
  return out;
}

/** Whether a move takes the cutter through the wood at feed. */
export const isFeed = (moves: MoveList, k: number): boolean => moves.kind[k] === MoveKind.line || moves.kind[k] === MoveKind.arc;
