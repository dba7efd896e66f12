/* The straightened photograph of an order's board. It is kept by this browser: the order holds what was drawn over it, not the picture. */

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

export const keepPicture = (order: string, picture: Blob | null): Promise<unknown> =>
  picture === null ? inStore("readwrite", (s) => s.delete(order)) : inStore("readwrite", (s) => s.put(picture, order));

export const pictureOf = (order: string): Promise<Blob | undefined> =>
  inStore("readonly", (s) => s.get(order) as IDBRequest<Blob | undefined>);
