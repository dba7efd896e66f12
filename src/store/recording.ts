import { existsSync, realpathSync } from "node:fs";
import { basename, dirname, join, resolve } from "node:path";
import { sha256 } from "../job/hash.ts";
import type { MadeRecord, PaperKind } from "../job/records.ts";

/*
 * The command line works on files. When the order's file lies in a shop's folder that has a memory, what is made of it is remembered there as
 * it is when the bench makes it, and both take turns at the made folder.
 */

const PAPER = /^([a-z0-9]+(?:-[a-z0-9]+)*)\.(order|shop)\.json$/;

const named = (path: string, kind: PaperKind): string | null => {
  const m = PAPER.exec(basename(path));
  return m !== null && m[2] === kind ? m[1] : null;
};

export interface Recording {
  /** Runs the writing of a made folder while nobody else writes what was made of this order. */
  alone<T>(act: () => Promise<T>): Promise<T>;
  made(record: Omit<MadeRecord, "order" | "shop">): Promise<void>;
  close(): void;
}

/** Where no memory is: everything is done, nothing is remembered. */
const NONE: Recording = { alone: (act) => act(), made: () => Promise.resolve(), close: () => undefined };

/** The memory of the folder that an order's file lies in; the database is loaded only where there is one. */
export async function recordingOf(orderPath: string, shopPath: string): Promise<Recording> {
  const order = named(orderPath, "order");
  const folder = dirname(resolve(orderPath));
  if (order === null || !existsSync(join(folder, ".neckwright", "shop.db"))) return NONE;
  const shop = named(shopPath, "shop");
  const memory = new (await import("./folder.ts")).FolderMemory(folder);
  return {
    alone: (act) => memory.alone(order, act),
    made: async (record) => {
      // the version it was made from is in the memory before what was made of it
      await memory.open(order, "order");
      if (shop !== null && realpathSync(dirname(resolve(shopPath))) === memory.folder) await memory.open(shop, "shop");
      await memory.made({ ...record, order, shop: shop ?? "elsewhere" }, "command line");
    },
    close: () => memory.close(),
  };
}

/**
 * Does something to what lies beside an order while nobody else does: under the lock that the bench and `make` take for that order. Where the
 * folder has no memory there is nobody to wait for.
 */
export async function aloneWith<T>(folder: string, order: string, act: () => Promise<T>): Promise<T> {
  if (!PAPER.test(`${order}.order.json`) || !existsSync(join(folder, ".neckwright", "shop.db"))) return act();
  const memory = new (await import("./folder.ts")).FolderMemory(folder);
  try {
    return await memory.alone(order, act);
  } finally {
    memory.close();
  }
}

/**
 * How an order or a shop of a shop's folder is written: as its next version, under the lock that the bench takes. False when the file is no longer
 * what it was read as; nothing is written then. Null where there is no memory: the file stands alone.
 */
export async function writingOf(path: string): Promise<((before: Uint8Array, bytes: Uint8Array) => Promise<boolean>) | null> {
  const folder = dirname(resolve(path));
  const m = PAPER.exec(basename(path));
  if (m === null || !existsSync(join(folder, ".neckwright", "shop.db"))) return null;
  const [, name, kind] = m as unknown as [string, string, PaperKind];
  const { FolderMemory } = await import("./folder.ts");
  return async (before, bytes) => {
    const memory = new FolderMemory(folder);
    try {
      return !(
        "conflict" in
        (await memory.save(name, kind, new TextDecoder("utf-8", { ignoreBOM: true }).decode(bytes), sha256(before), "command line"))
      );
    } finally {
      memory.close();
    }
  };
}
