import { Refusal } from "./refusal.ts";
import { R } from "./rules.ts";
import { asWhole, type Cursor, peek, readNumber, readParameterNumber, readValue } from "./value.ts";

/** Modal groups of G and M words (NISTIR 6556, table 4). G codes are stored times ten: G59.1 is 591. */
const G_GROUP: ReadonlyMap<number, number> = new Map<number, number>([
  ...[0, 10, 20, 30, 382, 800, 810, 820, 830, 840, 850, 860, 870, 880, 890].map((g) => [g, 1] as const),
  ...[170, 180, 190].map((g) => [g, 2] as const),
  ...[900, 910].map((g) => [g, 3] as const),
  ...[930, 940].map((g) => [g, 5] as const),
  ...[200, 210].map((g) => [g, 6] as const),
  ...[400, 410, 420].map((g) => [g, 7] as const),
  ...[430, 490].map((g) => [g, 8] as const),
  ...[980, 990].map((g) => [g, 10] as const),
  ...[540, 550, 560, 570, 580, 590, 591, 592, 593].map((g) => [g, 12] as const),
  ...[610, 611, 640].map((g) => [g, 13] as const),
  ...[40, 100, 280, 300, 530, 920, 921, 922, 923].map((g) => [g, 0] as const),
]);
const M_GROUP: ReadonlyMap<number, number> = new Map<number, number>([
  ...[0, 1, 2, 30, 60].map((m) => [m, 4] as const),
  [6, 6],
  ...[3, 4, 5].map((m) => [m, 7] as const),
  // M7 and M8 may stand together, so M8 has a place of its own
  [7, 8],
  [9, 8],
  [8, 3],
  [48, 9],
  [49, 9],
]);

export const NONE = -1;

/** One line of text, read but not yet carried out. */
export interface Block {
  /** Value by letter, 0 = a. Only what `has` names counts. */
  readonly value: Float64Array;
  /** Bit k: letter k stands on the line. */
  has: number;
  /** G word by group, times ten; NONE where there is none. Same for M words. */
  readonly g: Int32Array;
  readonly m: Int32Array;
  mCount: number;
  /** Where each letter, G group and M group stands in the text: from, to. */
  readonly at: Int32Array;
  readonly to: Int32Array;
  readonly gAt: Int32Array;
  readonly gTo: Int32Array;
  readonly mAt: Int32Array;
  readonly mTo: Int32Array;
  readonly set: number[];
  readonly setTo: number[];
  comment: string;
  optional: boolean;
}

export function makeBlock(): Block {
  const ints = (n: number): Int32Array => new Int32Array(n);
  return {
    value: new Float64Array(26),
    has: 0,
    g: ints(14),
    m: ints(14),
    mCount: 0,
    at: ints(26),
    to: ints(26),
    gAt: ints(14),
    gTo: ints(14),
    mAt: ints(14),
    mTo: ints(14),
    set: [],
    setTo: [],
    comment: "",
    optional: false,
  };
}

export const letter = (name: string): number => name.charCodeAt(0) - 97;
export const hasLetter = (b: Block, k: number): boolean => (b.has & (1 << k)) !== 0;

/** d f g h i j k l m p q r s t x y z; a, b and c are rotary axes, d a radius for cutter compensation: known but not followed. */
const KNOWN = [..."fhijklpqrstxyz"].reduce((bits, l) => bits | (1 << letter(l)), 0);

/** Reads the line under the cursor. Throws a Refusal. Parameter settings are collected, not made (3.3.3: they take effect after the line is read). */
export function readBlock(c: Cursor, b: Block): void {
  b.has = 0;
  b.g.fill(NONE);
  b.m.fill(NONE);
  b.mCount = 0;
  b.set.length = 0;
  b.setTo.length = 0;
  b.comment = "";
  b.optional = false;
  c.depth = 0;
  if (c.end - c.i > 256) {
    throw new Refusal(R.longLine, c.i, c.i + 12, "This line is longer than 256 characters.", "Break it into several lines.");
  }
  let ch = peek(c);
  if (ch === 47) {
    b.optional = true;
    c.i++;
    ch = peek(c);
  }
  if (ch === 110) {
    readLineNumber(c);
    ch = peek(c);
  }
  for (; ch !== 0; ch = peek(c)) {
    if (ch === 40) b.comment = readComment(c);
    else if (ch === 35) readSetting(c, b);
    else if (ch >= 97 && ch <= 122) readWord(c, b, ch);
    else throw badCharacter(c, ch);
  }
}

function badCharacter(c: Cursor, ch: number): Refusal {
  if (ch === 59)
    return new Refusal(R.character, c.i, c.i + 1, "RS274/NGC has no comments after a semicolon.", "Write comments in round brackets.");
  if (ch === 41) return new Refusal(R.comment, c.i, c.i + 1, "A comment is closed that was not opened.", "Remove the bracket.");
  if (ch === 37) return new Refusal(R.end, c.i, c.i + 1, "A percent sign stands alone on the first and last line only.", "Remove it here.");
  const shown = ch > 32 && ch < 127 ? `"${String.fromCharCode(ch)}"` : `with code ${ch}`;
  return new Refusal(R.character, c.i, c.i + 1, `The character ${shown} is not known here.`, "Remove it; words are a letter and a number.");
}

function readLineNumber(c: Cursor): void {
  const at = c.i;
  c.i++;
  let digits = 0;
  for (let d = peek(c); d >= 48 && d <= 57; d = peek(c)) {
    digits++;
    c.i++;
  }
  if (digits < 1 || digits > 5 || c.bytes[c.i] === 46) {
    throw new Refusal(
      R.lineNumber,
      at,
      c.i,
      "A line number is a whole number of one to five digits.",
      "Renumber the program, or leave line numbers out.",
    );
  }
}

function readComment(c: Cursor): string {
  const from = c.i;
  const { bytes, end } = c;
  let text = "";
  for (let i = from + 1; i < end; i++) {
    const b = bytes[i];
    if (b === 41) {
      c.i = i + 1;
      return text;
    }
    if (b === 40)
      throw new Refusal(R.comment, from, i + 1, "A comment is opened inside a comment.", "Use square brackets or none inside a comment.");
    text += b < 127 && b >= 32 ? String.fromCharCode(b) : "?";
  }
  throw new Refusal(R.comment, from, end, "This comment is not closed on its line.", "Close it with a round bracket.");
}

function readSetting(c: Cursor, b: Block): void {
  const at = c.i;
  const n = readParameterNumber(c);
  if (peek(c) !== 61) {
    throw new Refusal(R.expression, at, c.i, "A parameter stands here without an equals sign.", "Write #1=2.5, or put a letter before it.");
  }
  c.i++;
  b.set.push(n);
  b.setTo.push(readValue(c));
}

function readWord(c: Cursor, b: Block, ch: number): void {
  const at = c.i;
  c.i++;
  const k = ch - 97;
  if (ch === 103 || ch === 109) {
    const v = peek(c) < 65 && peek(c) !== 35 ? readNumber(c) : readValue(c);
    if (ch === 103) storeG(c, b, v, at);
    else storeM(c, b, v, at);
    return;
  }
  const name = String.fromCharCode(ch).toUpperCase();
  if ((KNOWN & (1 << k)) === 0) {
    if (ch <= 100) {
      const what = ch === 100 ? "D belongs to cutter compensation" : `${name} is a rotary axis`;
      throw new Refusal(
        R.notFollowed,
        at,
        c.i,
        `${what}, which this proof does not follow.`,
        "Write the program for three axes and the cutter's centre.",
      );
    }
    const says = ch === 110 ? "A line number stands only at the beginning of a line." : `No word begins with ${name}.`;
    throw new Refusal(ch === 110 ? R.lineNumber : R.letter, at, c.i, says, "Remove the word.");
  }
  const v = readValue(c);
  if (hasLetter(b, k)) {
    throw new Refusal(R.repeated, at, c.i, `The letter ${name} stands twice on this line.`, "Keep one of the two words, or use two lines.");
  }
  b.has |= 1 << k;
  b.value[k] = v;
  b.at[k] = at;
  b.to[k] = c.i;
}

function storeG(c: Cursor, b: Block, v: number, at: number): void {
  const ten = Math.round(v * 10);
  const group = Math.abs(v * 10 - ten) <= 0.001 ? G_GROUP.get(ten) : undefined;
  if (group === undefined) {
    throw new Refusal(R.gCode, at, c.i, "RS274/NGC has no such G code.", "Check the number; the codes are in NISTIR 6556, table 5.");
  }
  if (b.g[group] !== NONE) {
    throw new Refusal(R.group, at, c.i, "Two G codes of one modal group stand on this line.", "Use a line for each.");
  }
  b.g[group] = ten;
  b.gAt[group] = at;
  b.gTo[group] = c.i;
}

function storeM(c: Cursor, b: Block, v: number, at: number): void {
  const code = asWhole(v);
  const group = code === null ? undefined : M_GROUP.get(code);
  if (code === null || group === undefined) {
    throw new Refusal(R.mCode, at, c.i, "RS274/NGC has no such M code.", "Check the number; the codes are in NISTIR 6556, table 7.");
  }
  // M8 has its own place beside M7, but not beside M9
  const clash = b.m[group] !== NONE || (code === 8 && b.m[8] === 9) || (code === 9 && b.m[3] === 8);
  if (clash) {
    throw new Refusal(R.group, at, c.i, "Two M codes of one modal group stand on this line.", "Use a line for each.");
  }
  if (++b.mCount > 4) throw new Refusal(R.manyM, at, c.i, "More than four M words stand on this line.", "Use several lines.");
  b.m[group] = code;
  b.mAt[group] = at;
  b.mTo[group] = c.i;
}
