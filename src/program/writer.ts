import { MoveKind } from "../kernel/moves.ts";
import { ByteText, roundScaled } from "./bytes.ts";
import { cutLines, headerLines } from "./header.ts";
import { LARGEST, NEWLINE, TextMachine } from "./text-machine.ts";
import type { ProgramInput } from "./types.ts";

/** What a controller of a dialect can do. */
export interface Abilities {
  /** T, M6, and G43 with an H from a tool table. */
  readonly toolTable: boolean;
  /** G64 P, blending within a stated distance of the path; without it every program asks for the exact path, G61. */
  readonly blending: boolean;
}

/** Program text as bytes: header, modes, then the cuts; throws on values that no program may carry. */
export function writeProgram(input: ProgramInput, abilities: Abilities): Uint8Array {
  refuseNonsense(input);
  const text = new ByteText(bytesOf(input));
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

/** About how many bytes the text will have, from some moves of each cut: memory is asked for once, and little of it in vain. */
function bytesOf(input: ProgramInput): number {
  let bytes = 4096;
  for (const { moves } of input.cuts) {
    const { count, kind, feed } = moves;
    const step = Math.max(1, Math.floor(count / 1000));
    let seen = 0;
    let sum = 0;
    for (let k = 1; k < count; k += step) {
      seen++;
      if (kind[k] === MoveKind.arc) sum += 2 * input.decimals + 14;
      if (feed[k] !== feed[k - 1]) sum += 6;
      for (const at of [moves.x, moves.y, moves.z]) {
        const v = Math.abs(at[k]);
        if (at[k] !== at[k - 1]) sum += input.decimals + (v < 10 ? 4 : v < 100 ? 5 : 6) + (at[k] < 0 ? 1 : 0);
      }
    }
    bytes += 256 + (seen === 0 ? 0 : (1.03 * sum * count) / seen);
  }
  return Math.ceil(bytes);
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
