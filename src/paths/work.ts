import type { SideName } from "../holding/types.ts";
import type { CuttingSpec } from "../spec/types.ts";
import { type Finding, finding } from "../units/index.ts";
import { PA } from "./rules.ts";
import type { Cut, WorkStep } from "./types.ts";

/*
 * The maker's hand on the order of work: cuts left out, moved before others or run again, and the two plans. What then stands
 * where it should not is said, never put right in silence.
 */

export type WorkSpec = NonNullable<CuttingSpec["work"]>;

/** What a cut needs to have been cut before it, by ids without their side, and why. */
const NEEDS: Readonly<Record<SideName, readonly (readonly [before: string, after: string, why: string])[]>> = {
  board: [
    ["headstock-rough", "headstock-face", "the face's pass is planned for what roughing leaves"],
    ["headstock-face", "tuner-bores", "the bores start on the true face"],
    ["markers", "board-rough", "the recesses are cut from the blank's face"],
    ["markers", "board-radius", "the radius levels the glued markers"],
    ["board-rough", "board-radius", "the finishing rows are planned for a thin, even layer"],
    ["board-radius", "fret-slots", "the slots' floors follow the finished board"],
    ["outline-rough", "outline", "the clean laps are planned for the thin strip that roughing leaves"],
  ],
  carve: [
    ["rod-channel", "carve-rough", "the channel is cut from the blank's back, and the carve levels its filler strip"],
    ["carve-rough", "channel-roughed", "the channel is cut from the roughed back"],
    ["channel-roughed", "filler-level", "the strip is glued into the channel first"],
    ["filler-level", "carve-finish", "the finishing rows are planned for what roughing leaves"],
    ["carve-rough", "back-flats", "the flats' passes are planned for what roughing leaves"],
    ["carve-rough", "carve-finish", "the finishing rows are planned for what roughing leaves"],
    ["carve-finish", "carve-rest", "the smaller cutter's rows are planned for what the larger one leaves"],
    ["outline-rough", "outline-through", "the clean laps are planned for the thin strip that roughing leaves"],
  ],
};

/** Cuts that take away what holds the piece: last on their side. */
const HOLDS: Readonly<Record<SideName, readonly string[]>> = {
  board: ["board-outline-rough", "board-outline"],
  carve: ["carve-outline-rough", "carve-outline-through"],
};

const idOf = (s: WorkStep): string | null => (s.kind === "cut" ? s.cut : null);

/** One side's cuts and steps as the order arranges them, with what the checks say of that. */
export function arrangeWork(
  side: SideName,
  work: WorkSpec | undefined,
  cuts: readonly Cut[],
  steps: readonly WorkStep[],
): { readonly cuts: readonly Cut[]; readonly steps: readonly WorkStep[]; readonly findings: readonly Finding[] } {
  if (work === undefined) return { cuts, steps, findings: [] };
  const findings: Finding[] = [];
  const outCuts = [...cuts];
  let out = [...steps];
  const here = (id: string): boolean => (id.startsWith("carve-") ? side === "carve" : side === "board");
  const known = (key: string, id: string): boolean => {
    if (out.some((s) => idOf(s) === id)) return true;
    findings.push(
      finding(PA.unknownCut, {
        where: `cutting.work.${key}`,
        value: id,
        limit: null,
        unit: "",
        says: `The ${side} side has no cut "${id}".`,
        tryThis: `Name one of ${cuts.map((c) => c.id).join(", ")}.`,
      }),
    );
    return false;
  };
  for (const id of work.drop ?? []) {
    if (!here(id) || !known("drop", id)) continue;
    out = out.filter((s) => idOf(s) !== id);
    const at = outCuts.findIndex((c) => c.id === id);
    const [cut] = outCuts.splice(at, 1);
    findings.push(
      finding(PA.dropped, {
        where: id,
        value: null,
        limit: null,
        unit: "",
        says: `The cut "${cut.title}" is left out, as the order asks: its wood stays, for other cuts and for hands.`,
        tryThis: "Look at the proof: what it says is left is left by this, unless another cut takes it.",
      }),
    );
  }
  for (const { cut, before } of work.before ?? []) {
    if (!here(cut) || !known("before", cut) || !known("before", before)) continue;
    const from = out.findIndex((s) => idOf(s) === cut);
    const [step] = out.splice(from, 1);
    const to = out.findIndex((s) => idOf(s) === before);
    const { stage } = out[to];
    out.splice(to, 0, { ...step, ...(stage === undefined ? {} : { stage }) });
  }
  for (const id of work.again ?? []) {
    if (!here(id) || !known("again", id)) continue;
    const cut = outCuts.find((c) => c.id === id) as Cut;
    let n = 2;
    while (outCuts.some((c) => c.id === `${id}-${n}`)) n++;
    const copy: Cut = {
      ...cut,
      id: `${id}-${n}`,
      title: `${cut.title}, again`,
      why: "Run again, as the order asks: it takes what bend has left.",
    };
    outCuts.push(copy);
    const at = out.findIndex((s) => idOf(s) === id);
    out.splice(at + 1, 0, { ...out[at], kind: "cut", cut: copy.id } as WorkStep);
  }
  return { cuts: outCuts, steps: out, findings: [...findings, ...checkOrder(side, out)] };
}

/** What stands where it should not, judged by the steps alone. */
export function checkOrder(side: SideName, steps: readonly WorkStep[]): Finding[] {
  const out: Finding[] = [];
  const ids = steps.flatMap((s) => (s.kind === "cut" ? [s.cut] : []));
  const plain = (id: string): string => id.replace(/-\d+$/, "");
  const isHold = (id: string): boolean => HOLDS[side].includes(plain(id));
  const holds = ids.findIndex(isHold);
  const after = holds < 0 ? [] : ids.slice(holds + 1).filter((id) => !isHold(id));
  if (after.length > 0)
    out.push(
      finding(PA.holdsLast, {
        where: ids[holds],
        value: after.join(", "),
        limit: null,
        unit: "",
        says: `The outline is cut before ${after.join(", ")}: what holds the piece is gone when they are cut.`,
        tryThis: "Cut the outline last on its side.",
      }),
    );
  for (const [before, later, why] of NEEDS[side]) {
    const a = ids.indexOf(`${side}-${before}`);
    const b = ids.indexOf(`${side}-${later}`);
    if (a < 0 || b < 0 || a < b) continue;
    out.push(
      finding(PA.needsBefore, {
        where: `${side}-${later}`,
        value: `${side}-${before}`,
        limit: null,
        unit: "",
        says: `${side}-${later} is cut before ${side}-${before}, but ${why}.`,
        tryThis: `Move ${side}-${before} before it.`,
      }),
    );
  }
  return out;
}

/** Both sides' steps in the order of work: by stage, otherwise as they stand. */
export function inStages(steps: readonly WorkStep[]): WorkStep[] {
  const stage = (s: WorkStep): number => s.stage ?? 1;
  return [...steps.filter((s) => stage(s) === 1), ...steps.filter((s) => stage(s) !== 1)];
}
