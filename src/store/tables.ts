import * as z from "zod";
import { type Kind, type Store, StoreError } from "./types.ts";

/*
 * Tables that the memory keeps alone, beside what follows from the shop's file: woods that lie in the rack, holding plates, the photograph of an
 * order's board, names that versions were given. Each is JSON of a fixed form, checked before it is kept.
 */

const mm = (min: number, max: number): z.ZodNumber => z.number().min(min).max(max);
const title = z.string().min(1).max(80);
const note = z.string().max(400).optional();
type Json = z.core.util.JSONType;

/** A piece of wood in the rack: what it is, and the blank that it gives. */
export interface WoodRow {
  readonly title: string;
  /** As an order names it. */
  readonly species: string;
  readonly length?: number | undefined;
  readonly width?: number | undefined;
  /** Of the shaft's wood. */
  readonly thickness?: number | undefined;
  readonly note?: string | undefined;
}
const wood: z.ZodType<WoodRow> = z.strictObject({
  title,
  species: z.string().min(1).max(80),
  length: mm(50, 5000).optional(),
  width: mm(10, 2000).optional(),
  thickness: mm(5, 100).optional(),
  note,
});

/** A way of holding that serves many orders: the part of an order that says how the piece is held. */
export interface PlateRow {
  readonly title: string;
  readonly holding: { readonly [key: string]: Json };
  readonly note?: string | undefined;
}
const plate: z.ZodType<PlateRow> = z.strictObject({ title, holding: z.record(z.string().max(60), z.json()), note });

/** The straightened photograph of an order's board; null: taken away. */
export interface BoardRow {
  readonly photo: string | null;
}
const board: z.ZodType<BoardRow> = z.strictObject({
  photo: z
    .string()
    .regex(/^[0-9a-f]{64}$/)
    .nullable(),
});

/** What versions of an order are called, by their number. */
export interface NamesRow {
  readonly names: { readonly [version: string]: string };
}
const names: z.ZodType<NamesRow> = z.strictObject({ names: z.record(z.string().regex(/^[1-9]\d{0,8}$/), title) });

const FORMS: { readonly [K in Kind]?: z.ZodType } = { wood, plate, board, names };
export const OWN_TABLES: readonly Kind[] = ["wood", "plate", "board", "names"];

/** Throws StoreError with the place when a row does not have its table's form, or names a photograph that is not kept. */
export function checkRow(store: Store, kind: Kind, text: string): void {
  const form = FORMS[kind];
  if (form === undefined) throw new StoreError(`There is no table "${kind}" of its own.`, `There are ${OWN_TABLES.join(", ")}.`);
  let data: unknown;
  try {
    data = JSON.parse(text);
  } catch {
    throw new StoreError("The row is not JSON.", "Send a JSON object.");
  }
  const read = form.safeParse(data);
  if (!read.success) {
    const { path, message } = read.error.issues[0] as z.core.$ZodIssue;
    throw new StoreError(`${kind}${path.map((p) => `.${String(p)}`).join("")}: ${message}.`, "Nothing was kept.");
  }
  if (kind !== "board") return;
  const { photo } = read.data as BoardRow;
  if (photo !== null && store.bytes(photo) === null) throw new StoreError("This photograph is not kept here.", "Send it first.");
}
