import { setTimeout as sleep } from "node:timers/promises";
import Database from "better-sqlite3";
import { StoreError } from "./types.ts";

/** How long one process waits for another that writes what was made, ms. */
const MOST_WAIT_MS = 60_000;

/**
 * Runs while no other process holds the same lock. It is the system's own lock on the file, taken through SQLite: a process that is killed
 * lets go of it, so nothing stale is ever left. The file stays and is empty of meaning.
 */
export async function withLock<T>(path: string, act: () => Promise<T>): Promise<T> {
  const db = new Database(path, { timeout: 0 });
  try {
    for (let waited = 0, step = 5; ; waited += step, step = Math.min(200, step * 2)) {
      try {
        db.exec("BEGIN EXCLUSIVE");
        break;
      } catch (e) {
        if (!(e instanceof Database.SqliteError && e.code.startsWith("SQLITE_BUSY"))) throw e;
        if (waited > MOST_WAIT_MS) throw new StoreError("Another program has been writing here for a minute.", "End it, and try again.");
        await sleep(step);
      }
    }
    return await act();
  } finally {
    db.close();
  }
}
