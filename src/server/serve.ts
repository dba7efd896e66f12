import { serve } from "@hono/node-server";
import { realDisk } from "../job/disk.ts";
import { codeOfError, InputError } from "../job/errors.ts";
import { checkFolder } from "../job/input.ts";
import { ShopFolder } from "../job/shop-folder.ts";
import type { FolderMemory } from "../store/folder.ts";
import { StoreError } from "../store/types.ts";
import { makeApp } from "./app.ts";
import { makeBench } from "./bench.ts";

export interface Serving {
  /** "http://127.0.0.1:PORT/" */
  readonly address: string;
  close(): Promise<void>;
}

/** Where the report is served when nobody says otherwise; the next free port when that one is taken. */
export const DEFAULT_PORT = 7320;

/** Serves a made folder on this machine only. `port` null: the default or, when taken, any free one. 0: any free one. */
export async function serveFolder(folder: string, port: number | null): Promise<Serving> {
  await checkFolder(folder, "made folder");
  return open(makeApp(folder).fetch, port);
}

/** Serves the bench over a shop's folder, on this machine only. `pages`: the folder of the built app. Closing ends what it is making. */
export async function serveShop(folder: string, port: number | null, pages: string, workers: number): Promise<Serving> {
  const found = await realDisk.kind(folder);
  if (found?.kind !== "folder")
    throw new InputError(folder, "there is no such folder", "name a folder of NAME.order.json and NAME.shop.json files");
  const memory = await openMemory(folder);
  const shop = new ShopFolder(folder, { workers, records: memory });
  const serving = await open(makeBench(shop, pages).fetch, port).catch((e: unknown) => {
    memory.close();
    throw e;
  });
  return {
    address: serving.address,
    close: async () => {
      await shop.close();
      await serving.close();
      memory.close();
    },
  };
}

/** The folder's memory, with what lies in the folder taken in. */
async function openMemory(folder: string): Promise<FolderMemory> {
  try {
    // the database is loaded only for a shop's folder
    const memory = new (await import("../store/folder.ts")).FolderMemory(folder);
    await (await import("../store/tidy.ts")).tidy(memory);
    memory.takeInAll();
    return memory;
  } catch (e) {
    if (e instanceof StoreError) throw new InputError(folder, e.message, e.tryThis);
    throw e;
  }
}

async function open(fetch: (request: Request) => Response | Promise<Response>, port: number | null): Promise<Serving> {
  try {
    return await listen(fetch, port ?? DEFAULT_PORT);
  } catch (error) {
    if (codeOfError(error) === "EADDRINUSE" && port === null) return listen(fetch, 0);
    if (codeOfError(error) === "EADDRINUSE") {
      throw new InputError(`port ${port}`, "another program listens on this port", "choose another --port, or 0 for any free one");
    }
    if (codeOfError(error) === "EACCES") throw new InputError(`port ${port}`, "this port may not be opened", "choose a --port above 1023");
    throw error;
  }
}

function listen(fetch: (request: Request) => Response | Promise<Response>, port: number): Promise<Serving> {
  return new Promise((resolve, reject) => {
    const server = serve({ fetch, port, hostname: "127.0.0.1" }, (info) => {
      server.off("error", reject);
      resolve({
        address: `http://127.0.0.1:${info.port}/`,
        close: () =>
          new Promise<void>((done) => {
            server.close(() => done());
            if ("closeAllConnections" in server) server.closeAllConnections();
          }),
      });
    });
    server.once("error", reject);
  });
}
