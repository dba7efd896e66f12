import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { clockLimits } from "../src/cutting/clock-limits.ts";
import { secondsOf, timeOf } from "../src/kernel/clock.ts";
import type { MoveList } from "../src/kernel/moves.ts";
import { dialectFor } from "../src/program/index.ts";
import { interpretProgram, Track } from "../src/proof/reader/index.ts";
import type { ShopSpec } from "../src/spec/types.ts";

/*
 * Programs as text, and their clock: the reader and the planner of speeds beside those in C, the writer beside the reader. The yardstick
 * reads the very file that ours wrote; what both have read is compared before any time is.
 *
 * The reader into memory that is there is timed in a process of its own, as the yardstick's is, in turns with it. Here it would not be its
 * like: starting the yardstick marks all this process's memory to be copied once written to, and the next reading pays for that.
 */

/** Processor time, ms, of the best of some runs. */
type Time = (f: () => void, times?: number) => number;
type Build = (dir: string, name: string) => string | null;
type Run = (file: string, args: readonly string[]) => string;
type Line = (what: string, ms: number, c: number | null) => void;

/** Bytes that the reader is measured on. */
const READ = 60e6;
/** The yardstick's planner goes over so many moves. */
const PLANNED = 2_000_000;

/** Readings in one process, of which the best counts; the yardstick does as many. */
const READINGS = 5;
const TURNS = 6;

/** What the moves of a reading come to: x, y and z weighed, as the yardstick does. */
function sumOf({ x, y, z, count }: MoveList): number {
  let s = 0;
  for (let k = 0; k < count; k++) s += x[k] + 2 * y[k] + 3 * z[k];
  return s;
}

/** Reads the program at `path` into the same memory again and again, and says how many moves, ms of the best, and the sum; for a process of its own. */
export function readAlone(path: string, time: Time): string {
  const file = new Uint8Array(readFileSync(path));
  const memory = new Track();
  // memory is made, and the kernels come out of their first, slow form
  let { moves } = interpretProgram(file, { memory });
  const ms = time(() => {
    ({ moves } = interpretProgram(file, { memory }));
  }, READINGS);
  return `${moves.count} moves ${ms.toFixed(2)} ms sum ${sumOf(moves)}`;
}

/** The stress program's finishing as text. */
export function writeStress(moves: MoveList, shop: ShopSpec): Uint8Array {
  return dialectFor("reduced").writeBytes(stressInput(moves, shop));
}

function stressInput(moves: MoveList, shop: ShopSpec): Parameters<ReturnType<typeof dialectFor>["writeBytes"]>[0] {
  return {
    file: "stress.ngc",
    orderName: "stress",
    orderHash: "0".repeat(64),
    side: "carve",
    cutter: shop.cutters.find((c) => c.shape === "ball") ?? shop.cutters[0],
    cuts: [{ id: "carve-finish", title: "Stress", rpm: 18_000, moves: { ...moves, feed: new Float64Array(moves.count).fill(50) } }],
    safeZ: 60,
    zeroSays: "bench",
    decimals: shop.machine.controller.decimals,
    arcs: false,
    seconds: 0,
  };
}

export function textFigures(dir: string, moves: MoveList, shop: ShopSpec, time: Time, build: Build, run: Run, line: Line): void {
  const input = stressInput(moves, shop);
  const dialect = dialectFor("reduced");
  const text = dialect.writeBytes(input);
  // by itself, so that it does not pay for giving back what the reader has used
  const written = time(() => dialect.writeBytes(input), 6);
  line(`writer, ${moves.count} moves, ${(text.length / 1e6).toFixed(1)} MB, into new memory`, written, null);

  // as many whole lines of it as make the reader's load, again and again, without the program's end
  const body = text.subarray(0, text.lastIndexOf(0x0a, text.length - 200));
  const from = body.indexOf(0x0a, 4000) + 1;
  const big = new Uint8Array(Math.ceil(READ));
  big.set(body.subarray(0, Math.min(body.length, big.length)));
  let at = Math.min(body.length, big.length);
  while (at < big.length) {
    const part = body.subarray(from, Math.min(body.length, from + big.length - at));
    big.set(part, at);
    at += part.length;
  }
  const file = big.subarray(0, big.lastIndexOf(0x0a) + 1);
  const ours = interpretProgram(file).moves;
  const ourSum = sumOf(ours);
  let read = Number.POSITIVE_INFINITY;
  let anew = Number.POSITIVE_INFINITY;
  const reader = build(dir, "c_gcode");
  let c: number | null = null;
  const path = join(dir, "program.ngc");
  writeFileSync(path, file);
  if (reader !== null) {
    const words = run(reader, [path]);
    const [, theirs, sum] = /MB (\d+) moves .*checksum (-?[\d.]+)/.exec(words) ?? [];
    if (Math.abs(Number(theirs) - ours.count) > 2 || Math.abs(Number(sum) - ourSum) > 1e-6 * Math.abs(ourSum) + 2000)
      throw new Error(`the reader: ours ${ours.count} moves, sum ${ourSum}; theirs ${theirs}, ${sum}`);
    c = Number.POSITIVE_INFINITY;
  }
  for (let turn = 0; turn < TURNS; turn++) {
    const [, count, ms, sum] = /(\d+) moves ([\d.]+) ms sum (.*)/.exec(run(process.execPath, [process.argv[1], "--read", path])) ?? [];
    if (Number(count) !== ours.count || Number(sum) !== ourSum)
      throw new Error(`the reader alone: ${count} moves, sum ${sum}; here ${ours.count}, ${ourSum}`);
    read = Math.min(read, Number(ms));
    anew = Math.min(
      anew,
      time(() => interpretProgram(file)),
    );
    if (reader !== null) c = Math.min(c ?? Number.POSITIVE_INFINITY, Number(/: ([\d.]+) ms/.exec(run(reader, [path]))?.[1]));
  }
  line(`reader, ${(file.length / 1e6).toFixed(0)} MB, ${ours.count} moves, into memory that is there`, read, c);
  // the yardstick reads into memory that it has used before, so this is no like work: what the system asks for new memory is in it
  line("  the same into new memory", anew, c);
  const perWritten = written / moves.count;
  // both of them into new memory
  const perRead = anew / ours.count;
  console.log(
    `writer per move ${(perWritten * 1e6).toFixed(0)} ns, reader per move ${(perRead * 1e6).toFixed(0)} ns: ${(perWritten / perRead).toFixed(2)} x`,
  );

  const limits = clockLimits(shop.machine);
  const one = { ...moves, feed: input.cuts[0].moves.feed };
  let total = 0;
  let planned = Number.POSITIVE_INFINITY;
  let each = Number.POSITIVE_INFINITY;
  let e = Number.POSITIVE_INFINITY;
  const planner = build(dir, "e_feed");
  for (let turn = 0; turn < 3; turn++) {
    planned = Math.min(
      planned,
      time(() => {
        total = secondsOf(one, limits);
      }, 2),
    );
    each = Math.min(
      each,
      time(() => timeOf(one, limits)),
    );
    // theirs goes over the same places, from the file of the sweeps, as often as makes PLANNED moves
    if (planner !== null) e = Math.min(e, Number(/moves: ([\d.]+) ms/.exec(run(planner, [join(dir, "program.bin")]))?.[1]));
  }
  const theirs = planner === null ? null : e * (moves.count / PLANNED);
  // ours also takes the axes' limits towards the inside of a corner, and no wider a corner than its moves are long; theirs neither
  line(`planner of speeds, ${moves.count} moves, ${(total / 3600).toFixed(2)} h`, planned, theirs);
  line("  the same with each move's time kept, in new memory", each, theirs);
}
