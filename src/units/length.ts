import type { Deg, Mm, MmPerMin, Rad } from "./units.ts";
import { MM_PER_INCH } from "./units.ts";

/*
 * Quantities as people write them, turned into the program's units once, here. A plain number is in the kind's own unit
 * (mm, degrees, mm/min). Nothing is clamped and nothing is guessed: a text that could be read in two ways is refused.
 *
 *   text     = [sign] number [unit]
 *   number   = digits [mark digits] | mark digits | whole " " num "/" den | num "/" den
 *   mark     = "." or ","  (a comma before exactly three digits could also group thousands: refused)
 */

/** What could not be read and why; `expected` says which spellings are understood. */
export interface QuantityError {
  readonly ok: false;
  readonly code: "kind" | "not finite" | "empty" | "unit" | "ambiguous" | "fraction" | "number" | "long";
  /** One sentence that says what is wrong, quoting the text. */
  readonly says: string;
  /** One sentence that says what to write instead. */
  readonly tryThis: string;
}

export type Quantity<T extends number> = { readonly ok: true; readonly value: T } | QuantityError;

type Ratio = readonly [number, number];

/** 25.4 exactly. */
const INCH: Ratio = [127, 5];

interface Kind {
  readonly noun: string;
  /** Unit of a plain number. */
  readonly own: string;
  /** Spelling (lower case) -> one of it in the program's unit, as numerator and denominator so that decimal results are the nearest double. */
  readonly units: ReadonlyMap<string, Ratio>;
  readonly example: string;
}

const LENGTH: Kind = {
  noun: "length",
  own: "mm",
  units: new Map([
    ["mm", [1, 1]],
    ["cm", [10, 1]],
    ["m", [1000, 1]],
    ["in", INCH],
    ["inch", INCH],
    ["inches", INCH],
    ['"', INCH],
    ["''", INCH],
    ["\u2033", INCH],
  ]),
  example: 'a plain number in mm, or a text like "648 mm", "64.8 cm" or "25 1/2 in"',
};

const ANGLE: Kind = {
  noun: "angle",
  own: "deg",
  units: new Map([
    ["deg", [Math.PI, 180]],
    ["degree", [Math.PI, 180]],
    ["degrees", [Math.PI, 180]],
    ["\u00b0", [Math.PI, 180]],
    ["rad", [1, 1]],
  ]),
  example: 'a plain number in degrees, or a text like "12 deg"',
};

const FEED: Kind = {
  noun: "feed",
  own: "mm/min",
  units: new Map([
    ["mm/min", [1, 1]],
    ["mm/s", [60, 1]],
    ["m/min", [1000, 1]],
    ["in/min", INCH],
  ]),
  example: 'a plain number in mm/min, or a text like "3000 mm/min" or "50 mm/s"',
};

/** Longer texts are not numbers that a person wrote. */
const LONGEST = 40;

const SHAPE = /^([+-]?)(\d*)(?:([.,])(\d*))?(?:(\s+)?(\d+)\s*\/\s*(\d+))?\s*([^\d\s.,/+-][^\d]*)?$/u;

function fail(code: QuantityError["code"], kind: Kind, says: string, tryThis?: string): QuantityError {
  return { ok: false, code, says, tryThis: tryThis ?? `Write ${kind.example}.` };
}

const show = (input: unknown): string => {
  if (typeof input === "string") return JSON.stringify(input.length > LONGEST ? `${input.slice(0, LONGEST)}…` : input);
  if (typeof input === "number") return String(input);
  if (input === null) return "null";
  return Array.isArray(input) ? "a list" : `a value of kind ${typeof input}`;
};

function parse(input: unknown, kind: Kind): Quantity<number> {
  const own = kind.units.get(kind.own)!;
  if (typeof input === "number") {
    const value = (input * own[0]) / own[1] + 0; // no negative zero
    if (!Number.isFinite(value)) return fail("not finite", kind, `${show(input)} is not a finite number.`);
    return { ok: true, value };
  }
  if (typeof input !== "string") return fail("kind", kind, `${show(input)} is not a ${kind.noun}.`);
  if (input.length > LONGEST) return fail("long", kind, `${show(input)} is too long for a ${kind.noun}.`);
  const text = input.trim();
  if (text === "") return fail("empty", kind, `An empty text is not a ${kind.noun}.`);

  const m = SHAPE.exec(text);
  if (m === null) return unreadable(text, kind);
  const [, sign, whole, mark, decimals, gap, num, den, unitText] = m as unknown as (string | undefined)[];
  if (num === undefined && whole === "" && !decimals) return unreadable(text, kind);
  const unitName = unitText?.trim().toLowerCase();
  const unit = unitName === undefined ? own : kind.units.get(unitName);
  if (unit === undefined) {
    return fail(
      "unit",
      kind,
      `${show(text)} has a unit that is not understood for this ${kind.noun}.`,
      `Use ${[...kind.units.keys()].filter(ascii).join(", ")}.`,
    );
  }

  let magnitude: number;
  if (num !== undefined && den !== undefined) {
    // "25 1/2 in" has whole and gap; "11/16 in" has neither, its numerator was read greedily as `whole`.
    if (mark !== undefined) return fail("fraction", kind, `${show(text)} mixes a decimal mark with a fraction.`);
    const bare = whole === "" || (gap === undefined && whole !== undefined);
    const top = Number(bare ? `${whole ?? ""}${num}` : num);
    const units = bare ? 0 : Number(whole);
    const bottom = Number(den);
    if (bottom === 0) return fail("fraction", kind, `${show(text)} divides by zero.`);
    if (top >= bottom)
      return fail("fraction", kind, `${show(text)} has a fraction of one or more.`, `Write the whole part first, like "1 11/16 in".`);
    if (unitName === undefined) {
      return fail("fraction", kind, `${show(text)} is a fraction without a unit.`, `Name the unit, like "25 1/2 in".`);
    }
    magnitude = ((units * bottom + top) * unit[0]) / (bottom * unit[1]);
  } else {
    if (mark !== undefined && (decimals === undefined || decimals === "")) return unreadable(text, kind);
    if (mark === "," && decimals!.length === 3 && /^[1-9]\d{0,2}$/.test(whole ?? "")) {
      return fail(
        "ambiguous",
        kind,
        `${show(text)} can be read as ${whole}.${decimals} and as ${whole}${decimals}.`,
        `Write the decimal mark as a point (${whole}.${decimals}), and thousands without a mark (${whole}${decimals}).`,
      );
    }
    magnitude = decimalTimes(whole!, decimals ?? "", unit);
  }
  if (!Number.isFinite(magnitude)) return fail("not finite", kind, `${show(text)} is not a finite number.`);
  return { ok: true, value: sign === "-" ? 0 - magnitude : magnitude };
}

/** whole.decimals times a ratio; the nearest double while the digits and the ratio stay exact integers (15 digits or fewer). */
function decimalTimes(whole: string, decimals: string, unit: Ratio): number {
  const digits = Number(whole + decimals);
  if (digits * unit[0] <= Number.MAX_SAFE_INTEGER && decimals.length <= 20) return (digits * unit[0]) / (10 ** decimals.length * unit[1]);
  return (Number(`${whole || "0"}.${decimals || "0"}`) * unit[0]) / unit[1];
}

const ascii = (s: string): boolean => s.charCodeAt(0) < 128;

function unreadable(text: string, kind: Kind): QuantityError {
  if (/^[+-]?\s*\d[\d\s.,']*\d\D*$/.test(text) && /[.,'\s]\d+[.,'\s]\d/.test(text)) {
    return fail(
      "ambiguous",
      kind,
      `${show(text)} has more than one mark between its digits.`,
      "Write one decimal point and no marks between thousands, like 1234.5.",
    );
  }
  if (/^[+-]?\d+\s+\d+\D*$/.test(text)) {
    return fail("ambiguous", kind, `${show(text)} has a gap between its digits.`, "Write thousands without a gap, like 1234.5.");
  }
  if (/\d-\d+\s*\//.test(text)) {
    return fail(
      "ambiguous",
      kind,
      `${show(text)} can be read as a sum and as a difference.`,
      'Put a space before the fraction, like "25 1/2 in".',
    );
  }
  if (/^[+-]?\d[\d.]*e[+-]?\d+/i.test(text)) {
    return fail("number", kind, `${show(text)} is written with an exponent.`, "Write the number out, like 0.00025 or 2500.");
  }
  return fail("number", kind, `${show(text)} is not a ${kind.noun}.`);
}

/** A length as written by a person -> mm. Plain numbers are mm. */
export const parseLength = (input: unknown): Quantity<Mm> => parse(input, LENGTH);

/** An angle -> radians. Plain numbers are degrees. */
export const parseAngle = (input: unknown): Quantity<Rad> => parse(input, ANGLE);

/** A feed -> mm/min. Plain numbers are mm/min. */
export const parseFeed = (input: unknown): Quantity<MmPerMin> => parse(input, FEED);

/** Shortest decimal that reads back as the same number, never with an exponent. */
export function plainDecimal(x: number): string {
  const s = String(x);
  const m = /^(-?)(\d)(?:\.(\d+))?e([+-]\d+)$/.exec(s);
  if (m === null) return s;
  const [, sign, lead, rest = "", exponent] = m as unknown as [string, string, string, string | undefined, string];
  const digits = lead + rest;
  const point = 1 + Number(exponent);
  if (point <= 0) return `${sign}0.${"0".repeat(-point)}${digits}`;
  return `${sign}${digits.padEnd(point, "0")}`;
}

/** mm with its unit, in full: "42.5 mm". Reads back as exactly the same number. */
export const formatMm = (mm: Mm): string => `${plainDecimal(mm)} mm`;

/**
 * Inches with their unit: a fraction of up to sixty-fourths where the length is one ("25 1/2 in"), a decimal otherwise.
 * Reads back within one part in 1e15.
 */
export function formatInches(mm: Mm): string {
  const sign = mm < 0 ? "-" : "";
  const size = Math.abs(mm);
  for (let den = 1; den <= 64; den *= 2) {
    const parts = Math.round((size / MM_PER_INCH) * den);
    if (parts > 1e6 || (parts * INCH[0]) / (den * INCH[1]) !== size) continue;
    const whole = Math.floor(parts / den);
    const num = parts - whole * den;
    if (num === 0) return `${sign}${whole} in`;
    return whole === 0 ? `${sign}${num}/${den} in` : `${sign}${whole} ${num}/${den} in`;
  }
  return `${sign}${plainDecimal(size / MM_PER_INCH)} in`;
}

/** Degrees with their unit. */
export const formatDegrees = (deg: Deg): string => `${plainDecimal(deg)} deg`;
