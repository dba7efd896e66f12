import { type Figure, type Figures, figuresOf } from "../neck/figures/index.ts";
import { isStop } from "../units/index.ts";
import type { ReportInput } from "./input.ts";

/* What the neck means, as rows for the report and the run sheet. */

/** A figure's number: three digits that mean something, no more. */
export const figureText = (v: number): string => {
  const t = Math.abs(v) >= 100 ? v.toFixed(0) : Math.abs(v) >= 10 ? v.toFixed(1) : Math.abs(v) >= 1 ? v.toFixed(2) : v.toFixed(3);
  return (Number(t) === 0 ? t.replace("-", "") : t).replace("-", "−");
};

/** Figures of the neck; null for one that is stopped by its own geometry: what cannot be means nothing. */
export function meaningOf(input: Pick<ReportInput, "neck">): Figures | null {
  return input.neck.findings.some(isStop) ? null : figuresOf(input.neck);
}

export const figureRow = (f: Figure): readonly [string, string, string, string] => [
  f.what,
  figureText(f.value),
  f.unit,
  `${figureText(f.low)} to ${figureText(f.high)}`,
];

/** Groups of figures by their ids, in the order a maker asks. */
export const GROUPS: readonly (readonly [string, (id: string) => boolean])[] = [
  ["Will it play in tune?", (id) => /^(pull|tension|stress|balance-of-set|cents)/.test(id)],
  ["Where nut and saddle should stand", (id) => /^(saddle|nut)-/.test(id)],
  ["Will it stay straight?", (id) => /^(stiffness|relief|rod)/.test(id)],
  ["Is it strong enough?", (id) => /^(head|heel|short-grain|wood-under-rod)/.test(id)],
  ["What moves when the weather changes?", (id) => /^(home|shop|cut-at|fret-ends|shaft|board)/.test(id)],
  ["What does it weigh, how does it feel?", (id) => /^(mass|balance$|girth|area)/.test(id)],
];
