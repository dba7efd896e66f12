import { clockLimits } from "../src/cutting/clock-limits.ts";
import { openProgram, type Prepared, type ResumeSource, writeResumed } from "../src/job/resume.ts";
import { timeOf } from "../src/kernel/clock.ts";
import type { Stock } from "../src/kernel/stock.ts";
import { findStart, passesOf } from "../src/program/resume/find.ts";
import type { StoppedAt } from "../src/program/resume/types.ts";
import { partOfMove, placeAt } from "../src/proof/playback/part.ts";
import { blankOf, cutPart, programsOnto, proveResume, stockFrom } from "../src/proof/resume.ts";
import { isStop } from "../src/units/index.ts";

/*
 * Programs that stop at a random second: the machine has cut up to there and no further, within a move. The place is told as a person would
 * tell it (line, place of the tip, cut and pass), the program that goes on is written and proved, and then really cut into the wood as it is.
 */

export interface ResumeTally {
  trials: number;
  /** Programs in which the work stopped. */
  readonly programs: Map<string, number>;
  /** Findings that stop, and places that were refused, with the program. */
  readonly failed: string[];
  /** Largest difference to the whole program's wood, mm: as proved, and from the wood at the very second. */
  proved: number;
  real: number;
  /** Largest wood taken on the way in, mm3. */
  wayIn: number;
}

/** mulberry32, a published generator of 32 bits of state: what these trials need is that they are the same every time. */
export function seeded(seed: number): () => number {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = Math.imul(a ^ (a >>> 15), a | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

const most = (a: Float32Array, b: Float32Array): number => a.reduce((m, v, k) => Math.max(m, Math.abs(v - b[k])), 0);

/** `each` trials in every program of the sides, in their order of work. */
export function resumeTrials(source: ResumeSource, each: number, seed: number, only?: (file: string) => boolean): ResumeTally {
  const random = seeded(seed);
  const tally: ResumeTally = { trials: 0, programs: new Map(), failed: [], proved: 0, real: 0, wayIn: 0 };
  const { input } = source;
  for (const side of input.sides) {
    const stock = blankOf(side, input.cell);
    for (const { file } of programsOnto(stock, input, side)) {
      const open = openProgram(source, file);
      const { cutter, program, written } = open;
      if (only === undefined || only(file)) {
        const whole = stockFrom(stock.map);
        cutPart(whole, side, cutter, program, written.moves, 0, written.moves.count);
        for (let n = 0; n < each; n++) oneTrial(source, open, stock, whole, random, tally);
      }
      cutPart(stock, side, cutter, program, written.moves, 0, written.moves.count);
    }
  }
  return tally;
}

function oneTrial(source: ResumeSource, open: Prepared, before: Stock, whole: Stock, random: () => number, tally: ResumeTally): void {
  const { input } = source;
  const { side, cutter, program, written } = open;
  const { moves } = written;
  const { perMove } = timeOf(moves, clockLimits(input.machine));
  const passes = passesOf(written);
  // a second of the way at feed or between, never before the first pass
  const head = perMove.subarray(0, passes[0].from + 1).reduce((a, b) => a + b, 0);
  const total = perMove.reduce((a, b) => a + b, 0);
  const tail = perMove.subarray(passes.at(-1)!.to).reduce((a, b) => a + b, 0);
  let t = head + random() * (total - head - tail);
  let k = 0;
  while (k < moves.count - 1 && t > perMove[k]) t -= perMove[k++];
  const share = perMove[k] > 0 ? Math.min(1, t / perMove[k]) : 0;
  const pass = passes.find((p) => p.from <= k && k < p.to);
  const how = Math.floor(random() * 3);
  const tip = placeAt(moves, k, share).map((v) => Math.round(v * 100) / 100) as [number, number, number];
  const at: StoppedAt =
    pass === undefined || how === 0
      ? { kind: "line", line: moves.line[k] }
      : how === 1
        ? { kind: "place", at: tip }
        : { kind: "pass", cut: written.cuts[pass.cut].id, pass: pass.number };
  tally.trials++;
  tally.programs.set(program.file, (tally.programs.get(program.file) ?? 0) + 1);
  const says = `${source.orderName} ${program.file} ${JSON.stringify(at)}`;
  const found = findStart(written, at, 10);
  if (!found.ok) {
    tally.failed.push(`${says}: ${found.says}`);
    return;
  }
  // a start behind the place where the work stopped would leave wood
  if (passes.some((p) => p.to > k && p.from < found.start.move && Math.max(p.from, k) < found.start.move))
    tally.failed.push(`${says}: begins too late`);
  const made = writeResumed(source, open, found.start, {});
  const common = { input, side: made.side, cutter, program: made.program, whole: whole.map };
  const wood = stockFrom(before.map);
  cutPart(wood, side, cutter, program, moves, 0, found.start.move);
  const real = stockFrom(wood.map);
  const proof = proveResume({ ...common, wood });
  // the wood as it really is when the machine stands still
  cutPart(real, side, cutter, program, moves, found.start.move, Math.max(k, found.start.move));
  if (k >= found.start.move) {
    const part = partOfMove(moves, k, 0, share);
    if (part !== null) cutPart(real, side, cutter, program, part, 0, part.count);
  }
  const again = proveResume({ ...common, wood: real });
  for (const f of [...made.findings, ...proof.findings, ...again.findings])
    if (isStop(f)) tally.failed.push(`${says}: ${f.rule} ${f.where} ${f.says}`);
  tally.proved = Math.max(tally.proved, proof.below, proof.above);
  tally.real = Math.max(tally.real, most(real.map.z, whole.map.z));
  tally.wayIn = Math.max(tally.wayIn, proof.wayIn, again.wayIn);
}
