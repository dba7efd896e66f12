import { centsOfAxisScale, centsOfFretError } from "../../materials/intonation.ts";
import { woodByName } from "../../materials/woods.ts";
import type { Finding } from "../../units/index.ts";
import type { Neck } from "../types.ts";
import { feel, mass } from "./mass.ts";
import { moisture } from "./moisture.ts";
import { straightness } from "./straightness.ts";
import { strength } from "./strength.ts";
import { answersOf, intonation, pullOf } from "./strings.ts";
import { USUAL_TOLERANCES, within } from "./tolerances.ts";
import type { AlongNeck, Figure, Figures, HeadWay, Tolerances, WoodChoice } from "./types.ts";

export { NF_RULES } from "./rules.ts";
export { answersOf } from "./strings.ts";
export { USUAL_TOLERANCES } from "./tolerances.ts";
export type { AlongNeck, Figure, Figures, HeadWay, StringAnswer, Tolerances, WoodChoice } from "./types.ts";

/**
 * What the neck means for the player and for the wood: strings, intonation, straightness, strength, moisture, mass, feel. Every figure has
 * a band; assumptions stand in its source. Woods the tables do not know leave their figures out.
 */
export function figuresOf(neck: Neck, tolerances: Tolerances = USUAL_TOLERANCES): Figures {
  const figures: Figure[] = [];
  const findings: Finding[] = [];
  const along: AlongNeck[] = [];
  let heads: readonly HeadWay[] = [];
  let choices: readonly WoodChoice[] = [];
  const shaft = woodByName(neck.order.wood.shaft);
  const board = woodByName(neck.order.wood.board);
  const strings = answersOf(neck, tolerances);
  const pull = pullOf(neck, strings, tolerances, figures, findings);
  intonation(neck, strings, tolerances, figures, findings);
  position(neck, figures, tolerances);
  if (shaft && board) {
    const woods = { shaft, board };
    const straight = straightness(neck, woods, pull, tolerances, figures, findings);
    if (straight) along.push(...straight.along);
    heads = strength(neck, woods, pull, tolerances, figures, findings);
    moisture(neck, woods, tolerances, figures, findings);
    choices = mass(neck, woods, tolerances, figures);
  }
  along.push(...feel(neck, tolerances, figures));
  return { figures, findings, strings: strings === null ? [] : [...strings].reverse(), along, heads, woods: choices };
}

/** What a fret out of its place costs, at the octave. */
function position(neck: Neck, out: Figure[], tol: Tolerances): void {
  const { scale, frets } = neck.order;
  if (frets.count === 0 || frets.kind === "none") return;
  const n = Math.min(12, frets.count);
  const share = tol.dimension / scale;
  out.push(
    within(
      {
        id: "cents-slot",
        what: `cost of fret ${n} lying 0.1 mm too near the bridge`,
        unit: "cent",
        source: "1200 log2(L / (L - 0.1)), L from fret to bridge; twice as much for twice the error",
      },
      centsOfFretError(scale, n, 0.1),
      share,
    ),
    within(
      {
        id: "cents-axis",
        what: `cost at fret ${n} of an axis that moves 0.1 % too far`,
        unit: "cent",
        source:
          "1200 log2 of the lengths from fret to bridge, the bridge where the drawing has it; a saddle moved by 0.1 % of the scale takes it away",
      },
      centsOfAxisScale(scale, n, 0.1),
      share,
    ),
  );
}
