import { basename, dirname } from "node:path";
import { effectOfScale, type PatternReading, readPattern, readSlot, readThickness } from "../holding/correct/machine.ts";
import { effectOf, READING, readBlank, readStep } from "../holding/correct/piece.ts";
import type { Effect, Found } from "../holding/correct/types.ts";
import type { OrderCorrection, ShopCorrection } from "../spec/corrections.ts";
import { parseShop } from "../spec/index.ts";
import { setInJson } from "../spec/set-json.ts";
import type { OrderSpec, ShopSpec } from "../spec/types.ts";
import { writeCorrections } from "../spec/write.ts";
import { isStop, type Mm } from "../units/index.ts";
import type { Disk } from "./disk.ts";
import { InputError } from "./errors.ts";
import { cutterNamed, readOrder, type Source } from "./source.ts";
import { writeFiles } from "./write.ts";

export { correctionText } from "../spec/correction-text.ts";

type Entry = OrderCorrection | ShopCorrection;
/** An entry before it is given its day and reason. */
type Bare<T> = T extends unknown ? Omit<T, "date" | "reason" | "undone"> : never;

export interface Measured {
  readonly entry: Bare<Entry>;
  readonly effects: readonly Effect[];
  /** The readings, for the reason that is stored when none is given. */
  readonly says: string;
}

/** Half of what a rule shows, twice: a reading to a tenth. */
const STEP: Mm = 2 * READING;

function sense<T>(found: Found<T>, where: string): T {
  if (!found.ok) throw new InputError(where, found.says.replace(/\.$/, ""), found.tryThis);
  return found.value;
}

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

const round = (v: number, to: number): number => Math.round(v * to) / to;

/** Scale and squareness from a test pattern; before and after at a neck of `scale`. */
export function measureAxes(shop: ShopSpec, p: PatternReading, scale: Mm): Measured {
  const axes = sense(readPattern(p), "--x, --y, --diagonal");
  const along = shop.machine.along === "x";
  const size = along ? p.along : p.across;
  const square = { before: Math.tan(axes.square) * 100, after: (STEP / 2 / p.across) * 100 };
  return {
    entry: { kind: "axes", x: round(axes.x, 1e6), y: round(axes.y, 1e6), z: 1, square: round(axes.square, 1e6) },
    effects: [
      ...effectOfScale(along ? axes.x : axes.y, size, STEP, scale),
      { what: "100 mm across the neck, out of square by", unit: "mm", ...square },
    ],
    says: `pattern ${p.along} x ${p.across}: x ${p.x.join(", ")}; y ${p.y.join(", ")}; diagonals ${p.diagonals.join(", ")}`,
  };
}

/** The width a cutter cuts, from a test slot. */
export function measureCutter(shop: ShopSpec, number: number, slot: Mm, calliper: Mm | null): Measured {
  const cutter = cutterNamed(shop, number);
  if (cutter.shape !== "flat" && cutter.shape !== "ball" && cutter.shape !== "bull")
    throw new InputError(
      `--cutter ${number}`,
      "a slot's width says nothing of a cutter that is wider above",
      "measure flat, ball and bull cutters",
    );
  const { diameter, runOut } = sense(readSlot(cutter.diameter, slot, calliper), "--slot");
  const wider = diameter - cutter.diameter;
  return {
    entry: { kind: "cutter", number, diameter: round(diameter, 1000), ...(runOut === null ? {} : { runOut: round(runOut, 1000) }) },
    effects: [
      effectOf("a slot cut in one pass, wider by", wider),
      { ...effectOf("every wall, off its place by", wider / 2), after: READING / 2 },
    ],
    says: `test slot ${slot} mm${calliper === null ? "" : `, cutter by calliper ${calliper} mm`}`,
  };
}

export function measureTurn(x: Mm, y: Mm): Measured {
  const step = sense(readStep(x, y), "--x, --y");
  return {
    entry: { kind: "turn", ...step },
    effects: [effectOf("step between the sides along x", step.x), effectOf("step between the sides along y", step.y)],
    says: `marks of both sides ${x} mm apart in x, ${y} mm in y`,
  };
}

export function measureHeight(side: "board" | "carve", expected: Mm, measured: Mm): Measured {
  const by = sense(readThickness(expected, measured), "--measured");
  if (Math.abs(by) < 1e-9) throw new InputError("--measured", "it is as thick as it was to be", "cut on");
  return {
    entry: { kind: "height", side, by: round(by, 1000) },
    effects: [effectOf(`height of the ${side} side`, by)],
    says: `${side} side: ${measured} mm where ${expected} mm was to be`,
  };
}

/** A blank of another thickness. The order's own (as corrected so far) is what it is held against. */
export function measureBlank(order: OrderSpec, shaft: Mm | null, board: Mm | null): Measured {
  const { blank } = order;
  if (shaft === null && board === null) throw new InputError("--shaft, --board", "nothing was measured", "give one of them, or both");
  const s = shaft === null ? null : sense(readBlank("shaft's wood", blank.shaftThickness, shaft), "--shaft");
  const b = board === null ? null : sense(readBlank("board's wood", blank.boardThickness, board), "--board");
  return {
    entry: { kind: "blank", ...(s === null ? {} : { shaftThickness: s }), ...(b === null ? {} : { boardThickness: b }) },
    effects: [
      ...(s === null ? [] : [effectOf("glue plane above the bed, board side", s - blank.shaftThickness)]),
      ...(b === null ? [] : [effectOf("glue plane above the bed, carve side", b - blank.boardThickness)]),
    ],
    says: [s === null ? [] : `shaft ${s} mm`, b === null ? [] : `board ${b} mm`].flat().join(", "),
  };
}

interface Opened {
  readonly text: string;
  readonly entries: readonly Entry[];
  readonly again: (bytes: Uint8Array) => { readonly entries: readonly Entry[] | null; readonly stops: number };
}

/** The corrections of an order or a shop, and how the file is read again. */
function open(source: Source, kind: "order" | "shop"): Opened {
  const text = new TextDecoder("utf-8", { ignoreBOM: true }).decode(source.bytes);
  const read = (bytes: Uint8Array): { readonly entries: readonly Entry[] | null; readonly stops: number } => {
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

async function rewrite(source: Source, opened: Opened, entries: readonly Entry[], disk: Disk): Promise<void> {
  const before = opened.again(source.bytes).stops;
  const bytes = new TextEncoder().encode(setInJson(opened.text, ["corrections"], writeCorrections(entries)));
  const after = opened.again(bytes);
  if (after.entries === null || after.entries.length !== entries.length || after.stops > before)
    throw new InputError(source.path, "with this correction the file would not be read any more", "it was left as it is");
  await writeFiles(dirname(source.path), [{ path: basename(source.path), bytes }], { disk });
}

/** All corrections of a file, oldest first, those undone too. */
export const listCorrections = (source: Source, kind: "order" | "shop"): readonly Entry[] => open(source, kind).entries;

/** Adds a correction with its day and reason; nothing else in the file changes, and it is written whole or not at all. */
export async function storeCorrection(
  source: Source,
  kind: "order" | "shop",
  entry: Bare<Entry>,
  said: { readonly date: string; readonly reason: string },
  disk: Disk,
): Promise<void> {
  const opened = open(source, kind);
  await rewrite(source, opened, [...opened.entries, { ...entry, date: said.date, reason: said.reason.slice(0, 300) } as Entry], disk);
}

/** Marks a correction as undone: number `which` of the list (from 1), or the last that counts. Gives it back; null when there is none. */
export async function undo(source: Source, kind: "order" | "shop", which: number | null, date: string, disk: Disk): Promise<Entry | null> {
  const opened = open(source, kind);
  const at = which === null ? opened.entries.findLastIndex((e) => e.undone === undefined) : which - 1;
  const found = opened.entries[at];
  if (found === undefined || found.undone !== undefined) return null;
  await rewrite(
    source,
    opened,
    opened.entries.map((e, k) => (k === at ? { ...e, undone: date } : e)),
    disk,
  );
  return found;
}
