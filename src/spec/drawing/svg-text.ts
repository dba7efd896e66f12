import type { Affine } from "./affine.ts";
import { after, SAME, shift, stretch, turn } from "./affine.ts";
import { LIMIT, MAX_CURVES, NUMBER, refuse, UNREAD } from "./rules.ts";

/* Numbers, lengths, transforms and path data as SVG writes them. */

const DECIMAL = String.raw`[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?`;

/** User units (CSS px) per unit. */
const PX: Readonly<Record<string, number>> = { "": 1, px: 1, mm: 96 / 25.4, cm: 96 / 2.54, in: 96, pt: 96 / 72, pc: 16, q: 24 / 25.4 };
const LENGTH = new RegExp(`^\\s*(${DECIMAL})\\s*([a-zA-Z]*|%)\\s*$`);

export interface SvgLength {
  readonly value: number;
  /** Lower case; "" for user units, "%" for a share. */
  readonly unit: string;
}

/** "12.5mm" in its parts; null when it is no length. */
export function splitLength(text: string): SvgLength | null {
  const m = LENGTH.exec(text);
  return m === null || !Number.isFinite(Number(m[1])) ? null : { value: Number(m[1]), unit: m[2].toLowerCase() };
}

/** Millimetres of a physical length; null for px, user units and shares. */
export const physical = (l: SvgLength | null): number | null =>
  l === null || l.unit === "" || l.unit === "px" || !(l.unit in PX) ? null : (l.value * PX[l.unit] * 25.4) / 96;

/** A length in user units. */
export function userLength(text: string, what: string, where: string): number {
  const l = splitLength(text);
  if (l === null)
    refuse(NUMBER, where, `${what} "${text.slice(0, 40)}" is not a length.`, "Save the drawing again.", { value: text.slice(0, 40) });
  const factor = PX[l.unit];
  if (factor === undefined) {
    refuse(UNREAD, where, `${what} is given in "${l.unit}", which depends on a page.`, "Use plain numbers or millimetres.", {
      value: text.slice(0, 40),
    });
  }
  return l.value * factor;
}

/** Numbers parted by white space or single commas. */
export function numberList(text: string, what: string, where: string): number[] {
  const out: number[] = [];
  const next = new RegExp(`\\s*(?:,\\s*)?(${DECIMAL})`, "y");
  const end = text.trimEnd().length;
  while (next.lastIndex < end) {
    const from = next.lastIndex;
    const m = next.exec(text);
    const v = m === null ? Number.NaN : Number(m[1]);
    if (!Number.isFinite(v)) {
      const said = text.slice(from, from + 20).trim();
      refuse(NUMBER, where, `${what}: "${said}" is not a usable number (character ${from + 1}).`, "Save the drawing again.", {
        value: said,
      });
    }
    out.push(v);
  }
  return out;
}

/** A transform attribute: the list's first entry acts last. */
export function transformOf(text: string, where: string): Affine {
  let m = SAME;
  const step = /\s*,?\s*([a-zA-Z]+)\s*\(([^()]*)\)/y;
  const end = text.trimEnd().length;
  const bad = (what: string): never =>
    refuse(NUMBER, where, `The transform cannot be read: ${what}.`, "Apply the transforms to the curves, then save again.", {
      value: text.slice(0, 60),
    });
  let steps = 0;
  while (step.lastIndex < end) {
    const t = step.exec(text);
    if (t === null) return bad(`"${text.slice(0, 40)}"`);
    if (++steps > 1000) return bad("more than 1000 steps");
    const [, name, inside] = t;
    const v = numberList(inside, "transform", where);
    const n = v.length;
    const rad = (deg: number): number => (deg * Math.PI) / 180;
    if (name === "matrix" && n === 6) m = after(m, v as unknown as Affine);
    else if (name === "translate" && (n === 1 || n === 2)) m = after(m, shift(v[0], v[1] ?? 0));
    else if (name === "scale" && (n === 1 || n === 2)) m = after(m, stretch(v[0], v[1] ?? v[0]));
    else if (name === "rotate" && n === 1) m = after(m, turn(rad(v[0])));
    else if (name === "rotate" && n === 3) m = after(after(after(m, shift(v[1], v[2])), turn(rad(v[0]))), shift(-v[1], -v[2]));
    else if (name === "skewX" && n === 1) m = after(m, [1, 0, Math.tan(rad(v[0])), 1, 0, 0]);
    else if (name === "skewY" && n === 1) m = after(m, [1, Math.tan(rad(v[0])), 0, 1, 0, 0]);
    else return bad(`${name.slice(0, 20)} with ${n} numbers`);
  }
  for (const k of m) if (!Number.isFinite(k)) return bad("it grows beyond all measure");
  return m;
}

/** Numbers after one command before another command letter is put in: the path parser's time grows with their square. */
const RUN = 1200;

/** Refuses path data before they are read when they hold more than MAX_CURVES curves can. */
export function refuseLongPath(d: string, where: string): void {
  let letters = 0;
  let runs = 0;
  let digit = false;
  for (let k = 0; k < d.length; k++) {
    const c = d.charCodeAt(k);
    const isDigit = c >= 48 && c <= 57;
    if (isDigit && !digit) runs++;
    digit = isDigit;
    if (c > 64 && c !== 69 && c !== 101) letters++;
  }
  // a number is at most two runs of digits, or three with an exponent; a curve at most seven numbers
  if (letters <= 2 * MAX_CURVES && runs <= 12 * MAX_CURVES && d.length <= MOST_PATH) return;
  refuse(LIMIT, where, `The path data are longer than ${MAX_CURVES} curves need.`, "Save the outline alone, with fewer nodes.", {
    value: d.length,
    limit: MOST_PATH,
    unit: "characters",
  });
}
const MOST_PATH = 16_000_000;

/** The same path data with the command repeated at least every RUN numbers. Data in error stay in error. */
export function repeated(d: string, where: string): string {
  if (d.length <= 8000) return d;
  const parts = d.split(/(?=[a-df-zA-DF-Z])/);
  return parts
    .map((part) => {
      if (part.length <= 8000) return part;
      const letter = part[0];
      const per = { m: 2, l: 2, t: 2, h: 1, v: 1, s: 4, q: 4, c: 6 }[letter.toLowerCase()];
      if (per === undefined) {
        if (letter.toLowerCase() !== "a" || part.length < 400_000) return part;
        return refuse(LIMIT, where, "One arc command has more than 400 000 characters of numbers.", "Save the drawing with shorter paths.");
      }
      const follow = letter === "m" ? "l" : letter === "M" ? "L" : letter;
      const pieces: string[] = [];
      const number = new RegExp(DECIMAL, "g");
      let from = 0;
      let n = 0;
      let end = 0;
      for (let m = number.exec(part); m !== null; m = number.exec(part)) {
        if (n > 0 && n % (RUN - (RUN % per)) === 0 && /^\s*(?:,\s*)?$/.test(part.slice(end, m.index))) {
          pieces.push(part.slice(from, end));
          from = m.index;
        }
        n++;
        end = m.index + m[0].length;
      }
      pieces.push(part.slice(from));
      return pieces.join(follow);
    })
    .join("");
}
