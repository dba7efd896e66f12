import { type Box, bounds, joinBoxes } from "../kernel/bounds.ts";
import { comment, timeInWords } from "./comments.ts";
import type { ProgramInput } from "./types.ts";

/** Said in every program; the machine's manual, local rules and trained people come first. */
const CAUTIONS: readonly (readonly [string, string])[] = [
  ["CAUTION FIRST", "the manual of the machine, local rules and trained people come before this program"],
  ["CAUTION EYES", "wear eye protection, cutters and wood splinters fly"],
  ["CAUTION EARS", "wear hearing protection"],
  ["CAUTION DUST", "extract the dust and wear a mask, hardwood dust harms the lungs"],
  ["CAUTION CUTTER", "keep hands, sleeves and hair away from a turning cutter, never reach in while it turns"],
  ["CAUTION HOLDING", "check every pin, block and screw before each start"],
  ["CAUTION FIRST RUN", "run it first in air, with the zero raised above the wood"],
  ["CAUTION STOP", "keep a hand at the stop and stay with the machine"],
];

const SIDE_SAYS = { board: "the board faces the spindle", carve: "the back faces the spindle" } as const;

/** Labels that a complete header carries, in order; the check looks for them in the text. */
export const HEADER_LABELS: readonly string[] = [
  "PROGRAM",
  "ORDER",
  "ORDER HASH",
  "SIDE",
  "CUTTER",
  "STICK-OUT",
  "ZERO",
  "UNITS",
  "SAFE HEIGHT",
  "BOUNDS X",
  "BOUNDS Y",
  "BOUNDS Z",
  "TIME",
  ...CAUTIONS.map(([label]) => label),
  "WORK 1",
];

/** The box that a program's tip stays in: all cuts, and the safe height it comes from and goes back to. */
export function programBounds(input: ProgramInput): Box {
  const box = joinBoxes(input.cuts.map((c) => bounds(c.moves)));
  const { min, max } = box;
  return {
    min: [min[0], min[1], Math.min(min[2], input.safeZ)],
    max: [max[0], max[1], Math.max(max[2], input.safeZ)],
  };
}

/** The header: everything a person must know before pressing start, as comment lines. */
export function headerLines(input: ProgramInput): string[] {
  const { cutter, decimals, side } = input;
  const box = programBounds(input);
  const mm = (v: number): string => fixed(v, decimals);
  const lines = [
    ...comment("PROGRAM", input.file),
    ...comment("ORDER", input.orderName),
    ...comment("ORDER HASH", input.orderHash),
    ...comment("SIDE", `${side}, ${SIDE_SAYS[side]}`),
    ...comment("CUTTER", `${cutter.number}, ${cutter.name}, ${cutter.shape}, diameter ${fixed(cutter.diameter, 3)} mm`),
    ...comment("STICK-OUT", `${fixed(cutter.reach, 1)} mm from tip to holder`),
    ...comment("ZERO", input.zeroSays),
    ...comment("UNITS", "mm, mm/min, seconds"),
    ...comment("SAFE HEIGHT", `Z ${mm(input.safeZ)}`),
  ];
  for (const [axis, name] of ["X", "Y", "Z"].entries()) {
    lines.push(...comment(`BOUNDS ${name}`, `${mm(box.min[axis])} to ${mm(box.max[axis])}`));
  }
  lines.push(...comment("TIME", `about ${timeInWords(input.seconds)}`));
  for (const [label, says] of CAUTIONS) lines.push(...comment(label, says));
  for (const [k, cut] of input.cuts.entries()) lines.push(...comment(`WORK ${k + 1}`, `${cut.id} - ${cut.title}`));
  return lines;
}

/** The line that announces cut k (from 0). */
export const cutLines = (input: ProgramInput, k: number): string[] =>
  comment(`CUT ${k + 1} OF ${input.cuts.length}`, `${input.cuts[k].id} - ${input.cuts[k].title}`);

/** Fixed decimals without -0. */
function fixed(v: number, decimals: number): string {
  const s = v.toFixed(decimals);
  return Number(s) === 0 ? s.replace("-", "") : s;
}
