import { parentPort, workerData } from "node:worker_threads";
import { keeperOf } from "./cache/keeper.ts";
import { type CacheOptions, openCache } from "./cache/store.ts";
import type { Reply, Request } from "./pool.ts";
import { TASKS } from "./tasks.ts";
import { buffersOf, compact } from "./transfer.ts";

/** The other end of the pool: takes a task, reports how far it is, sends its result. */
const port = parentPort;
if (port === null) throw new Error("worker.mjs is started by the pool, not by hand");

const { cache } = workerData as { readonly cache: CacheOptions | null };
const keeper = cache === null ? null : keeperOf(openCache(cache));

port.on("message", async ({ id, name, input }: Request) => {
  const reply = (r: Reply, buffers: ArrayBuffer[] = []): void => port.postMessage(r, buffers);
  try {
    const task = TASKS[name] as (input: unknown, progress: (share: number, says: string) => void, keeper: unknown) => Promise<unknown>;
    const output = compact(await task(input, (share, says) => reply({ id, share, says }), keeper));
    reply({ id, output }, buffersOf(output));
  } catch (error) {
    const e = error instanceof Error ? error : new Error(String(error));
    reply({ id, error: { name: e.name, message: e.message, stack: e.stack ?? e.message } });
  }
});
