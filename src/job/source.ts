import { type DrawingRequest, parseOrder, parseShop, readOutline } from "../spec/index.ts";
import type { CutterSpec, OrderSpec, ShopSpec } from "../spec/types.ts";
import { type Finding, finding } from "../units/index.ts";
import { InputError } from "./errors.ts";
import { sha256 } from "./hash.ts";
import { DRAWING_FILE } from "./rules.ts";

export { MAX_SOURCE_BYTES } from "./input.ts";

/** An order or a shop as it was given: the name it is called by in messages, and its bytes. */
export interface Source {
  readonly path: string;
  readonly bytes: Uint8Array;
  /** Bytes of the drawing that the order asks for (see drawingAsked). */
  readonly drawing?: Uint8Array;
}

/** A source read: with its value, or with the findings that say why there is none. */
export type Read<T> = { readonly value: T | null; readonly findings: readonly Finding[]; readonly sha256: string };

/** The drawing that an order asks for; null when it asks for none, or cannot be read. */
export const drawingAsked = (order: Uint8Array): DrawingRequest | null => parseOrder(order).value?.headstock.outline ?? null;

/**
 * The order with its drawing read. The hash is of the order's bytes, followed by the drawing's where there is one:
 * `cat order.json head.svg | sha256sum`.
 */
export function readOrder(source: Source): Read<OrderSpec> {
  const { value, findings } = parseOrder(source.bytes);
  const request = value?.headstock.outline;
  if (!value || !request) return { value: value ?? null, findings, sha256: sha256(source.bytes) };
  if (source.drawing === undefined) {
    const missing = finding(DRAWING_FILE, {
      where: "headstock.outline.drawing",
      value: request.drawing,
      limit: null,
      unit: "",
      says: `The order asks for the drawing ${request.drawing}, which was not given with it.`,
      tryThis: "Give the order as a file, with the drawing in its folder.",
    });
    return { value: null, findings: [...findings, missing], sha256: sha256(source.bytes) };
  }
  const both = new Uint8Array(source.bytes.length + source.drawing.length);
  both.set(source.bytes);
  both.set(source.drawing, source.bytes.length);
  const drawn = readOutline(source.drawing, request);
  return {
    value: drawn.outline === null ? null : { ...value, headstock: { ...value.headstock, drawing: drawn.outline } },
    findings: [...findings, ...drawn.findings],
    sha256: sha256(both),
  };
}

export function readShop(source: Source): Read<ShopSpec> {
  const { value, findings } = parseShop(source.bytes);
  return { value: value ?? null, findings, sha256: sha256(source.bytes) };
}

/** The cutter that an option names by its number; throws InputError when the shop has none of it. */
export function cutterNamed(shop: ShopSpec, number: number): CutterSpec {
  const cutter = shop.cutters.find((c) => c.number === number);
  if (cutter !== undefined) return cutter;
  const have = `it has ${shop.cutters.map((c) => c.number).join(", ")}`;
  throw new InputError(`--cutter ${number}`, "the shop has no cutter of this number", have);
}
