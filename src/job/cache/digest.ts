import { createHash, type Hash } from "node:crypto";

/*
 * One hash for one value, whatever it holds: numbers by their bits (so that -0, NaN and infinities count), text, lists, records by
 * their keys in order of the alphabet, typed arrays by their bytes. A key that is absent and one that is undefined are the same.
 */

/** SHA-256 of any plain value, in hex. Throws on a function: two of them cannot be told apart. */
export function digest(value: unknown): string {
  const hash = createHash("sha256");
  feed(hash, value);
  return hash.digest("hex");
}

const number = new Float64Array(1);
const bytes = new Uint8Array(number.buffer);

function feed(hash: Hash, v: unknown): void {
  if (v === undefined) hash.update("u");
  else if (v === null) hash.update("0");
  else if (typeof v === "boolean") hash.update(v ? "t" : "f");
  else if (typeof v === "number") {
    number[0] = v;
    hash.update("n").update(bytes);
  } else if (typeof v === "string") text(hash, "s", v);
  else if (ArrayBuffer.isView(v)) {
    hash.update(`b${v.constructor.name}:${v.byteLength}:`);
    hash.update(new Uint8Array(v.buffer, v.byteOffset, v.byteLength));
  } else if (Array.isArray(v)) {
    hash.update(`a${v.length}:`);
    for (const item of v) feed(hash, item);
  } else if (typeof v === "object") {
    const entries = Object.entries(v).filter(([, inner]) => inner !== undefined);
    entries.sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0));
    hash.update(`o${entries.length}:`);
    for (const [key, inner] of entries) {
      text(hash, "k", key);
      feed(hash, inner);
    }
  } else throw new TypeError(`a ${typeof v} has no digest`);
}

function text(hash: Hash, kind: string, s: string): void {
  hash.update(`${kind}${Buffer.byteLength(s)}:`).update(s);
}
