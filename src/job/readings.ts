import { effectOfScale, type PatternReading, readPattern, readSlot, readThickness } from "../holding/correct/machine.ts";
import { effectOf, type MarkReading, READING, readBlank, readMarks, readStep } from "../holding/correct/piece.ts";
import type { Effect, Found } from "../holding/correct/types.ts";
import { correctionText } from "../spec/correction-text.ts";
import type { OrderCorrection, ShopCorrection } from "../spec/corrections.ts";
import { parseOrder, parseShop } from "../spec/index.ts";
import { setInJson } from "../spec/set-json.ts";
import type { CutterSpec, OrderSpec, ShopSpec } from "../spec/types.ts";
import { writeCorrections } from "../spec/write.ts";
import { isStop, type Mm, type Rad } from "../units/index.ts";
import { InputError } from "./errors.ts";

/* What readings taken at the machine mean, and how they are kept. Uses nothing of Node: the command and the bench share it. */

export type { Effect, OrderCorrection, PatternReading, ShopCorrection };
export { correctionText, writeCorrections };

export type Entry = OrderCorrection | ShopCorrection;
/** An entry before it is given its day and reason. */
export type Bare<T> = T extends unknown ? Omit<T, "date" | "reason" | "undone"> : never;

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
export function measureWidth(cutter: CutterSpec, slot: Mm, calliper: Mm | null): Measured {
  const { number } = cutter;
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

/** The same from two marks or more, each with its place in the carve program: shifted and askew. */
export function measureMarks(marks: readonly MarkReading[]): Measured {
  const { x, y, angle } = sense(readMarks(marks), "--mark");
  const most = (of: (m: MarkReading) => number): Mm => marks.reduce((a, m) => (Math.abs(of(m)) > Math.abs(a) ? of(m) : a), 0);
  return {
    entry: { kind: "turn", x: round(x, 1000), y: round(y, 1000), angle },
    effects: [
      effectOf(
        "largest step between the sides along x",
        most((m) => m.dx),
      ),
      effectOf(
        "largest step between the sides along y",
        most((m) => m.dy),
      ),
    ],
    says: marks.map((m) => `mark ${m.x}, ${m.y}: ${m.dx} mm in x, ${m.dy} mm in y`).join("; "),
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

/** What a file says of its corrections when it is read. */
export interface Reread {
  /** Null: it cannot be read. */
  readonly entries: readonly Entry[] | null;
  readonly stops: number;
}

/**
 * The file's text with these corrections and every other byte as it was. Throws InputError when the file would then not be read, or be stopped by
 * more than before.
 */
export function correctedText(path: string, text: string, entries: readonly Entry[], read: (text: string) => Reread): string {
  const before = read(text).stops;
  const next = setInJson(text, ["corrections"], writeCorrections(entries));
  const after = read(next);
  if (after.entries === null || after.entries.length !== entries.length || after.stops > before)
    throw new InputError(path, "with this correction the file would not be read any more", "it was left as it is");
  return next;
}

/** An entry with its day and reason. */
export const dated = (entry: Bare<Entry>, said: { readonly date: string; readonly reason: string }): Entry =>
  ({ ...entry, date: said.date, reason: said.reason.slice(0, 300) }) as Entry;

/** The list with entry `at` marked as undone. */
export const undoneAt = (entries: readonly Entry[], at: number, date: string): Entry[] =>
  entries.map((e, k) => (k === at ? { ...e, undone: date } : e));

/** What an order's text says of its corrections; its drawing is not looked at. */
export function rereadOrder(text: string): Reread {
  const { value, findings } = parseOrder(text);
  return { entries: value === undefined ? null : (value.corrections ?? []), stops: findings.filter(isStop).length };
}

/** The same of a shop's text. */
export function rereadShop(text: string): Reread {
  const { value, findings } = parseShop(text);
  return { entries: value === undefined ? null : (value.corrections ?? []), stops: findings.filter(isStop).length };
}

/** Where the neck lies after a scribe was measured, as an entry. */
export const placementEntry = (to: {
  readonly tipFromEnd: Mm;
  readonly centreFromDatum: Mm;
  readonly rotation: Rad;
}): Bare<OrderCorrection> => ({
  kind: "placement",
  tipFromEnd: round(to.tipFromEnd, 1000),
  centreFromDatum: round(to.centreFromDatum, 1000),
  rotation: to.rotation,
});
