import type { HeightMap } from "../../kernel/heightmap.ts";
import type { SideProof } from "../../proof/types.ts";

/*
 * Maps are mostly runs of one height (the blank's face, the bed of a channel, nothing to compare); written as runs they take a third
 * of the room and come back bit for bit. A head of 2 n + 1 and a word stand for n times the word, a head of 2 n for the n words after it.
 */

/** Shorter runs are not worth a head of their own. */
const LEAST_RUN = 4;

export interface Packed {
  readonly length: number;
  readonly words: Uint32Array;
}

export function pack(values: Float32Array): Packed {
  const v = new Uint32Array(values.buffer, values.byteOffset, values.length);
  const n = v.length;
  let out = new Uint32Array(1024 + (n >> 2));
  let at = 0;
  const room = (words: number): void => {
    if (at + words <= out.length) return;
    const more = new Uint32Array(Math.max(2 * out.length, at + words));
    more.set(out);
    out = more;
  };
  const literal = (from: number, to: number): void => {
    if (to === from) return;
    room(to - from + 1);
    out[at++] = 2 * (to - from);
    out.set(v.subarray(from, to), at);
    at += to - from;
  };
  let from = 0;
  for (let k = 0; k < n; ) {
    const word = v[k];
    let end = k + 1;
    while (end < n && v[end] === word) end++;
    if (end - k >= LEAST_RUN) {
      literal(from, k);
      room(2);
      out[at++] = 2 * (end - k) + 1;
      out[at++] = word;
      from = end;
    }
    k = end;
  }
  literal(from, n);
  return { length: n, words: out.slice(0, at) };
}

/** Throws RangeError when the runs are not as long as they say. */
export function unpack({ length, words }: Packed): Float32Array {
  const out = new Uint32Array(length);
  let to = 0;
  for (let at = 0; at < words.length; ) {
    const head = words[at++];
    const n = head >>> 1;
    if (n === 0 || to + n > length) throw new RangeError("runs do not fit their map");
    if ((head & 1) === 1) out.fill(words[at++], to, to + n);
    else {
      out.set(words.subarray(at, at + n), to);
      at += n;
    }
    to += n;
  }
  if (to !== length) throw new RangeError("runs do not fill their map");
  return new Float32Array(out.buffer);
}

/** A side's proof with its maps as runs. */
export interface PackedSide extends Omit<SideProof, "stock" | "deviation"> {
  readonly stock: Omit<HeightMap, "z"> & { readonly z: Packed };
  readonly deviation: Packed;
}

export const packSide = (p: SideProof): PackedSide => ({
  ...p,
  stock: { ...p.stock, z: pack(p.stock.z) },
  deviation: pack(p.deviation),
});

export const unpackSide = (p: PackedSide): SideProof => ({
  ...p,
  stock: { ...p.stock, z: unpack(p.stock.z) },
  deviation: unpack(p.deviation),
});
