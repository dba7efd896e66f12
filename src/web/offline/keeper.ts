/*
 * Keeps the bench's pages and the last answers of the server, so that the bench opens while the server is away. The server is always asked
 * first; what it does not answer comes from what it answered last. Nothing that changes anything passes through here, and a device that is no
 * longer let in forgets what it kept.
 */

import { isKept, isShutOut, keeps } from "./keeps.ts";

interface Keeper {
  readonly caches: CacheStorage;
  readonly clients: { claim(): Promise<void> };
  skipWaiting(): Promise<void>;
  addEventListener(
    kind: "install" | "activate" | "fetch",
    f: (e: { waitUntil(p: Promise<unknown>): void; readonly request: Request; respondWith(r: Promise<Response>): void }) => void,
  ): void;
}

const keeper = globalThis as unknown as Keeper;
const KEPT = "neckwright-bench-1";
/** Answers that are kept, at most; the oldest go first. */
const MOST = 400;

const install = async (): Promise<void> => {
  const cache = await keeper.caches.open(KEPT);
  const files = (await (await fetch("/bench/files.json")).json()) as readonly string[];
  await cache.addAll(["/", ...files.map((f) => `/bench/${f}`)]);
  await keeper.skipWaiting();
};

async function answer(request: Request): Promise<Response> {
  const cache = await keeper.caches.open(KEPT);
  try {
    const fresh = await fetch(request);
    if (isShutOut(fresh)) {
      await keeper.caches.delete(KEPT);
      return fresh;
    }
    if (isKept(fresh)) {
      await cache.put(request, fresh.clone());
      const keys = await cache.keys();
      for (const old of keys.slice(0, Math.max(0, keys.length - MOST)))
        if (!new URL(old.url).pathname.startsWith("/bench/")) await cache.delete(old);
    }
    return fresh;
  } catch (error) {
    const kept = (await cache.match(request)) ?? (await cache.match(request, { ignoreSearch: true }));
    if (kept !== undefined) return kept;
    throw error;
  }
}

keeper.addEventListener("install", (e) => e.waitUntil(install()));
keeper.addEventListener("activate", (e) => e.waitUntil(keeper.clients.claim()));
keeper.addEventListener("fetch", (e) => {
  const { request } = e;
  const { pathname } = new URL(request.url);
  if (request.method !== "GET" || !keeps(pathname)) return;
  e.respondWith(answer(request));
});
