import { createHash, type Hash } from "node:crypto";

/*
 * One hash for one value, whatever it holds: numbers by their bits (so that -0, NaN and infinities count), text, lists, records by
 * their keys in order of the alphabet, typed arrays by their bytes. A key that is absent and one that is undefined are the same.
 */

/** SHA-256 of any plain value, in hex. Throws on a function: two of them cannot be told apart. */
export function digest(value: unknown): string {
  const into = new Feed();
  feed(into, value);
  return into.end();
}

/** Text and bytes on their way to a hash; text is handed over in large pieces, a call for each word took longer than the hashing. */
class Feed {
  private readonly hash: Hash = createHash("sha256");
  private said = "";

  say(text: string): void {
    this.said += text;
    if (this.said.length > 1 << 16) this.flush();
  }

  bytes(b: Uint8Array): void {
    this.flush();
    this.hash.update(b);
  }

  end(): string {
    this.flush();
    return this.hash.digest("hex");
  }

  private flush(): void {
    if (this.said !== "") this.hash.update(this.said);
    this.said = "";
  }
}

const number = new Float64Array(1);
const bits = new Uint32Array(number.buffer);

function feed(into: Feed, v: unknown): void {
  if (v === undefined) into.say("u");
  else if (v === null) into.say("0");
  else if (typeof v === "boolean") into.say(v ? "t" : "f");
  else if (typeof v === "number") {
    number[0] = v;
    into.say(`n${bits[0].toString(36)}.${bits[1].toString(36)};`);
  } else if (typeof v === "string") text(into, "s", v);
  else if (ArrayBuffer.isView(v)) {
    into.say(`b${v.constructor.name}:${v.byteLength}:`);
    into.bytes(new Uint8Array(v.buffer, v.byteOffset, v.byteLength));
  } else if (Array.isArray(v)) {
    into.say(`a${v.length}:`);
    for (const item of v) feed(into, item);
  } else if (typeof v === "object") {
    const entries = Object.entries(v).filter(([, inner]) => inner !== undefined);
    entries.sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0));
    into.say(`o${entries.length}:`);
    for (const [key, inner] of entries) {
      text(into, "k", key);
      feed(into, inner);
    }
  } else throw new TypeError(`a ${typeof v} has no digest`);
}

const text = (into: Feed, kind: string, s: string): void => into.say(`${kind}${s.length}:${s}`);
