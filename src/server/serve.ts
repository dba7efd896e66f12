import { createServer as createTlsServer } from "node:https";
import { createSecureContext } from "node:tls";
import { serve } from "@hono/node-server";
import type { CacheOptions } from "../job/cache/store.ts";
import { realDisk } from "../job/disk.ts";
import { codeOfError, InputError } from "../job/errors.ts";
import { checkFolder, readText } from "../job/input.ts";
import { ShopFolder } from "../job/shop-folder.ts";
import type { FolderMemory } from "../store/folder.ts";
import { StoreError } from "../store/types.ts";
import { makeApp } from "./app.ts";
import { makeBench } from "./bench.ts";
import { makeLan } from "./guard.ts";
import { addressesOf } from "./pair-pages.ts";
import { Pairing } from "./pairing.ts";
import { Refusals } from "./refusals.ts";

export interface Serving {
  /** "http://127.0.0.1:PORT/" */
  readonly address: string;
  /** On the workshop's network: where others find it, and the code that counts first. */
  readonly lan?: { readonly addresses: readonly string[]; readonly code: string };
  close(): Promise<void>;
}

/** Where the report is served when nobody says otherwise; the next free port when that one is taken. */
export const DEFAULT_PORT = 7320;

/** Serves a made folder on this machine only. `port` null: the default or, when taken, any free one. 0: any free one. */
export async function serveFolder(folder: string, port: number | null): Promise<Serving> {
  await checkFolder(folder, "made folder");
  return open(makeApp(folder).fetch, port);
}

export interface ShopServing {
  readonly port: number | null;
  /** The folder of the built app. */
  readonly pages: string;
  readonly workers: number;
  readonly cache?: CacheOptions | null;
  /** Also for paired devices on the workshop's network; with a certificate through TLS. */
  readonly lan?: { readonly certificate: { readonly cert: string; readonly key: string } | null };
  /** Shorter in tests. */
  readonly patience?: Patience;
  /** Takes what is refused, a line each. */
  readonly log?: (line: string) => void;
}

/** Serves the bench over a shop's folder: on this machine only, or with `lan` on its network. Closing ends what it is making. */
export async function serveShop(folder: string, o: ShopServing): Promise<Serving> {
  const found = await realDisk.kind(folder);
  if (found?.kind !== "folder")
    throw new InputError(folder, "there is no such folder", "name a folder of NAME.order.json and NAME.shop.json files");
  const tls = o.lan?.certificate == null ? null : await readCertificate(o.lan.certificate);
  const memory = await openMemory(folder);
  const shop = new ShopFolder(folder, { workers: o.workers, records: memory, cache: o.cache ?? null });
  const lan = o.lan === undefined ? undefined : makeLan(new Pairing(memory.store), tls !== null);
  let port = 0;
  const bench = makeBench(shop, o.pages, {
    memory,
    refusals: new Refusals(o.log),
    port: () => port,
    ...(lan === undefined ? {} : { lan }),
  });
  try {
    const serving = await open(bench.fetch, o.port, { everywhere: lan !== undefined, tls, patience: o.patience ?? PATIENCE });
    port = Number(new URL(serving.address).port);
    return {
      address: serving.address,
      ...(lan === undefined ? {} : { lan: { addresses: addressesOf(lan, port), code: lan.pairing.renew().code } }),
      close: async () => {
        await shop.close();
        await serving.close();
        memory.close();
      },
    };
  } catch (e) {
    memory.close();
    throw e;
  }
}

async function readCertificate(files: { readonly cert: string; readonly key: string }): Promise<Tls> {
  const [cert, key] = [await readText(files.cert, "certificate", 1e6), await readText(files.key, "key of the certificate", 1e5)];
  try {
    createSecureContext({ cert, key });
  } catch (e) {
    throw new InputError(
      files.cert,
      `certificate and key cannot be used: ${e instanceof Error ? e.message : String(e)}`,
      "give both as PEM, the key without a password, and belonging together",
    );
  }
  return { cert, key };
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

interface Tls {
  readonly cert: string;
  readonly key: string;
}

/** How it listens; absent: on this machine, without TLS. */
interface Listening {
  readonly everywhere: boolean;
  readonly tls: Tls | null;
  readonly patience: Patience;
}

type Fetch = (request: Request, env: never) => Response | Promise<Response>;

async function open(
  fetch: Fetch,
  port: number | null,
  how: Listening = { everywhere: false, tls: null, patience: PATIENCE },
): Promise<Serving> {
  try {
    return await listen(fetch, port ?? DEFAULT_PORT, how);
  } catch (error) {
    if (codeOfError(error) === "EADDRINUSE" && port === null) return listen(fetch, 0, how);
    if (codeOfError(error) === "EADDRINUSE") {
      throw new InputError(`port ${port}`, "another program listens on this port", "choose another --port, or 0 for any free one");
    }
    if (codeOfError(error) === "EACCES") throw new InputError(`port ${port}`, "this port may not be opened", "choose a --port above 1023");
    throw error;
  }
}

/** Against those who send slowly, or keep many connections open: ms, bytes, connections. */
export interface Patience {
  readonly headersTimeout: number;
  readonly requestTimeout: number;
  readonly keepAliveTimeout: number;
  readonly connectionsCheckingInterval: number;
}
const PATIENCE: Patience = { headersTimeout: 10_000, requestTimeout: 60_000, keepAliveTimeout: 5_000, connectionsCheckingInterval: 2_000 };
const MOST_HEADERS = 16 * 1024;
const MOST_CONNECTIONS = 200;

function listen(fetch: Fetch, port: number, { everywhere, tls, patience }: Listening): Promise<Serving> {
  const options = { ...patience, maxHeaderSize: MOST_HEADERS };
  return new Promise((resolve, reject) => {
    const server = serve(
      {
        fetch: fetch as (request: Request) => Response | Promise<Response>,
        port,
        hostname: everywhere ? "0.0.0.0" : "127.0.0.1",
        ...(tls === null ? { serverOptions: options } : { createServer: createTlsServer, serverOptions: { ...options, ...tls } }),
      },
      (info) => {
        server.off("error", reject);
        resolve({
          address: `${tls === null ? "http" : "https"}://127.0.0.1:${info.port}/`,
          close: () =>
            new Promise<void>((done) => {
              server.close(() => done());
              if ("closeAllConnections" in server) server.closeAllConnections();
            }),
        });
      },
    );
    server.maxConnections = MOST_CONNECTIONS;
    server.once("error", reject);
  });
}
