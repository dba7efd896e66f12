import { type CacheOptions, DEFAULT_LIMIT } from "../job/cache/store.ts";
import type { Io } from "./io.ts";

/** --cache DIR, --no-cache, or what the surroundings say. */
export const cacheAsked = (io: Io, asked: string | false | undefined): CacheOptions | null =>
  asked === undefined ? io.cache : asked === false ? null : { folder: asked, limit: io.cache?.limit ?? DEFAULT_LIMIT };
