import {
  centsOfNutHeight,
  fretError,
  leastSquaresSetback,
  NO_SETBACK,
  type Setback,
  type StringModel,
  stringModel,
} from "../../materials/intonation.ts";
import {
  A4,
  balance,
  MUSIC_WIRE,
  musicWireStrength,
  noteFrequency,
  plainUnitWeight,
  stringStress,
  tension,
  type Wire,
  woundUnitWeight,
} from "../../materials/strings.ts";
import { setupOf } from "../../spec/setup.ts";
import { type Finding, finding, type Mm, type Newton } from "../../units/index.ts";
import type { Neck } from "../types.ts";
import { NF } from "./rules.ts";
import { between, plusMinus, together, within } from "./tolerances.ts";
import type { Figure, StringAnswer, Tolerances } from "./types.ts";

/* Strings: what they pull, how they are stressed, and how far every fret sounds from its pitch. */

const IN = 25.4;
interface UsualSet {
  readonly pitches: readonly string[];
  readonly gauges: readonly Mm[];
}
/** Usual tunings and gauges, bass to treble (common practice, no source; the ukulele's gauges from memory). */
const USUAL: Readonly<Record<string, UsualSet>> = {
  "guitar 6": {
    pitches: ["E2", "A2", "D3", "G3", "B3", "E4"],
    gauges: [0.046, 0.036, 0.026, 0.017, 0.013, 0.01].map((d) => d * IN),
  },
  "guitar 7": {
    pitches: ["B1", "E2", "A2", "D3", "G3", "B3", "E4"],
    gauges: [0.06, 0.046, 0.036, 0.026, 0.017, 0.013, 0.01].map((d) => d * IN),
  },
  "bass 4": { pitches: ["E1", "A1", "D2", "G2"], gauges: [0.105, 0.085, 0.065, 0.045].map((d) => d * IN) },
  "bass 5": { pitches: ["B0", "E1", "A1", "D2", "G2"], gauges: [0.13, 0.105, 0.085, 0.065, 0.045].map((d) => d * IN) },
  "ukulele 4": { pitches: ["G4", "C4", "E4", "A4"], gauges: [0.61, 0.91, 0.79, 0.61] },
};
/** Pull of one string where pitches or gauges are not known (common practice, no source). */
const USUAL_PULL: Readonly<Record<string, Newton>> = { guitar: 75, bass: 180, ukulele: 45, other: 70 };
/** Steel strings thicker than this are wound; their core is this part of the outside, their wrap nickel-plated steel (from memory). */
const WOUND_ABOVE: Mm = 0.5;
const CORE_SHARE = 0.4;
const WRAP_DENSITY = 7900;
/** Nylon under a string's pull. From memory; the modulus is of the order that a published kappa of about 50 stands for. */
const NYLON: Wire = { density: 1140, modulus: 5000, source: "nylon, from memory, not looked up" };

const INTONATION_SOURCE =
  "J. Acoust. Soc. Am. 156(1), 683 (2024): stretch, length and stiffness; string heights by the order's set-up; over frets 1 to 12";

/** The strings as far as the order tells; null when pitches or gauges are not known. */
export function answersOf(neck: Neck, tol: Tolerances): StringAnswer[] | null {
  const { strings: spec, instrument } = neck.order;
  const usual = USUAL[`${instrument} ${spec.count}`];
  const given = spec.gauges ?? (spec.diameters.length === spec.count ? spec.diameters : undefined);
  const pitches = spec.pitches ?? usual?.pitches;
  const gauges = given ?? usual?.gauges;
  if (!pitches || !gauges || pitches.length !== spec.count || gauges.length !== spec.count) return null;
  const nylon = (spec.material ?? (instrument === "ukulele" ? "nylon" : "steel")) === "nylon";
  const wire = nylon ? NYLON : MUSIC_WIRE;
  const { nut, twelfth, finger } = setupOf(neck.order);
  const frets = neck.order.frets.count;
  return gauges.map((diameter, i) => {
    const string = spec.count - i;
    const pitch = pitches[i];
    const hertz = typeof pitch === "number" ? pitch : noteFrequency(pitch);
    const core = Math.min(diameter, spec.cores?.[i] ?? (!nylon && diameter > WOUND_ABOVE ? CORE_SHARE * diameter : diameter));
    const wound = core < diameter - 1e-9;
    const weighed = spec.unitWeights?.[i];
    const unitWeight =
      weighed !== undefined
        ? weighed / 1000
        : wound
          ? woundUnitWeight(core, diameter, wire.density, WRAP_DENSITY)
          : plainUnitWeight(diameter, wire.density);
    const scale = neck.scaleOf(string);
    const pull = tension(scale, hertz, unitWeight);
    const own = weighed === undefined && wound ? tol.woundWeight : tol.plainWeight;
    const model = stringModel({
      scale,
      diameter: core,
      modulus: wire.modulus,
      tension: pull,
      b: nut,
      c: 2 * (twelfth - nut),
      d: finger,
    });
    const over = Math.max(1, Math.min(12, frets));
    const both = leastSquaresSetback(model, over);
    const alone = leastSquaresSetback(model, over, true);
    const at = (s: Setback): number[] => Array.from({ length: frets }, (_, n) => fretError(model, s.saddle, s.nut, n + 1));
    return {
      string,
      pitch: typeof pitch === "number" ? `${pitch} Hz` : pitch,
      hertz,
      diameter,
      core,
      wound,
      unitWeight,
      scale,
      tension: pull,
      spread: given ? own : together(own, tol.assumed),
      model,
      assumed: !given,
      both,
      saddleOnly: alone.saddle,
      before: at(NO_SETBACK),
      afterSaddle: at(alone),
      after: at(both),
      nutHigh: Array.from({ length: frets }, (_, n) => centsOfNutHeight(model, both, n + 1, 0.1)),
    };
  });
}

/** The pull of all strings, and its figures string by string. */
export function pullOf(
  neck: Neck,
  strings: readonly StringAnswer[] | null,
  tol: Tolerances,
  out: Figure[],
  findings: Finding[],
): { readonly value: Newton; readonly spread: number } {
  const { strings: spec, instrument } = neck.order;
  if (strings === null) {
    const each = USUAL_PULL[instrument];
    const value = each * spec.count;
    out.push(
      within(
        {
          id: "pull",
          what: "pull of all strings",
          unit: "N",
          source: `assumed ${each} N for each string: the order gives no pitches or no gauges (common practice, no source)`,
          short: true,
        },
        value,
        tol.assumed,
      ),
    );
    return { value, spread: tol.assumed };
  }
  const set = balance(strings.map((s) => s.tension));
  const spread = strings.reduce((sum, s) => sum + s.tension * s.spread, 0) / set.total;
  const gauge = strings[0].assumed ? "; gauges assumed, a usual set (common practice, no source)" : "";
  out.push(
    within({ id: "pull", what: "pull of all strings", unit: "N", source: `sum of the tensions${gauge}`, short: true }, set.total, spread),
  );
  strings.forEach((s, i) => {
    const where = s.assumed ? "strings" : `strings.${spec.gauges ? "gauges" : "diameters"}[${i}]`;
    const weight = spec.unitWeights
      ? "unit weight as given"
      : s.wound
        ? "wound: unit weight estimated, core of 0.4 of the diameter unless given (from memory)"
        : "plain: unit weight from the density";
    out.push(
      within(
        {
          id: `tension-${s.string}`,
          what: `tension of string ${s.string}, ${s.pitch}`,
          unit: "N",
          source: `T = (2 L f)^2 mu, A = ${A4} Hz (ISO 16); ${weight}${gauge}`,
        },
        s.tension,
        s.spread,
      ),
    );
    const stress = stringStress(s.tension, s.core);
    const steel = (spec.material ?? (instrument === "ukulele" ? "nylon" : "steel")) === "steel";
    const least = steel ? musicWireStrength(s.core) : undefined;
    out.push(
      within(
        {
          id: `stress-${s.string}`,
          what: `stress in string ${s.string}`,
          unit: "MPa",
          source:
            least === undefined
              ? "tension over the core's area; no row of the tensile table for this wire"
              : `tension over the core's area; the wire's least strength is ${least.toFixed(0)} MPa (ASTM A228 table)`,
        },
        stress,
        together(s.spread, tol.plainWeight),
      ),
    );
    if (least !== undefined && stress > 0.85 * least)
      findings.push(
        finding(NF.overloaded, {
          where,
          value: Math.round(stress),
          limit: Math.round(0.85 * least),
          unit: "MPa",
          says: `String ${s.string} is drawn to ${Math.round((stress / least) * 100)} % of its wire's least strength.`,
          tryThis: "Use a shorter scale, a lower pitch or another string; a thinner one of steel is stressed the same.",
        }),
      );
    const ratio = set.ratios[i];
    if (ratio > 1.75 || ratio < 0.5)
      findings.push(
        finding(NF.balance, {
          where,
          value: Math.round(ratio * 100) / 100,
          limit: ratio > 1 ? 1.75 : 0.5,
          unit: "",
          says: `String ${s.string} pulls ${ratio.toFixed(2)} times the mean of its set.`,
          tryThis: "Look at its pitch, gauge and unit weight; choose another gauge.",
        }),
      );
  });
  const strongest = Math.max(...set.ratios);
  out.push(
    within(
      { id: "balance-of-set", what: "strongest string over the mean", unit: "", source: "tension over the mean of the set" },
      strongest,
      spread,
    ),
  );
  return { value: set.total, spread };
}

const worst = (cents: readonly number[]): number => cents.reduce((a, c) => Math.max(a, Math.abs(c)), 0);

/** Compensation and what is left, string by string. */
export function intonation(neck: Neck, strings: readonly StringAnswer[] | null, tol: Tolerances, out: Figure[], findings: Finding[]): void {
  const { order } = neck;
  if (strings === null || order.frets.count === 0 || order.frets.kind === "none") return;
  const over = Math.min(12, order.frets.count);
  const all = order.frets.count;
  const errors = (m: StringModel, s: Setback): number[] => Array.from({ length: all }, (_, n) => fretError(m, s.saddle, s.nut, n + 1));
  for (const s of strings) {
    // what may be off: heights at the nut and over fret 12, and how stiff the string is against its pull
    const changed = (nut: Mm, twelfth: Mm, share: number): StringModel => ({
      ...s.model,
      b: Math.max(0, s.model.b + nut),
      c: s.model.c + 2 * twelfth - 2 * nut,
      kappa: s.model.kappa * (1 + share),
      stiffness: s.model.stiffness * Math.sqrt(1 + share),
    });
    const stiff = Math.min(0.9, together(tol.stringModulus, s.spread));
    const nominal = { saddle: s.saddleOnly, both: s.both, cents: [s.before, s.afterSaddle, s.after].map(worst) };
    // pairs of what may be off, up and down: the larger move of each counts
    const pairs = [
      [changed(tol.height, 0, 0), changed(-tol.height, 0, 0)],
      [changed(0, tol.height, 0), changed(0, -tol.height, 0)],
      [changed(0, 0, stiff), changed(0, 0, -stiff)],
    ].map((pair) =>
      pair.map((m) => ({
        saddle: leastSquaresSetback(m, over, true).saddle,
        both: leastSquaresSetback(m, over),
        cents: [NO_SETBACK, { saddle: s.saddleOnly, nut: 0 }, s.both].map((set) => worst(errors(m, set))),
      })),
    );
    const spreadOf = (f: (a: typeof nominal) => number): number =>
      together(...pairs.map((pair) => Math.max(...pair.map((m) => Math.abs(f(m) - f(nominal))))));
    const name = `string ${s.string}, ${s.pitch}`;
    const offset = (id: string, what: string, f: (a: typeof nominal) => number): Figure =>
      plusMinus({ id: `${id}-${s.string}`, what: `${what} ${name}`, unit: "mm", source: INTONATION_SOURCE }, f(nominal), spreadOf(f));
    const left = (k: number, id: string, what: string): Figure => {
      const [value, by] = [nominal.cents[k], spreadOf((a) => a.cents[k])];
      const said = { id: `${id}-${s.string}`, what: `largest error of ${name}, ${what}`, unit: "cent", source: INTONATION_SOURCE };
      return between(said, value, [Math.max(0, value - by), value + by]);
    };
    out.push(
      offset("saddle", "saddle back, nut as it is, for", (a) => a.saddle),
      offset("saddle-both", "saddle back, nut moved too, for", (a) => a.both.saddle),
      offset("nut", "nut toward the saddle for", (a) => -a.both.nut),
      left(0, "cents-before", "nothing compensated"),
      left(1, "cents-saddle", "saddle moved"),
      left(2, "cents-after", "saddle and nut moved"),
    );
    if (s.wound || s.assumed) continue;
    const most = worst(s.afterSaddle.slice(0, over));
    if (most > 10)
      findings.push(
        finding(NF.intonation, {
          where: "setup",
          value: Math.round(most * 10) / 10,
          limit: 10,
          unit: "cent",
          says: `With its saddle moved string ${s.string} is still ${most.toFixed(1)} cents off at some fret up to ${over}.`,
          tryThis: "Lower the string at the nut, move the nut too, or choose a string that needs more pull.",
        }),
      );
  }
  const before = Math.max(...strings.map((s) => worst(s.before)));
  const after = Math.max(...strings.map((s) => worst(s.after)));
  const saddle = Math.max(...strings.map((s) => worst(s.afterSaddle)));
  // the worst string is no better than the worst of the lower ends, no worse than the worst of the upper ones
  const ends = (id: string): number[] => {
    const own = out.filter((f) => f.id.startsWith(`${id}-`));
    return [Math.max(0, ...own.map((f) => f.low)), Math.max(...own.map((f) => f.high))];
  };
  const summary = (id: string, what: string, value: number): void => {
    out.push(between({ id, what, unit: "cent", source: INTONATION_SOURCE, short: true }, value, ends(id)));
  };
  summary("cents-before", "largest error of any string, nothing compensated", before);
  summary("cents-saddle", "largest error of any string, saddle moved", saddle);
  summary("cents-after", "largest error of any string, saddle and nut moved", after);
}
