import { readPhoto, readRow, sendPhoto, writeRow } from "../api.ts";

/*
 * The straightened photograph of an order's board. The shop's memory keeps it, so that every device sees it; this browser has a copy for when the
 * server is away, and sends what it could not send. The order holds what was drawn over it.
 */

interface Kept {
  /** Null: taken away. */
  readonly picture: Blob | null;
  /** Of the picture on the server; null while it is not there. */
  readonly hash: string | null;
  readonly sent: boolean;
}

const open = (): Promise<IDBDatabase> =>
  new Promise((done, fail) => {
    const ask = indexedDB.open("neckwright-boards", 1);
    ask.onupgradeneeded = () => ask.result.createObjectStore("boards");
    ask.onsuccess = () => done(ask.result);
    ask.onerror = () => fail(ask.error ?? new Error("no store"));
  });

async function inStore<T>(mode: IDBTransactionMode, act: (s: IDBObjectStore) => IDBRequest<T>): Promise<T> {
  const db = await open();
  try {
    return await new Promise((done, fail) => {
      const t = db.transaction("boards", mode);
      const r = act(t.objectStore("boards"));
      t.oncomplete = () => done(r.result);
      t.onerror = () => fail(t.error ?? new Error("not kept"));
    });
  } finally {
    db.close();
  }
}

async function keptHere(order: string): Promise<Kept | null> {
  const found = await inStore("readonly", (s) => s.get(order) as IDBRequest<Kept | Blob | undefined>).catch(() => undefined);
  if (found === undefined) return null;
  // pictures of before the shop kept them
  return found instanceof Blob ? { picture: found, hash: null, sent: false } : found;
}
const keepHere = (order: string, kept: Kept): Promise<unknown> => inStore("readwrite", (s) => s.put(kept, order)).catch(() => undefined);

/** Brings what stands here to the server; rejects while it is away. */
async function send(order: string, kept: Kept): Promise<void> {
  const hash = kept.picture === null ? null : await sendPhoto(kept.picture, { kind: "order", name: order, label: "board" });
  await writeRow("board", order, JSON.stringify({ photo: hash }));
  await keepHere(order, { picture: kept.picture, hash, sent: true });
}

/** Keeps a picture, or takes it away; says whether the server has it. */
export async function keepPicture(order: string, picture: Blob | null): Promise<boolean> {
  const kept: Kept = { picture, hash: null, sent: false };
  await keepHere(order, kept);
  return send(order, kept).then(
    () => true,
    () => false,
  );
}

/** The picture of an order's board as the shop has it; while the server is away, as this browser has it. */
export async function pictureOf(order: string): Promise<Blob | null> {
  const here = await keptHere(order);
  try {
    if (here !== null && !here.sent) {
      await send(order, here);
      return here.picture;
    }
    const row = await readRow("board", order);
    const hash = row === null ? null : (JSON.parse(row.text) as { readonly photo: string | null }).photo;
    if (here !== null && here.hash === hash) return here.picture;
    const picture = hash === null ? null : await readPhoto(hash);
    await keepHere(order, { picture, hash, sent: true });
    return picture;
  } catch {
    return here?.picture ?? null;
  }
}
