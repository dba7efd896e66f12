import { parseAngle, parseFeed, parseSum, radToDeg } from "../units/index.ts";

export interface FieldKind {
  readonly unit: string;
  readonly min: number | undefined;
  readonly max: number | undefined;
  readonly whole: boolean;
  /** Also "fret 12". */
  readonly place: boolean;
  /** A number without a unit is in inches. */
  readonly inches: boolean;
}

export type FieldValue =
  | { readonly ok: true; readonly value: number | string | undefined }
  | { readonly ok: false; readonly outside: boolean; readonly says: string; readonly tryThis: string };

const no = (says: string, tryThis: string, outside = false): FieldValue => ({ ok: false, outside, says, tryThis });

/**
 * What was typed into a field -> what the order keeps: a number in the field's unit, the text itself when it names a place or a length in
 * inches (so that the order still says what was meant), or undefined for nothing. Refuses; never rounds into the range, never guesses.
 */
export function readField(typed: string, k: FieldKind): FieldValue {
  const text = typed.trim();
  if (text === "") return { ok: true, value: undefined };
  if (k.place && /^fret\s+\d+$/i.test(text)) return { ok: true, value: text.toLowerCase().replace(/\s+/, " ") };
  let v: number;
  let keep: string | null = null;
  if (k.unit === "mm") {
    const r = parseSum(text, k.inches ? "in" : "mm");
    if (!r.ok) return no(r.says, r.tryThis);
    v = Math.round(r.value * 1e6) / 1e6;
    // one plain length in inches stays as it was written
    if (/^[\d\s/.,]+(?:in|inch|inches|")$/i.test(text)) keep = text;
    else if (k.inches && /^[\d.,]+$/.test(text)) keep = `${text.replace(",", ".")} in`;
  } else if (k.unit === "deg") {
    const r = parseAngle(text);
    if (!r.ok) return no(r.says, r.tryThis);
    v = Math.round(radToDeg(r.value) * 1e6) / 1e6;
  } else if (k.unit === "mm/min") {
    const r = parseFeed(text);
    if (!r.ok) return no(r.says, r.tryThis);
    v = Math.round(r.value * 1e6) / 1e6;
  } else {
    const bare = k.unit !== "" && text.toLowerCase().endsWith(k.unit.toLowerCase()) ? text.slice(0, -k.unit.length).trim() : text;
    if (!/^[-+]?(?:\d+(?:[.,]\d+)?|[.,]\d+)$/.test(bare))
      return no(`"${text}" is not a number.`, `Write a number${k.unit ? ` in ${k.unit}` : ""}.`);
    if (/^[1-9]\d{0,2},\d{3}$/.test(bare)) return no(`"${text}" can be read in two ways.`, "Write the decimal mark as a point.");
    v = Number(bare.replace(",", "."));
  }
  if (!Number.isFinite(v)) return no(`"${text}" is not a finite number.`, "Write another number.");
  if (k.whole && !Number.isInteger(v)) return no(`"${text}" is not a whole number.`, "Write a whole number.");
  if ((k.min !== undefined && v < k.min) || (k.max !== undefined && v > k.max)) return no(`${v} is outside.`, "", true);
  return { ok: true, value: keep ?? v };
}
