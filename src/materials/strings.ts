import { type Cents, type MegaPascal, MM_PER_INCH, type Mm, type Newton } from "../units/index.ts";

/*
 * Pitch, tension, stiffness and stress of strings. Lengths in mm, unit weights in kg/m, frequencies in Hz.
 */

/** ISO 16:1975, standard tuning frequency. */
export const A4 = 440;

const SEMITONES: Readonly<Record<string, number>> = { C: 0, D: 2, E: 4, F: 5, G: 7, A: 9, B: 11 };

/** Frequency (Hz) of a note in twelve-tone equal temperament: "E2", "F#3", "Bb1". Throws a RangeError for anything else. */
export function noteFrequency(note: string, a4: number = A4): number {
  const match = /^([A-G])(#|b)?(-?\d)$/.exec(note.trim());
  if (!match) throw new RangeError(`note "${note}": must be a letter A to G, # or b if any, and an octave, like "E2" or "Bb3"`);
  const shift = match[2] === "#" ? 1 : match[2] === "b" ? -1 : 0;
  const fromA4 = SEMITONES[match[1]] + shift + 12 * Number(match[3]) - (9 + 12 * 4);
  return a4 * 2 ** (fromA4 / 12);
}

/** Interval between two frequencies in cents, positive when `to` is higher. */
export function centsBetween(from: number, to: number): Cents {
  return 1200 * Math.log2(to / from);
}

/** Tension (N) that brings a string to pitch: T = (2 L f)^2 mu (exact for an ideal string between rigid ends). */
export function tension(length: Mm, frequency: number, unitWeight: number): Newton {
  return (2 * (length / 1000) * frequency) ** 2 * unitWeight;
}

/** Pitch (Hz) of an ideal string: the same law solved for f. */
export function stringFrequency(length: Mm, force: Newton, unitWeight: number): number {
  return Math.sqrt(force / unitWeight) / (2 * (length / 1000));
}

/** A round string's wire. */
export interface Wire {
  /** kg/m3 */
  readonly density: number;
  /** Young's modulus. */
  readonly modulus: MegaPascal;
  readonly source: string;
}

/** Music wire. 7850 kg/m3 and 200 GPa are common alternatives (from memory); they raise tension by 0.6 % and stiffness by 5 %. */
export const MUSIC_WIRE: Wire = { density: 7800, modulus: 190_000, source: "ASTM A228 music wire, published property page" };

/** Unit weight (kg/m) of a plain round string: rho pi d^2 / 4. */
export function plainUnitWeight(diameter: Mm, density: number = MUSIC_WIRE.density): number {
  return (density * Math.PI * (diameter / 1000) ** 2) / 4;
}

/**
 * Unit weight (kg/m) of a string with one tight layer of round wrap on a round core: the core plus rho pi^2 w (c + w) / 4,
 * a wrap of diameter w touching itself once per w of length (geometry of the helix, its slope neglected). An estimate: it knows
 * neither hexagonal cores nor flattened wraps. A weight given by the string's maker goes before it.
 */
export function woundUnitWeight(core: Mm, outside: Mm, coreDensity: number, wrapDensity: number): number {
  if (!(outside >= core && core > 0))
    throw new RangeError(`core ${core} mm, outside ${outside} mm: the outside must not be thinner than the core`);
  const c = core / 1000;
  const w = (outside / 1000 - c) / 2;
  return plainUnitWeight(core, coreDensity) + (wrapDensity * Math.PI * Math.PI * w * (c + w)) / 4;
}

/**
 * Inharmonicity B of a stiff round string in the convention f_n = n f0 sqrt(1 + B n^2): B = pi^3 E d^4 / (64 T L^2).
 * H. Fletcher, J. Acoust. Soc. Am. 36, 203 (1964); N. H. Fletcher and T. D. Rossing, The Physics of Musical Instruments, 2nd ed., section 2.18.
 * Other texts define B with pi^2, or by the bending term of the boundary (intonation.ts); those numbers differ.
 * d is the diameter of what bends: the core alone for a wound string.
 */
export function inharmonicity(diameter: Mm, modulus: MegaPascal, force: Newton, length: Mm): number {
  return (Math.PI ** 3 * modulus * diameter ** 4) / (64 * force * length * length);
}

/** How much sharper the n-th partial lies than n times the first: 600 log2((1 + B n^2) / (1 + B)). */
export function partialCents(b: number, n: number): Cents {
  return 600 * Math.log2((1 + b * n * n) / (1 + b));
}

/** Tensile stress (MPa) of a string: tension over the area of what carries it (the core's diameter for a wound string). */
export function stringStress(force: Newton, diameter: Mm): MegaPascal {
  return force / ((Math.PI * diameter * diameter) / 4);
}

const MPA_PER_KSI = 6.894757293168;
const A228_SOURCE = "ASTM A228 tensile requirements, table seen in a wire maker's copy";

/** Tensile strength of music wire by diameter. Only the rows that were seen. */
export const MUSIC_WIRE_STRENGTH: readonly {
  readonly diameter: Mm;
  readonly min: MegaPascal;
  readonly max: MegaPascal;
  readonly source: string;
}[] = [
  [0.009, 393, 434],
  [0.01, 387, 428],
  [0.011, 382, 422],
  [0.012, 377, 417],
  [0.013, 373, 412],
  [0.016, 362, 400],
  [0.018, 356, 393],
].map(([inches, min, max]) => ({ diameter: inches * MM_PER_INCH, min: min * MPA_PER_KSI, max: max * MPA_PER_KSI, source: A228_SOURCE }));

/** Least tensile strength (MPa) of music wire of that diameter, linear between rows; undefined outside the rows seen. */
export function musicWireStrength(diameter: Mm): MegaPascal | undefined {
  const rows = MUSIC_WIRE_STRENGTH;
  for (let i = 0; i < rows.length; i++) {
    if (Math.abs(diameter - rows[i].diameter) < 1e-9) return rows[i].min;
    if (i > 0 && diameter > rows[i - 1].diameter && diameter < rows[i].diameter) {
      const t = (diameter - rows[i - 1].diameter) / (rows[i].diameter - rows[i - 1].diameter);
      return rows[i - 1].min + t * (rows[i].min - rows[i - 1].min);
    }
  }
  return undefined;
}

/** Balance of a set: the whole pull and each string's tension over the mean. */
export function balance(tensions: readonly Newton[]): {
  readonly total: Newton;
  readonly mean: Newton;
  readonly ratios: readonly number[];
} {
  if (tensions.length === 0) throw new RangeError("no strings: a balance needs at least one tension");
  const total = tensions.reduce((sum, t) => sum + t, 0);
  const mean = total / tensions.length;
  return { total, mean, ratios: tensions.map((t) => t / mean) };
}
