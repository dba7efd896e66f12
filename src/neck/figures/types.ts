import type { StringModel } from "../../materials/intonation.ts";
import type { Cents, Finding, Mm, Newton, Rad } from "../../units/index.ts";

/** One answer to a question a maker asks before touching wood: a value with the band it may lie in. */
export interface Figure {
  readonly id: string; // "relief", "mass", ...
  readonly what: string;
  readonly unit: string;
  readonly value: number;
  /** How far the value moves when wood and dimensions move within their usual spread. */
  readonly low: number;
  readonly high: number;
  /** Where the formula or the assumption comes from. */
  readonly source: string;
  /** True: one of the few that a short list shows. */
  readonly short?: true;
}

/** How far what the figures are made from may lie off: half widths, or coefficients of variation where it says so. */
export interface Tolerances {
  /** Thickness of the neck after sanding. */
  readonly thickness: Mm;
  /** Any other length and width. */
  readonly dimension: Mm;
  /** A string's height over the frets. */
  readonly height: Mm;
  /** Fraction of a plain string's unit weight, and of one that was given. */
  readonly plainWeight: number;
  /** Fraction of a unit weight that was estimated from a diameter. */
  readonly woundWeight: number;
  /** Fraction of a pull or a gauge that was only assumed. */
  readonly assumed: number;
  /** Fraction of a string's modulus. */
  readonly stringModulus: number;
  /** Coefficients of variation of wood: modulus, bending strength, gravity, shrinkage. */
  readonly moe: number;
  readonly mor: number;
  readonly gravity: number;
  readonly shrinkage: number;
  /** Angle of the grain. */
  readonly grain: Rad;
}

/** One string as the figures take it; 1 is the treble-most. */
export interface StringAnswer {
  readonly string: number;
  /** "E2", or hertz. */
  readonly pitch: string;
  readonly hertz: number;
  readonly diameter: Mm;
  /** Diameter of what bears the pull. */
  readonly core: Mm;
  readonly wound: boolean;
  /** kg/m. */
  readonly unitWeight: number;
  readonly scale: Mm;
  readonly tension: Newton;
  /** Fraction by which the tension may be off. */
  readonly spread: number;
  readonly model: StringModel;
  /** True: the gauge was not in the order. */
  readonly assumed: boolean;
  /** Where nut and saddle should stand, from their nominal places: saddle away from the nut, nut away from the saddle. */
  readonly both: { readonly saddle: Mm; readonly nut: Mm };
  /** The saddle alone, the nut where it is. */
  readonly saddleOnly: Mm;
  /** Error by fret, 1 first: neither moved, the saddle alone, both. */
  readonly before: readonly Cents[];
  readonly afterSaddle: readonly Cents[];
  readonly after: readonly Cents[];
  /** What a nut slot a tenth of a millimetre too high costs at each fret. */
  readonly nutHigh: readonly Cents[];
}

/** A quantity along the neck, with its band, for a chart. */
export interface AlongNeck {
  readonly id: "relief" | "stiffness" | "girth" | "area";
  readonly what: string;
  readonly unit: string;
  readonly xs: readonly Mm[];
  readonly value: readonly number[];
  readonly low: readonly number[];
  readonly high: readonly number[];
}

/** The headstock's root in one way of building it: how much of the wood's strength the strings use. */
export interface HeadWay {
  readonly way: "one piece" | "scarfed" | "laminated";
  /** True: the way this order is built. */
  readonly ordered: boolean;
  readonly grain: Rad;
  /** MPa. */
  readonly stress: number;
  readonly strength: number;
  /** Of an average piece and of a weak one, percent. */
  readonly use: number;
  readonly useWeak: number;
}

/** What another wood would do to mass and balance. */
export interface WoodChoice {
  readonly part: "shaft" | "board";
  readonly wood: string;
  readonly ordered: boolean;
  readonly grams: number;
  readonly balance: Mm;
  /** Of the whole neck's bending stiffness at fret 5, against the ordered wood's. */
  readonly stiffness: number;
}

export interface Figures {
  readonly figures: readonly Figure[];
  readonly findings: readonly Finding[];
  /** Treble-most first; empty when pitches or gauges are not known. */
  readonly strings: readonly StringAnswer[];
  readonly along: readonly AlongNeck[];
  readonly heads: readonly HeadWay[];
  readonly woods: readonly WoodChoice[];
}
