import { Refusal } from "./refusal.ts";
import { R } from "./rules.ts";

/** Where the reader stands in a line of text. `end` is past the line's last byte. */
export interface Cursor {
  readonly bytes: Uint8Array;
  i: number;
  end: number;
  /** Numbered parameters, index 1 to 5400. */
  readonly parameters: Float64Array;
  /** Depth of open brackets, so that a hostile line cannot exhaust the stack. */
  depth: number;
}

export const LAST_PARAMETER = 5400;
export const POW10: Float64Array = Float64Array.from({ length: 23 }, (_, k) => Number(`1e${k}`));

const SPACE = 32;
const TAB = 9;

/** The next byte that is not a space or tab (lower case for letters), 0 at the end of the line; the cursor stands on it. */
export function peek(c: Cursor): number {
  const { bytes, end } = c;
  let i = c.i;
  while (i < end && (bytes[i] === SPACE || bytes[i] === TAB)) i++;
  c.i = i;
  if (i >= end) return 0;
  const b = bytes[i];
  return b >= 65 && b <= 90 ? b + 32 : b;
}

/**
 * A plain number: optional sign, digits with at most one decimal point, at least one digit; spaces anywhere
 * (NISTIR 6556, 3.3.2.1). Up to 15 digits are exact integer work and one correctly rounded division.
 */
export function readNumber(c: Cursor): number {
  const { bytes, end } = c;
  let first = peek(c);
  const at = c.i;
  let sign = 1;
  if (first === 43 || first === 45) {
    if (first === 45) sign = -1;
    c.i++;
    first = peek(c);
  }
  let i = c.i;
  let mantissa = 0;
  let digits = 0;
  let decimals = -1;
  for (; i < end; i++) {
    const d = bytes[i] - 48;
    if (d >= 0 && d <= 9) {
      mantissa = mantissa * 10 + d;
      digits++;
      if (decimals >= 0) decimals++;
    } else if (d === -2) {
      if (decimals >= 0) throw new Refusal(R.number, at, i + 1, "This number has two decimal points.", "Write one decimal point.");
      decimals = 0;
    } else if (bytes[i] !== SPACE && bytes[i] !== TAB) break;
  }
  c.i = i;
  if (digits === 0) {
    throw new Refusal(R.number, at, Math.min(end, i + 1), "A number is missing here.", "Write a number, such as 12.5, after the letter.");
  }
  if (digits <= 15) return sign * (decimals > 0 ? mantissa / POW10[decimals] : mantissa);
  let text = "";
  for (let k = at; k < i; k++) if (bytes[k] !== SPACE && bytes[k] !== TAB) text += String.fromCharCode(bytes[k]);
  return Number(text);
}

/** A real value: number, parameter, bracketed expression or function of one (NISTIR 6556, 3.3.2). */
export function readValue(c: Cursor): number {
  const b = peek(c);
  let v: number;
  if (b === 91) v = readBracket(c);
  else if (b === 35) v = readParameter(c);
  else if (b >= 97 && b <= 122) v = readFunction(c);
  else v = readNumber(c);
  if (!Number.isFinite(v)) {
    throw new Refusal(R.domain, c.i - 1, c.i, "This value is not a finite number.", "Check the numbers of the expression.");
  }
  return v;
}

/** Whole number within 0.0001, as the standard reads integers; null when it is not one. */
export function asWhole(v: number): number | null {
  const n = Math.round(v);
  return Math.abs(v - n) <= 0.0001 ? n : null;
}

/** `#` and the parameter's number; the cursor stands on `#`. Gives the number. */
export function readParameterNumber(c: Cursor): number {
  const at = c.i;
  c.i++;
  deeper(c, at);
  const n = asWhole(readValue(c));
  c.depth--;
  if (n === null || n < 1 || n > LAST_PARAMETER) {
    throw new Refusal(R.parameter, at, c.i, "There is no parameter of this number.", `Use a whole number from 1 to ${LAST_PARAMETER}.`);
  }
  return n;
}

const readParameter = (c: Cursor): number => c.parameters[readParameterNumber(c)];

function deeper(c: Cursor, at: number): void {
  if (++c.depth > 60) {
    throw new Refusal(R.expression, at, at + 1, "This expression is nested too deep.", "Split it over parameters on lines of their own.");
  }
}

/** Operators by strength: `**`; `*` `/` MOD; `+` `-` AND OR XOR (NISTIR 6556, 3.3.2.3). */
const STRENGTH: Readonly<Record<string, number>> = { "**": 3, "*": 2, "/": 2, mod: 2, "+": 1, "-": 1, and: 1, or: 1, xor: 1 };

function readOperator(c: Cursor): string {
  const b = peek(c);
  const at = c.i;
  if (b === 42) {
    c.i++;
    if (peek(c) === 42) {
      c.i++;
      return "**";
    }
    return "*";
  }
  if (b === 43 || b === 45 || b === 47 || b === 93) {
    c.i++;
    return String.fromCharCode(b);
  }
  const word = b === 111 ? "or" : b === 97 ? "and" : b === 109 ? "mod" : b === 120 ? "xor" : "";
  let k = 0;
  while (k < word.length && peek(c) === word.charCodeAt(k)) {
    k++;
    c.i++;
  }
  if (k > 0 && k === word.length) return word;
  throw new Refusal(
    R.expression,
    at,
    Math.max(c.i, at + 1),
    b === 0 ? "A bracket is not closed." : "An operator or a closing bracket is missing here.",
    "Close the bracket, or write one of + - * / ** MOD AND OR XOR between two values.",
  );
}

function readName(c: Cursor): string {
  let name = "";
  for (let b = peek(c); b >= 97 && b <= 122 && name.length < 5; b = peek(c)) {
    name += String.fromCharCode(b);
    c.i++;
  }
  return name;
}

/** An expression in square brackets; the cursor stands on `[`. Left to right within one strength. */
function readBracket(c: Cursor): number {
  const at = c.i;
  c.i++;
  deeper(c, at);
  const values = [readValue(c)];
  const operators: string[] = [];
  for (;;) {
    const o = readOperator(c);
    const strength = o === "]" ? 0 : STRENGTH[o];
    while (operators.length > 0 && STRENGTH[operators[operators.length - 1]] >= strength) {
      const right = values.pop() as number;
      const left = values.pop() as number;
      values.push(apply(operators.pop() as string, left, right, at, c.i));
    }
    if (o === "]") break;
    operators.push(o);
    values.push(readValue(c));
  }
  c.depth--;
  return values[0];
}

function apply(o: string, a: number, b: number, at: number, to: number): number {
  switch (o) {
    case "**":
      if (a < 0 && !Number.isInteger(b)) {
        throw new Refusal(R.domain, at, to, "A negative number is raised to a broken power.", "Raise it to a whole number.");
      }
      return a ** b;
    case "*":
      return a * b;
    case "/":
      if (b === 0) throw new Refusal(R.domain, at, to, "This divides by zero.", "Check the divisor.");
      return a / b;
    case "mod": {
      if (b === 0) throw new Refusal(R.domain, at, to, "This takes a remainder by zero.", "Check the divisor.");
      const m = a % b;
      return m < 0 ? m + Math.abs(b) : m;
    }
    case "+":
      return a + b;
    case "-":
      return a - b;
    case "and":
      return a !== 0 && b !== 0 ? 1 : 0;
    case "or":
      return a !== 0 || b !== 0 ? 1 : 0;
    default:
      return (a === 0) !== (b === 0) ? 1 : 0;
  }
}

const DEG = Math.PI / 180;

/** Functions take their argument in brackets, angles in degrees (NISTIR 6556, 3.3.2.4). */
function readFunction(c: Cursor): number {
  const at = c.i;
  const name = readName(c);
  const f = FUNCTIONS[name];
  if (f === undefined && name !== "atan") {
    throw new Refusal(
      R.expression,
      at,
      c.i,
      `There is no function "${name}".`,
      "Use ABS ACOS ASIN ATAN COS EXP FIX FUP LN ROUND SIN SQRT TAN, each with its value in square brackets.",
    );
  }
  const a = readArgument(c, at);
  if (f !== undefined) {
    const v = f(a);
    if (!Number.isFinite(v)) throw new Refusal(R.domain, at, c.i, `${name.toUpperCase()} has no value here.`, "Check its argument.");
    return v;
  }
  if (peek(c) !== 47) {
    throw new Refusal(R.expression, at, c.i, "ATAN takes two values.", "Write ATAN[a]/[b].");
  }
  c.i++;
  return Math.atan2(a, readArgument(c, at)) / DEG;
}

function readArgument(c: Cursor, at: number): number {
  if (peek(c) !== 91) {
    throw new Refusal(R.expression, at, c.i, "A function's value stands in square brackets.", "Write for example SIN[30].");
  }
  return readBracket(c);
}

const FUNCTIONS: Readonly<Record<string, ((a: number) => number) | undefined>> = {
  __proto__: null as never,
  abs: Math.abs,
  acos: (a) => Math.acos(a) / DEG,
  asin: (a) => Math.asin(a) / DEG,
  cos: (a) => Math.cos(a * DEG),
  exp: Math.exp,
  fix: Math.floor,
  fup: Math.ceil,
  ln: (a) => (a > 0 ? Math.log(a) : Number.NaN),
  round: (a) => (a < 0 ? -Math.round(-a) : Math.round(a)),
  sin: (a) => Math.sin(a * DEG),
  sqrt: (a) => (a >= 0 ? Math.sqrt(a) : Number.NaN),
  tan: (a) => Math.tan(a * DEG),
};
