import { MAX_FILE_BYTES, parseOrder, parseShop } from "../spec/index.ts";
import type { OrderSpec, ShopSpec } from "../spec/types.ts";
import type { Finding } from "../units/index.ts";
import { sha256 } from "./hash.ts";

/** Larger files are not opened. */
export const MAX_SOURCE_BYTES: number = MAX_FILE_BYTES;

/** An order or a shop as it was given: the name it is called by in messages, and its bytes. */
export interface Source {
  readonly path: string;
  readonly bytes: Uint8Array;
}

/** A source read: with its value, or with the findings that say why there is none. */
export type Read<T> = { readonly value: T | null; readonly findings: readonly Finding[]; readonly sha256: string };

export function readOrder(source: Source): Read<OrderSpec> {
  const { value, findings } = parseOrder(source.bytes);
  return { value: value ?? null, findings, sha256: sha256(source.bytes) };
}

export function readShop(source: Source): Read<ShopSpec> {
  const { value, findings } = parseShop(source.bytes);
  return { value: value ?? null, findings, sha256: sha256(source.bytes) };
}
