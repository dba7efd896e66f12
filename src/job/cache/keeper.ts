import { deserialize, serialize } from "node:v8";
import { codeVersion } from "./code.ts";
import { digest } from "./digest.ts";
import type { Cache } from "./store.ts";

/** Kinds of results that are kept. */
export type Kept = "asked" | "cut" | "side" | "removed" | "compared" | "measured" | "job";

/** Values in a cache, under the kind of result, the hash of its inputs and the hash of the code that makes it. */
export interface Keeper {
  get<T>(kind: Kept, inputs: string): T | null;
  put(kind: Kept, inputs: string, value: unknown): void;
}

export function keeperOf(cache: Cache): Keeper {
  const key = (kind: Kept, inputs: string): string => digest([kind, inputs, codeVersion()]);
  return {
    get<T>(kind: Kept, inputs: string): T | null {
      const bytes = cache.get(key(kind, inputs));
      return bytes === null ? null : (deserialize(bytes) as T);
    },
    put(kind, inputs, value) {
      cache.put(key(kind, inputs), serialize(value));
    },
  };
}
