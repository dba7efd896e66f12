import { apply, inverse } from "../holding/transform.ts";
import type { Solid } from "../holding/types.ts";
import type { MoveList } from "../kernel/moves.ts";
import type { Stock } from "../kernel/stock.ts";
import { type Finding, finding, type Mm } from "../units/index.ts";
import { INDEX_HOLE, STEPS } from "./rules.ts";
import type { ProofInput, ProofSide } from "./types.ts";

/*
 * A neck that is cut in sections lies elsewhere on the bed in each: a place in a section's program and the section's shift make the
 * place in the side's frame, in which all of a side's programs cut one piece of wood.
 */

/** The same moves elsewhere. */
export function shifted(m: MoveList, [dx, dy]: readonly [Mm, Mm]): MoveList {
  if (dx === 0 && dy === 0) return m;
  const by = (a: Float64Array, d: Mm): Float64Array => a.map((v) => v + d);
  return {
    ...m,
    start: [m.start[0] + dx, m.start[1] + dy, m.start[2]],
    x: by(m.x, dx),
    y: by(m.y, dy),
    cx: by(m.cx, dx),
    cy: by(m.cy, dy),
  };
}

/** Left under an index hole for the hand to break out, mm, and what the map's cells may show besides. */
const SKIN: Mm = 0.35;

/** Wood that stands where an index pin is to go, mm; less than nothing where there is none. */
export interface UnderPin {
  readonly pin: string;
  readonly left: Mm;
}

/** What stands, in one band of the wood, where the index pins of a section go up into it. */
export const underPins = (stock: Stock, holding: readonly Solid[]): UnderPin[] =>
  holding.flatMap((s) =>
    s.role === "index pin" && s.kind === "cylinder"
      ? [{ pin: s.name, left: stock.penetration(s.diameter / 2 - 0.02, s.x, s.y, 0, s.x, s.y, 0) }]
      : [],
  );

/** Under every index pin of a section an earlier program has bored its hole, before the section's first program; in all bands of the wood. */
export function checkIndexPins(file: string, bands: readonly (readonly UnderPin[])[]): Finding[] {
  return bands[0].flatMap(({ pin }, k) => {
    const left = Math.max(...bands.map((b) => b[k].left));
    if (left <= SKIN) return [];
    return [
      finding(INDEX_HOLE, {
        where: `${file}, ${pin}`,
        value: left,
        limit: SKIN,
        unit: "mm",
        says: `When this section begins, ${left.toFixed(2)} mm of wood stand where the ${pin} goes up into the blank.`,
        tryThis: "Make the job again; the index holes are bored by the section before.",
      }),
    ];
  });
}

/** What the job states of sections: programs name those there are, and index pins stand at the same places of the blank on both sides. */
export function checkSectionsStated(input: ProofInput, side: ProofSide): Finding[] {
  const out: Finding[] = [];
  const say = (where: string, says: string): void => {
    out.push(finding(STEPS, { where, value: null, limit: null, unit: "", says, tryThis: "Make the job again from its order." }));
  };
  for (const p of input.programs) {
    if (p.side !== side.name) continue;
    const known = side.sections?.some((s) => s.number === p.section) ?? false;
    if (p.section !== undefined && !known)
      say(p.file, `The program is for section ${p.section}, which the ${side.name} side does not have.`);
    if (p.section === undefined && side.sections !== undefined) say(p.file, "The program does not say which section it is for.");
  }
  // the blank is shifted by hand
  let last: number | undefined;
  let hand = true;
  for (const step of input.steps) {
    const p = "program" in step ? input.programs.find((q) => q.file === step.program) : undefined;
    if (p === undefined) hand ||= !("program" in step) && step.side === side.name;
    else if (p.side === side.name) {
      if (p.section !== last && !hand) say(p.file, `Nothing says that the blank is shifted to section ${p.section} before this program.`);
      last = p.section;
      hand = false;
    }
  }
  const board = input.sides.find((s) => s.name === "board");
  if (side.name !== "carve" || board === undefined) return out;
  // the first section of a piece that is turned on pins lies on the holes that the board side bored for the second
  const places = (s: ProofSide): readonly (readonly [number, Mm, Mm])[] =>
    (s.sections ?? []).flatMap((q) =>
      q.holding.flatMap((h) => {
        if (h.role !== "index pin" || h.kind !== "cylinder") return [];
        const [x, y] = apply(inverse(s.neckToProgram), h.x + q.shift[0], h.y + q.shift[1], 0);
        return [[q.number, x, y] as const];
      }),
    );
  const mine = places(side);
  for (const [number, x, y] of mine)
    if (!places(board).some((p) => p[0] === Math.max(2, number) && Math.hypot(p[1] - x, p[2] - y) < 1e-6))
      say(`side carve, section ${number}`, "An index pin stands where the board side has bored no hole.");
  return out;
}
