import * as z from "zod";
import { noteFrequency } from "../materials/strings.ts";
import type { Quantity, Rule } from "../units/index.ts";
import { parseAngle, parseFeed, parseLength, radToDeg } from "../units/index.ts";
import { MISSING, QUANTITY, RANGE, WRONG_KIND } from "./rules.ts";
import type { Place } from "./types.ts";

/*
 * The kinds of value an order or shop file holds. Each is a zod schema that turns what was written into the program's unit
 * or reports a rule, and carries a JSON Schema for editors: `type`, `minimum`, `maximum` in the unit of a plain number.
 */

/** What a custom issue carries so that `issues.ts` can make a finding of it. */
export interface IssueParams {
  readonly rule: Rule;
  readonly limit: number | string | null;
  readonly unit: string;
  readonly says: string;
  readonly tryThis: string;
  /** The value was of another kind altogether (a union then looks at its other members). */
  readonly otherKind?: boolean;
}

export interface Said {
  readonly title: string;
  readonly description: string;
}

type Context = { issues: unknown[] };

function complain(ctx: Context, input: unknown, params: IssueParams): never {
  ctx.issues.push({ code: "custom", message: params.says, input, params });
  return z.NEVER;
}

interface QuantityKind {
  readonly unit: string;
  readonly parse: (input: unknown) => Quantity<number>;
  /** From the program's unit back to the unit of a plain number. */
  readonly shown: (value: number) => number;
}

const KINDS = {
  mm: { unit: "mm", parse: parseLength, shown: (v: number): number => v },
  deg: { unit: "deg", parse: parseAngle, shown: radToDeg },
  "mm/min": { unit: "mm/min", parse: parseFeed, shown: (v: number): number => v },
} satisfies Record<string, QuantityKind>;

const shorten = (v: number): number => Math.round(v * 1e6) / 1e6;

function quantity(kind: QuantityKind, min: number, max: number, said: Said | null): z.ZodType<number> {
  const meta = { ...said, unit: kind.unit, type: ["number", "string"] as const, minimum: min, maximum: max };
  return z
    .any()
    .meta(meta as never)
    .transform((input: unknown, ctx): number => {
      if (input === undefined) return missing(ctx as Context, `a ${kind.unit} value`);
      const read = kind.parse(input);
      if (!read.ok) {
        const rule = read.code === "kind" ? WRONG_KIND : QUANTITY;
        return complain(ctx as Context, input, {
          rule,
          limit: null,
          unit: kind.unit,
          says: read.says,
          tryThis: read.tryThis,
          otherKind: read.code === "kind",
        });
      }
      const shown = shorten(kind.shown(read.value));
      if (shown < min || shown > max) return outside(ctx as Context, shown, min, max, kind.unit);
      return read.value;
    }) as unknown as z.ZodType<number>;
}

function missing(ctx: Context, what: string): never {
  return complain(ctx, undefined, { rule: MISSING, limit: null, unit: "", says: `A value is missing: ${what}.`, tryThis: "Add the key." });
}

function outside(ctx: Context, value: number, min: number, max: number, unit: string): never {
  const low = value < min;
  const u = unit === "" ? "" : ` ${unit}`;
  return complain(ctx, value, {
    rule: RANGE,
    limit: low ? min : max,
    unit,
    says: `${value}${u} is ${low ? "less than the least" : "more than the most"} that is accepted, ${low ? min : max}${u}.`,
    tryThis: `Give a value from ${min} to ${max}${u}; check the unit if the number looks right.`,
  });
}

/** A length, mm inside. min and max in mm. */
export const length = (min: number, max: number, title: string, description: string): z.ZodType<number> =>
  quantity(KINDS.mm, min, max, { title, description });
/** An angle, radians inside. min and max in degrees. */
export const angle = (min: number, max: number, title: string, description: string): z.ZodType<number> =>
  quantity(KINDS.deg, min, max, { title, description });
/** A feed, mm/min inside (converted further where the machine's door is). */
export const feed = (min: number, max: number, title: string, description: string): z.ZodType<number> =>
  quantity(KINDS["mm/min"], min, max, { title, description });

function plain(type: "number" | "integer", min: number, max: number, unit: string, said: Said): z.ZodType<number> {
  return z
    .any()
    .meta({ ...said, unit, type, minimum: min, maximum: max } as never)
    .transform((input: unknown, ctx): number => {
      const c = ctx as Context;
      const noun = type === "integer" ? "a whole number" : "a number";
      if (input === undefined) return missing(c, noun);
      if (typeof input !== "number" || Number.isNaN(input)) {
        const says = `${typeof input === "string" ? JSON.stringify(input.slice(0, 40)) : input === null ? "null" : Number.isNaN(input) ? "NaN" : `a value of kind ${Array.isArray(input) ? "list" : typeof input}`} is not ${noun}.`;
        return complain(c, input, {
          rule: WRONG_KIND,
          limit: null,
          unit,
          says,
          tryThis: `Write ${noun}${unit === "" ? "" : ` in ${unit}`}, without quotes.`,
          otherKind: true,
        });
      }
      if (type === "integer" && Number.isFinite(input) && !Number.isInteger(input)) {
        return complain(c, input, {
          rule: WRONG_KIND,
          limit: null,
          unit,
          says: `${input} is not a whole number.`,
          tryThis: "Write a whole number.",
        });
      }
      if (!(input >= min && input <= max)) return outside(c, input, min, max, unit);
      return input + 0;
    }) as unknown as z.ZodType<number>;
}

export const whole = (min: number, max: number, title: string, description: string): z.ZodType<number> =>
  plain("integer", min, max, "", { title, description });
export const ratio = (min: number, max: number, title: string, description: string, unit = ""): z.ZodType<number> =>
  plain("number", min, max, unit, { title, description });

/** One of a list of words. */
export const word = <T extends string>(words: readonly [T, ...T[]], title: string, description: string): z.ZodType<T> =>
  z.enum(words as unknown as [T, ...T[]]).meta({ title, description }) as unknown as z.ZodType<T>;

/** A text of at most `most` characters, with the letters the pattern allows. */
export const text = (most: number, pattern: RegExp | null, title: string, description: string): z.ZodType<string> => {
  const base = z.string().min(1).max(most);
  return (pattern === null ? base : base.regex(pattern)).meta({ title, description });
};

export const flag = (title: string, description: string): z.ZodType<boolean> => z.boolean().meta({ title, description });

const FRET = /^\s*fret\s+(\d{1,3})\s*$/i;

/** A place along the neck: "fret 12", or a length from the nut's board-side edge (toward the bridge positive). */
export const place = (title: string, description: string): z.ZodType<Place> =>
  z
    .any()
    .meta({
      title,
      description: `${description} A length from the nut, or a fret like "fret 12".`,
      unit: "mm",
      type: ["number", "string"],
    } as never)
    .transform((input: unknown, ctx): Place => {
      const c = ctx as Context;
      if (input === undefined) return missing(c, 'a place, like 120 or "fret 5"');
      const m = typeof input === "string" ? FRET.exec(input) : null;
      if (m !== null) return { kind: "fret", fret: Number(m[1]) };
      const read = parseLength(input);
      if (!read.ok)
        return complain(c, input, {
          rule: QUANTITY,
          limit: null,
          unit: "mm",
          says: read.says,
          tryThis: 'Write a length from the nut, or a fret like "fret 12".',
        });
      if (Math.abs(read.value) > 2000) return outside(c, read.value, -2000, 2000, "mm");
      return { kind: "x", x: read.value };
    }) as unknown as z.ZodType<Place>;

const NOTE = /^[A-G](?:#|b)?-?\d$/;
const HERTZ = /^(\d+(?:\.\d+)?)\s*Hz$/i;
/** Lowest and highest pitch of an open string that is accepted, Hz: far past every fretted instrument. */
const PITCH_MIN = 10;
const PITCH_MAX = 4000;

/** A pitch: a note of equal temperament on A = 440 Hz, or hertz. Notes come out as text, hertz as a number. */
export const pitch = (title: string, description: string): z.ZodType<string | number> =>
  z
    .any()
    .meta({ title, description, unit: "Hz", type: ["number", "string"], minimum: PITCH_MIN, maximum: PITCH_MAX } as never)
    .transform((input: unknown, ctx): string | number => {
      const c = ctx as Context;
      const written = typeof input === "string" ? input.trim() : input;
      const hertz = typeof written === "string" ? HERTZ.exec(written)?.[1] : written;
      const value = typeof written === "string" && NOTE.test(written) ? noteFrequency(written) : Number(hertz ?? Number.NaN);
      if (typeof input === "boolean" || typeof input === "object" || !Number.isFinite(value))
        return complain(c, input, {
          rule: QUANTITY,
          limit: null,
          unit: "Hz",
          says: `${JSON.stringify(input)?.slice(0, 40) ?? "Nothing"} is not a pitch.`,
          tryThis: 'Write a note like "E2", "F#3" or "Bb1", or hertz like 82.41 or "82.41 Hz".',
        });
      if (value < PITCH_MIN || value > PITCH_MAX) return outside(c, Math.round(value * 100) / 100, PITCH_MIN, PITCH_MAX, "Hz");
      return typeof written === "string" && NOTE.test(written) ? written : value;
    }) as unknown as z.ZodType<string | number>;

/** The word "none" or what stands for something. */
export const none = (description: string): z.ZodType<"none"> => z.literal("none").meta({ description }) as unknown as z.ZodType<"none">;
