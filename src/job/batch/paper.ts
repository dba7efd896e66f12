import { CAUTIONS, DEFERS } from "../../sheet/cautions.ts";
import type { Mm } from "../../units/index.ts";
import type { OutFile } from "../write.ts";
import type { LaidSide, LaidTurn } from "./lay.ts";
import type { Piece } from "./pieces.ts";
import type { BatchText } from "./text.ts";

/* Paper: what is done at the machine, in the order of doing it. Plain text, to be printed. */

/** Where every piece of a side lies. */
export function sideLines(pieces: readonly Piece[], { side, nested, sides }: LaidSide): string[] {
  const n = (v: Mm): string => v.toFixed(1).padStart(8);
  return [
    "",
    `${side.toUpperCase()} SIDE`,
    `Zero of the programs: ${sides[0].zeroSays} (piece 1), ${nested.at[0][0].toFixed(1)} mm along X and ${nested.at[0][1].toFixed(1)} mm along Y from the bed's corner.`,
    `Free way between a piece's cutters and the next piece: ${nested.clearance.toFixed(1)} mm at least. All rapids between pieces are above everything.`,
    ...pieces.map((p, k) => {
      const { min, max } = sides[k].stock;
      return `[ ] ${p.name}, ${p.made.job.order.name}: its own zero (pins and stop) at X${n(nested.at[k][0] - nested.at[0][0])}  Y${n(nested.at[k][1] - nested.at[0][1])}; blank ${(max[0] - min[0]).toFixed(1)} x ${(max[1] - min[1]).toFixed(1)} x ${(max[2] - min[2]).toFixed(1)}${p.out ? "  DROPPED OUT" : ""}; holding as its run sheet (${side} side)`;
    }),
  ];
}

/** What is done by hand, each thing once with the pieces that it is for. */
export function handLines({ turn, stepOf }: LaidTurn, pieces: readonly Piece[]): string[] {
  const by = new Map<string, string[]>();
  for (const s of turn.steps) {
    const step = stepOf(s);
    if ("program" in step || pieces[s.piece].out) continue;
    by.set(step.hand, [...(by.get(step.hand) ?? []), pieces[s.piece].name]);
  }
  return [...by].map(([hand, who]) => `[ ] ${who.join(", ")}: ${hand}`);
}

export const programLine = ({ program, cutter, seconds, who }: BatchText): string =>
  `[ ] ${program.file}  cutter ${program.cutter}, ${cutter.name}, about ${Math.ceil(seconds / 60)} min: ${who.join(", ")}`;

/** A whole batch's run sheet. `dropped`: numbers of the pieces that are out. */
export function runSheet(
  names: string,
  pieces: number,
  dropped: readonly number[],
  changes: { readonly here: number; readonly alone: number; readonly fewest: boolean },
  body: readonly string[],
): OutFile {
  const lines = [
    `BATCH OF ${pieces}: ${names}`,
    ...(dropped.length === 0
      ? []
      : [
          `Dropped out: ${dropped.map((w) => `piece ${w}`).join(", ")}. Leave it where it lies. Programs keep their numbers; one that was stopped is run again whole, cutting air where it has cut, or goes on (neckwright resume).`,
        ]),
    "Day: ....................  Name: ....................",
    "",
    DEFERS,
    ...CAUTIONS.map((c) => `[ ] ${c}`),
    "",
    `Cutters are changed ${changes.here} times (${changes.alone} when the pieces are cut one after the other)${changes.fewest ? "; no order of work needs fewer" : ""}.`,
    "One zero for all: that of piece 1. Every piece has its own pins and stop where the table says. Should a program stop: neckwright resume on this folder.",
    ...body,
  ];
  return { path: "run-sheet.txt", bytes: new TextEncoder().encode(`${lines.join("\n")}\n`) };
}

/** What a batch that goes on after a stop counts on, and how it begins. */
export interface GoingOn {
  readonly names: string;
  readonly pieces: readonly Piece[];
  /** Dropped out now. */
  readonly dropped: readonly number[];
  readonly stopped: { readonly file: string; readonly sha256: string; readonly line: number; readonly says: string };
  /** The program that goes on: where it comes down, unless it begins with another piece's whole cut; null when nothing is left of it. */
  readonly first: (BatchText & { readonly at: readonly [Mm, Mm, Mm] | null; readonly overlap: Mm; readonly sha256: string }) | null;
  readonly done: readonly string[];
  readonly body: readonly string[];
}

export function goingOnSheet(r: GoingOn): OutFile {
  const n = (v: number): string => v.toFixed(3);
  const full = r.pieces[0].made.shop.machine.controller.dialect === "full";
  const lines = [
    `GOING ON AFTER A STOP: batch of ${r.pieces.length}: ${r.names}`,
    `${r.stopped.file} stopped: ${r.stopped.says}`,
    `(SHA-256 of that program ${r.stopped.sha256})`,
    ...(r.dropped.length === 0
      ? []
      : [
          `Dropped out: ${r.dropped.map((w) => `piece ${w}`).join(", ")}. Leave it where it lies, held as it is: the others' cutters keep clear of it there, and of what holds it.`,
        ]),
    "Day: ....................  Name: ....................",
    "",
    DEFERS,
    ...CAUTIONS.map((c) => `[ ] ${c}`),
    "",
    "These programs count on the following; where one is not so, do not run them:",
    ...r.done.map((d) => `[ ] done: ${d}`),
    `[ ] ${r.stopped.file} has cut at least up to its line ${r.stopped.line}. Where you do not know, name an earlier line.`,
    "[ ] The wood of the pieces that go on shows no cut where none was to be. A piece that does drops out (--without).",
    "[ ] No piece of a broken cutter is left in the wood or in the collet.",
    "[ ] No piece has moved: each touches its pins and its stop, and every block and screw is tight.",
    "",
    ...(r.first === null
      ? ["[ ] Nothing more is to be cut of the program that stopped; go on with the next."]
      : [
          `[ ] ${r.first.program.file}  cutter ${r.first.program.cutter}, ${r.first.cutter.name}, about ${Math.ceil(r.first.seconds / 60)} min: ${r.first.who.join(", ")}`,
          `      SHA-256 ${r.first.sha256}`,
          full
            ? `[ ] The cutter's length is measured anew and stands in the controller's table under ${r.first.program.cutter}; it sticks out ${r.first.cutter.reach.toFixed(1)} mm, as in the proof.`
            : `[ ] The zero of Z is set anew with this cutter, which sticks out ${r.first.cutter.reach.toFixed(1)} mm, as in the proof.`,
          "[ ] Zero: of piece 1, as before. Check it: over a pin of another piece the controller must show what the table below says.",
          "[ ] Run it in air first, the zero of Z raised by more than the blanks are thick; then set it back.",
          r.first.at === null
            ? "[ ] It begins with a whole cut of the next piece, as the program that stopped would have."
            : `[ ] It comes down at X ${n(r.first.at[0])} Y ${n(r.first.at[1])} to Z ${n(r.first.at[2])}, the last part slowly, where the cutter has stood before: it must touch nothing on its way down. The first ${r.first.overlap.toFixed(1)} mm are made again.`,
        ]),
    `[ ] Should a program stop again: go on from the batch's own folder, by a position or a pass${r.dropped.length === 0 ? "" : ", with the same --without"}; line numbers of these programs are not those of the batch.`,
    "",
    "Then, in this order:",
    ...r.body,
  ];
  return { path: "run-sheet.txt", bytes: new TextEncoder().encode(`${lines.join("\n")}\n`) };
}
