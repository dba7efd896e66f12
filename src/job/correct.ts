import { parseShop } from "../spec/index.ts";
import type { OrderSpec, ShopSpec } from "../spec/types.ts";
import { isStop, type Mm } from "../units/index.ts";
import type { Disk } from "./disk.ts";
import { InputError } from "./errors.ts";
import { type Bare, correctedText, dated, type Entry, type Measured, measureWidth, type Reread, undoneAt } from "./readings.ts";
import { type Rewrite, rewriteBy } from "./rewrite.ts";
import { cutterNamed, readOrder, type Source } from "./source.ts";

export type { MarkReading } from "../holding/correct/piece.ts";
export { correctionText } from "../spec/correction-text.ts";
export { type Measured, measureAxes, measureBlank, measureHeight, measureMarks, measureTurn } from "./readings.ts";

export function shopOf(source: Source): ShopSpec {
  const { value, findings } = parseShop(source.bytes);
  if (value === undefined || findings.some(isStop))
    throw new InputError(source.path, "the shop cannot be used as it is", "run check with this shop and mend what it finds");
  return value;
}

export function orderOf(source: Source): OrderSpec {
  const { value, findings } = readOrder(source);
  if (value === null || findings.some(isStop))
    throw new InputError(source.path, findings.find(isStop)?.says ?? "the order cannot be read", "run check on it and mend what it finds");
  return value;
}

/** The width a cutter of the shop cuts, from a test slot. */
export const measureCutter = (shop: ShopSpec, number: number, slot: Mm, calliper: Mm | null): Measured =>
  measureWidth(cutterNamed(shop, number), slot, calliper);

interface Opened {
  readonly text: string;
  readonly entries: readonly Entry[];
  readonly again: (bytes: Uint8Array) => Reread;
}

/** The corrections of an order or a shop, and how the file is read again. */
function open(source: Source, kind: "order" | "shop"): Opened {
  const text = new TextDecoder("utf-8", { ignoreBOM: true }).decode(source.bytes);
  const read = (bytes: Uint8Array): Reread => {
    if (kind === "shop") {
      const { value, findings } = parseShop(bytes);
      return { entries: value === undefined ? null : (value.corrections ?? []), stops: findings.filter(isStop).length };
    }
    const { value, findings } = readOrder({ ...source, bytes });
    return { entries: value === null ? null : (value.corrections ?? []), stops: findings.filter(isStop).length };
  };
  const now = read(source.bytes);
  if (now.entries === null) throw new InputError(source.path, `this ${kind} cannot be read`, "run check on it and mend what it finds");
  return { text, entries: now.entries, again: (bytes) => read(bytes) };
}

async function rewrite(source: Source, opened: Opened, entries: readonly Entry[], disk: Disk | Rewrite): Promise<void> {
  const text = correctedText(source.path, opened.text, entries, (t) => opened.again(new TextEncoder().encode(t)));
  const bytes = new TextEncoder().encode(text);
  await rewriteBy(disk)(source, bytes);
}

/** All corrections of a file, oldest first, those undone too. */
export const listCorrections = (source: Source, kind: "order" | "shop"): readonly Entry[] => open(source, kind).entries;

/** Adds a correction with its day and reason; nothing else in the file changes, and it is written whole or not at all. */
export async function storeCorrection(
  source: Source,
  kind: "order" | "shop",
  entry: Bare<Entry>,
  said: { readonly date: string; readonly reason: string },
  disk: Disk | Rewrite,
): Promise<void> {
  const opened = open(source, kind);
  await rewrite(source, opened, [...opened.entries, dated(entry, said)], disk);
}

/** Marks a correction as undone: number `which` of the list (from 1), or the last that counts. Gives it back; null when there is none. */
export async function undo(
  source: Source,
  kind: "order" | "shop",
  which: number | null,
  date: string,
  disk: Disk | Rewrite,
): Promise<Entry | null> {
  const opened = open(source, kind);
  const at = which === null ? opened.entries.findLastIndex((e) => e.undone === undefined) : which - 1;
  const found = opened.entries[at];
  if (found === undefined || found.undone !== undefined) return null;
  await rewrite(source, opened, undoneAt(opened.entries, at, date), disk);
  return found;
}
