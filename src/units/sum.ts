import { parseLength, type Quantity, type QuantityError } from "./length.ts";
import type { Mm } from "./units.ts";
import { MM_PER_INCH } from "./units.ts";

/*
 * Lengths that are reckoned out where they are typed: "648/2", "25 1/2 in - 3 mm", "(43 + 56)/2".
 *
 *   sum    = term { ("+" | "-") term }
 *   term   = factor { ("*" | "/") factor }
 *   factor = "(" sum ")" | ["-"] length
 *
 * A plain number is a bare factor until the end; then it is a length in the unit of the place where it was typed. A bare number beside a
 * length in a sum is refused: nobody can know what was meant.
 */

/** A value with how often a length is in it: 0 a bare number, 1 a length in mm. */
interface Term {
  readonly value: number;
  readonly power: 0 | 1;
}

class Unreadable extends Error {
  readonly tryThis: string;
  constructor(says: string, tryThis: string) {
    super(says);
    this.tryThis = tryThis;
  }
}

/** Longer texts are not sums that a person typed. */
const LONGEST = 80;

/** A number, a whole number with a fraction, or a fraction, then a unit that must stand after a fraction. */
const LENGTH =
  /^(?:\d+\s+\d+\s*\/\s*\d+|\d+\s*\/\s*\d+)\s*(?:inches|inch|in|"|''|\u2033|mm|cm|m)(?![a-z])|^(?:\d+(?:[.,]\d+)?|[.,]\d+)\s*(?:inches|inch|in|"|''|\u2033|mm|cm|m)?(?![a-z])/i;

/** A length or a sum of lengths -> mm. `plain`: the unit of a number without one. Nothing is clamped and nothing is guessed. Never throws. */
export function parseSum(input: unknown, plain: "mm" | "in" = "mm"): Quantity<Mm> {
  if (typeof input !== "string") return parseLength(input);
  const text = input.trim();
  if (text.length > LONGEST) return error(`A sum of ${text.length} signs is too long.`, `Write it in at most ${LONGEST}.`);
  const whole = parseLength(text);
  if (whole.ok) return { ok: true, value: /[a-z"'\u2033]/i.test(text) ? whole.value : whole.value * unitOf(plain) };
  // what one length alone says badly, a sum would say no better
  if (!/[-+*/()\u00d7]/.test(text.slice(1)) && !text.startsWith("(")) return whole;
  if (whole.code === "ambiguous" && !/[*()\u00d7]|\d\s*[-+]\s*\d|\d\s*\/\s*\d/.test(text)) return whole;
  const reader = new Reader(text.replaceAll("\u00d7", "*"));
  try {
    const { value, power } = reader.all();
    const mm = power === 1 ? value : value * unitOf(plain);
    if (!Number.isFinite(mm)) return error(`${JSON.stringify(text)} has no finite value.`, "Do not divide by zero.");
    return { ok: true, value: mm + 0 };
  } catch (e) {
    if (!(e instanceof Unreadable)) throw e;
    return error(`${JSON.stringify(text)}: ${e.message}`, e.tryThis);
  }
}

const unitOf = (plain: "mm" | "in"): number => (plain === "in" ? MM_PER_INCH : 1);

const error = (says: string, tryThis: string): QuantityError => ({ ok: false, code: "number", says, tryThis });

class Reader {
  private at = 0;
  private depth = 0;
  private readonly text: string;
  constructor(text: string) {
    this.text = text;
  }

  all(): Term {
    const t = this.sum();
    this.space();
    if (this.at < this.text.length) throw this.stuck();
    return t;
  }

  private sum(): Term {
    let a = this.term();
    for (;;) {
      const sign = this.take("+") ? 1 : this.take("-") ? -1 : 0;
      if (sign === 0) return a;
      const b = this.term();
      if (a.power !== b.power)
        throw new Unreadable("a number without a unit stands beside a length.", "Give every part of the sum its unit.");
      a = { value: a.value + sign * b.value, power: a.power };
    }
  }

  private term(): Term {
    let a = this.factor();
    for (;;) {
      if (this.take("*")) {
        const b = this.factor();
        if (a.power + b.power > 1) throw new Unreadable("a length times a length is not a length.", "Multiply by a plain number.");
        a = { value: a.value * b.value, power: (a.power + b.power) as 0 | 1 };
      } else if (this.take("/")) {
        const b = this.factor();
        if (b.power > a.power) throw new Unreadable("a number divided by a length is not a length.", "Divide by a plain number.");
        if (b.value === 0) throw new Unreadable("it divides by zero.", "Divide by another number.");
        a = { value: a.value / b.value, power: (a.power - b.power) as 0 | 1 };
      } else return a;
    }
  }

  private factor(): Term {
    if (++this.depth > 40) throw new Unreadable("too many brackets.", "Write it more simply.");
    try {
      if (this.take("-")) {
        const t = this.factor();
        return { value: -t.value, power: t.power };
      }
      if (this.take("(")) {
        const t = this.sum();
        if (!this.take(")")) throw new Unreadable("a bracket is not closed.", 'Add ")".');
        return t;
      }
      this.space();
      const m = LENGTH.exec(this.text.slice(this.at));
      if (m === null) throw this.stuck();
      const read = parseLength(m[0]);
      if (!read.ok) throw new Unreadable(read.says, read.tryThis);
      this.at += m[0].length;
      return { value: read.value, power: /[a-z"'\u2033]/i.test(m[0]) ? 1 : 0 };
    } finally {
      this.depth--;
    }
  }

  private take(c: string): boolean {
    this.space();
    if (this.text[this.at] !== c) return false;
    this.at++;
    return true;
  }

  private space(): void {
    while (this.text[this.at] === " ") this.at++;
  }

  private stuck(): Unreadable {
    const rest = this.text.slice(this.at);
    return new Unreadable(
      rest === "" ? "something is missing at its end." : `${JSON.stringify(rest)} cannot be read here.`,
      'Write lengths with + - * / and brackets, like "25 1/2 in - 3 mm" or "648/2".',
    );
  }
}
