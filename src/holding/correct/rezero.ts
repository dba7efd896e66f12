import type { Mm } from "../../units/index.ts";
import type { Found } from "./types.ts";

/*
 * The zero found again after a lost step or a switched-off machine: features of known place are touched, and what the machine shows there is
 * held against where the program has them. The difference is how far the zero is off.
 */

/** One feature: where the program has it and where it was found; axes that were not touched are null. */
export interface Refound {
  readonly name: string;
  readonly told: readonly [Mm | null, Mm | null, Mm | null];
  readonly found: readonly [Mm | null, Mm | null, Mm | null];
}

export interface Rezero {
  readonly offset: readonly [Mm, Mm, Mm];
  /** Axes that something was touched on. */
  readonly axes: readonly [boolean, boolean, boolean];
  /** How far the readings of one axis lie apart, mm. */
  readonly spread: Mm;
}

/** A zero further off than this is not lost but never set; and readings that disagree by more are wrong, or the piece has moved. */
const MOST: Mm = 10;
const MOST_Z: Mm = 3;
const AGREE: Mm = 0.3;

const refuse = (says: string, tryThis: string): Found<Rezero> => ({ ok: false, says, tryThis });

export function rezero(features: readonly Refound[]): Found<Rezero> {
  const by: { readonly name: string; readonly d: Mm }[][] = [[], [], []];
  for (const f of features)
    for (const a of [0, 1, 2]) {
      const [told, found] = [f.told[a], f.found[a]];
      if (told === null || told === undefined || found === null || found === undefined) continue;
      const d = found - told;
      const most = a === 2 ? MOST_Z : MOST;
      if (!(Math.abs(d) <= most))
        return refuse(
          `${f.name} was found ${Math.abs(d).toFixed(1)} mm from where the program has it along ${"XYZ"[a]}; more than ${most} mm is no lost step`,
          "look whether the right feature was touched, in millimetres, in the program's work offset (G54); else set the zero anew as the sheet says",
        );
      by[a].push({ name: f.name, d });
    }
  if (by.every((b) => b.length === 0)) return refuse("no feature was found again", 'name one, like --found "edge=0.35"');
  // two places far apart also say whether the piece has turned
  const places = features.filter((f) => f.told[0] !== null && f.told[1] !== null && f.found[0] !== null && f.found[1] !== null);
  for (const [i, p] of places.entries())
    for (const q of places.slice(i + 1)) {
      const told = [q.told[0]! - p.told[0]!, q.told[1]! - p.told[1]!];
      const found = [q.found[0]! - p.found[0]!, q.found[1]! - p.found[1]!];
      const apart = Math.hypot(...(found as [number, number])) - Math.hypot(...(told as [number, number]));
      if (Math.abs(apart) > AGREE)
        return refuse(
          `${p.name} and ${q.name} were found ${Math.abs(apart).toFixed(2)} mm ${apart > 0 ? "further apart" : "nearer to each other"} than they were bored`,
          "touch both again; if they were swapped, name them the other way round",
        );
      const across = (told[0] * found[1] - told[1] * found[0]) / Math.max(1e-9, Math.hypot(told[0], told[1]));
      if (Math.abs(across) > AGREE)
        return refuse(
          `between ${p.name} and ${q.name} the piece lies askew by ${Math.abs(across).toFixed(2)} mm: it has moved, not only the zero`,
          "push it back against its pins, clamp it, and touch both again",
        );
    }
  let spread = 0;
  const offset = by.map((b) => {
    if (b.length === 0) return 0;
    const low = b.reduce((m, r) => (r.d < m.d ? r : m));
    const high = b.reduce((m, r) => (r.d > m.d ? r : m));
    spread = Math.max(spread, high.d - low.d);
    return b.reduce((s, r) => s + r.d, 0) / b.length;
  });
  if (spread > AGREE) {
    const a = by.findIndex((b) => b.length > 1 && Math.max(...b.map((r) => r.d)) - Math.min(...b.map((r) => r.d)) === spread);
    const names = by[a]!.map((r) => `${r.name} ${r.d.toFixed(2)}`).join(", ");
    return refuse(
      `along ${"XYZ"[a]} the readings do not agree (${names} mm)`,
      "touch them again; one of them is wrong, or the piece has moved",
    );
  }
  const round = (v: number): number => Math.round(v * 1e4) / 1e4;
  return {
    ok: true,
    value: {
      offset: [round(offset[0]!), round(offset[1]!), round(offset[2]!)],
      axes: [by[0]!.length > 0, by[1]!.length > 0, by[2]!.length > 0],
      spread,
    },
  };
}
