import type { Cents, MegaPascal, Mm, Newton } from "../units/index.ts";

/*
 * How far a fretted string sounds from its equal-tempered pitch, and where nut and saddle should stand instead.
 * Model: "Classical guitar intonation and compensation", J. Acoust. Soc. Am. 156(1), 683 (2024): the string is longer when pressed
 * down (tension rises by kappa Q), its vibrating length is that from fret to saddle, and it is stiff. Symbols as there; lengths in mm.
 *
 *   nut .______________ fret n      saddle     b  string above the fret plane at the nut
 *      b|      d <-| . . . . . . . .|          c  saddle higher than the nut by c
 *       |___________|_______________|b+c       d  the finger presses d behind the fret
 */
export interface StringModel {
  /** Nominal scale X0. */
  readonly scale: Mm;
  readonly b: Mm;
  readonly c: Mm;
  readonly d: Mm;
  /** kappa = pi rho^2 E / T0: relative rise of tension per relative stretch. */
  readonly kappa: number;
  /** B0 of this model: f_q = (q/2L) sqrt(T/mu) [1 + B + (1 + q^2 pi^2/2) B^2]. Not Fletcher's inharmonicity (that is pi^2 B0^2). */
  readonly stiffness: number;
}

/** Saddle and nut set-back from their nominal places: saddle positive away from the nut, nut positive away from the saddle. */
export interface Setback {
  readonly saddle: Mm;
  readonly nut: Mm;
}

export const NO_SETBACK: Setback = { saddle: 0, nut: 0 };

/** Builds the model of a string from its wire (for a wound string: its core) and its tension. */
export function stringModel(string: {
  readonly scale: Mm;
  readonly diameter: Mm;
  readonly modulus: MegaPascal;
  readonly tension: Newton;
  readonly b: Mm;
  readonly c: Mm;
  readonly d: Mm;
}): StringModel {
  const rho = string.diameter / 2;
  const kappa = (Math.PI * rho * rho * string.modulus) / string.tension;
  const { scale, b, c, d } = string;
  return { scale, b, c, d, kappa, stiffness: (Math.sqrt(kappa) * rho) / (2 * Math.hypot(scale, c)) };
}

const RATIOS: readonly number[] = Array.from({ length: 61 }, (_, n) => 2 ** (n / 12));
const fretRatio = (n: number): number => RATIOS[n] ?? 2 ** (n / 12);

/** Quicker than Math.hypot, and lengths of strings neither overflow nor vanish. */
const hypotenuse = (a: Mm, b: Mm): Mm => Math.sqrt(a * a + b * b);

/** Lengths of the paper: the open string, fret to saddle, and the whole string when pressed at fret n. */
function lengths(m: StringModel, s: Setback, n: number): { open: Mm; sounding: Mm; pressed: Mm } {
  const xn = m.scale / fretRatio(n);
  const toSaddle = xn + s.saddle;
  const open = hypotenuse(m.scale + s.saddle + s.nut, m.c);
  const sounding = hypotenuse(toSaddle, m.b + m.c);
  const behind = (sounding / toSaddle) * m.d + hypotenuse(m.scale - xn + s.nut - m.d, m.b + ((m.b + m.c) * m.d) / toSaddle);
  return { open, sounding, pressed: sounding + behind };
}

/** Q_n: how much longer the string is when pressed at fret n, as a fraction of the open string. */
export function stretch(m: StringModel, s: Setback, n: number): number {
  const l = lengths(m, s, n);
  return (l.pressed - l.open) / l.open;
}

/** The four parts of the error at fret n, in cents; their sum is exact within the model. */
export interface CentsParts {
  readonly length: Cents;
  readonly density: Cents;
  readonly tension: Cents;
  readonly stiffness: Cents;
  readonly total: Cents;
}

/** Error of fret n (n >= 1), positive sharp, against n equal-tempered semitones above the open string as tuned. */
export function fretCents(m: StringModel, s: Setback, n: number): CentsParts {
  const l = lengths(m, s, n);
  const q = (l.pressed - l.open) / l.open;
  const rise = 1 + m.kappa * q;
  const bracket = (b: number): number => 1 + b + (1 + Math.PI ** 2 / 2) * b * b;
  const bn = (m.stiffness * (l.open / l.sounding)) / Math.sqrt(rise);
  const length = 1200 * Math.log2(l.open / (fretRatio(n) * l.sounding));
  const density = 600 * Math.log2(1 + q);
  const tension = 600 * Math.log2(rise);
  const stiffness = 1200 * Math.log2(bracket(bn) / bracket(m.stiffness));
  return { length, density, tension, stiffness, total: length + density + tension + stiffness };
}

const BRACKET = 1 + Math.PI ** 2 / 2;

/** The total of fretCents in one logarithm: what is asked thousands of times while a set-back is sought. */
export function fretError(m: StringModel, saddle: Mm, nut: Mm, n: number): Cents {
  // as `lengths`, without an object for each call
  const { scale, b, c, d, kappa, stiffness } = m;
  const ratio = fretRatio(n);
  const xn = scale / ratio;
  const toSaddle = xn + saddle;
  const open = hypotenuse(scale + saddle + nut, c);
  const sounding = hypotenuse(toSaddle, b + c);
  const pressed = sounding + (sounding / toSaddle) * d + hypotenuse(scale - xn + nut - d, b + ((b + c) * d) / toSaddle);
  const q = (pressed - open) / open;
  const rise = 1 + kappa * q;
  const bn = (stiffness * (open / sounding)) / Math.sqrt(rise);
  const stiff = (1 + bn + BRACKET * bn * bn) / (1 + stiffness + BRACKET * stiffness * stiffness);
  return 1200 * Math.log2((open / (ratio * sounding)) * Math.sqrt((1 + q) * rise) * stiff);
}

/** Set-back by the paper's simple formula: Delta S = B0 X0, Delta N = -kappa X0 Qmean / 2 with its closed mean over twelve frets (d = 0). */
export function simpleSetback(m: StringModel): Setback {
  const { b, c, scale } = m;
  const q = (77.9 * b * b + 35.6 * b * c + 5.82 * c * c) / (24 * scale * scale);
  return { saddle: m.stiffness * scale, nut: (-m.kappa * scale * q) / 2 };
}

/** sigma_k of the paper: the sum over frets 1 to `frets` of (gamma_n - 1)^k. */
export function sigma(k: number, frets: number = 12): number {
  let sum = 0;
  for (let n = 1; n <= frets; n++) sum += (fretRatio(n) - 1) ** k;
  return sum;
}

/**
 * Set-back that makes the sum of squared errors over frets 1 to `frets` least, by the paper's closed form (stretch taken without
 * set-back). `quadratic` false leaves out the second order of the stiffness.
 */
export function rmsSetback(m: StringModel, frets: number = 12, quadratic: boolean = true): Setback {
  const s0 = sigma(0, frets);
  const s1 = sigma(1, frets);
  const s2 = sigma(2, frets);
  const s3 = sigma(3, frets);
  let q0 = 0;
  let q1 = 0;
  for (let n = 1; n <= frets; n++) {
    const q = stretch(m, NO_SETBACK, n);
    q0 += q;
    q1 += (fretRatio(n) - 1) * q;
  }
  const b = m.stiffness;
  const second = quadratic ? ((1 + Math.PI ** 2) / 2) * b * b : 0;
  const v0 = s2 * b + 0.5 * m.kappa * q1 + second * (2 * s2 + s3);
  const v1 = s1 * b + 0.5 * m.kappa * q0 + second * (2 * s1 + s2);
  const k = m.scale / (s1 * s1 - s0 * s2);
  return { saddle: k * (-s0 * v0 + s1 * v1), nut: k * (-s1 * v0 + s2 * v1) };
}

/**
 * Set-back with the least sum of squares of the exact errors over frets 1 to `frets`, by Gauss-Newton steps from the closed
 * form. `keepNut` leaves the nut where it is and moves the saddle alone, as on an instrument with a plain nut.
 */
export function leastSquaresSetback(m: StringModel, frets: number = 12, keepNut: boolean = false): Setback {
  let at: Setback = keepNut ? { saddle: m.stiffness * m.scale, nut: 0 } : rmsSetback(m, frets);
  const h = 1e-4;
  for (let step = 0; step < 20; step++) {
    let ss = 0;
    let sn = 0;
    let nn = 0;
    let sr = 0;
    let nr = 0;
    for (let n = 1; n <= frets; n++) {
      const r = fretError(m, at.saddle, at.nut, n);
      const ds = (fretError(m, at.saddle + h, at.nut, n) - r) / h;
      const dn = keepNut ? 0 : (fretError(m, at.saddle, at.nut + h, n) - r) / h;
      ss += ds * ds;
      sn += ds * dn;
      nn += dn * dn;
      sr += ds * r;
      nr += dn * r;
    }
    const det = keepNut ? ss : ss * nn - sn * sn;
    const saddle = keepNut ? sr / det : (nn * sr - sn * nr) / det;
    const nut = keepNut ? 0 : (ss * nr - sn * sr) / det;
    at = { saddle: at.saddle - saddle, nut: at.nut - nut };
    // each step leaves less than a hundredth of the error before it
    if (Math.abs(saddle) + Math.abs(nut) < 1e-7) break;
  }
  return at;
}

/** Root of the mean squared error over frets 1 to `frets`. */
export function rmsCents(m: StringModel, s: Setback, frets: number = 12): Cents {
  let sum = 0;
  for (let n = 1; n <= frets; n++) sum += fretError(m, s.saddle, s.nut, n) ** 2;
  return Math.sqrt(sum / frets);
}

/** Cost of a fret n that lies dx nearer the bridge than it should: 1200 log2(Ln / (Ln - dx)), Ln = scale 2^(-n/12); positive sharp. */
export function centsOfFretError(scale: Mm, n: number, dx: Mm): Cents {
  const sounding = scale / fretRatio(n);
  if (!(dx < sounding)) throw new RangeError(`fret error ${dx} mm: must stay short of the bridge, ${sounding} mm away`);
  return 1200 * Math.log2(sounding / (sounding - dx));
}

/**
 * Cost at fret n of an axis that moves `percent` too far per asked distance, the nut lying right and the bridge where the drawing
 * has it: the fret lies (1 + percent/100) times its distance from the nut.
 */
export function centsOfAxisScale(scale: Mm, n: number, percent: number): Cents {
  return centsOfFretError(scale, n, (scale - scale / fretRatio(n)) * (percent / 100));
}

/**
 * How far the saddle must move away from the nut to take that error away whole: frets that are all (1 + percent/100) too far make a
 * true fretboard of a scale that much longer.
 */
export function saddleForAxisScale(scale: Mm, percent: number): Mm {
  return (scale * percent) / 100;
}

/** Cost at fret n of a nut slot that is `tooHigh` (mm) above where the model has it, the saddle staying where it is. */
export function centsOfNutHeight(m: StringModel, s: Setback, n: number, tooHigh: Mm): Cents {
  const raised: StringModel = { ...m, b: m.b + tooHigh, c: m.c - tooHigh };
  return fretError(raised, s.saddle, s.nut, n) - fretError(m, s.saddle, s.nut, n);
}
