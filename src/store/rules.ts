import { sha256 } from "../job/hash.ts";
import { KINDS, type Kind, type Said, StoreError } from "./types.ts";

/* What every store refuses, so that all of them refuse the same. */

const NAME = /^[a-z0-9]+(?:-[a-z0-9]+)*$/;
const MOST_NAME = 90;
/** Of a document; photographs are bytes of their own. */
export const MOST_TEXT = 4_000_000;
/** Of one photograph. */
export const MOST_BYTES = 24_000_000;
const HASH = /^[0-9a-f]{64}$/;

export function checkName(kind: Kind, name: string): void {
  if (!KINDS.includes(kind))
    throw new StoreError(`There is no kind of document called "${String(kind).slice(0, 40)}".`, `Use ${KINDS.join(", ")}.`);
  if (!NAME.test(name) || name.length > MOST_NAME)
    throw new StoreError(`No ${kind} can be called "${name.slice(0, 60)}".`, `Use small letters, digits and dashes, at most ${MOST_NAME}.`);
}

/** The mark of a text that may be kept. */
export function markOf(text: string): string {
  if (text.length > MOST_TEXT) throw new StoreError(`This text has ${text.length} letters; at most ${MOST_TEXT} are kept.`, "Shorten it.");
  try {
    JSON.parse(text);
  } catch (e) {
    throw new StoreError(`This is not JSON: ${e instanceof Error ? e.message : String(e)}`, "Mend it and send it again.");
  }
  return sha256(new TextEncoder().encode(text));
}

export function checkSaid(said: Said): void {
  if (Number.isNaN(Date.parse(said.at)) || !said.at.endsWith("Z"))
    throw new StoreError(`"${said.at}" is no time.`, "Give it as 2026-01-31T12:00:00.000Z.");
  if (said.by === "" || said.by.length > 200)
    throw new StoreError("Who changes something has to be said, in at most 200 letters.", "Name the device.");
}

export function checkBytes(bytes: Uint8Array): string {
  if (bytes.length > MOST_BYTES)
    throw new StoreError(`${bytes.length} bytes are more than can be kept (${MOST_BYTES}).`, "Send a smaller picture.");
  return sha256(bytes);
}

export function checkHash(hash: string): void {
  if (!HASH.test(hash)) throw new StoreError("This is no SHA-256 hash.", "Use the one that was given when the bytes were kept.");
}
