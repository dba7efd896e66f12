import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import fc from "fast-check";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { MemoryStore } from "./memory.ts";
import { SqliteStore } from "./sqlite.ts";
import type { Put, Store } from "./types.ts";

let dir: string;
beforeAll(() => {
  dir = mkdtempSync(join(tmpdir(), "neckwright-store-"));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

const said = (n: number): { at: string; by: string } => ({ at: new Date(Date.UTC(2026, 0, 1, 0, 0, n)).toISOString(), by: "bench" });
const markIn = (p: Put): string => {
  if (!("head" in p)) throw new Error("a conflict");
  return p.head.mark;
};

/** Every store has to pass all of these. */
const STORES: readonly (readonly [string, () => Store])[] = [
  ["memory", () => new MemoryStore()],
  ["SQLite", () => new SqliteStore(":memory:")],
];

describe.each(STORES)("the store: %s", (_name, open) => {
  test("keeps every version of a document, and gives the last", () => {
    const s = open();
    let mark: string | null = null;
    for (let k = 1; k <= 5; k++) mark = markIn(s.put("order", "loan-one", `{"title": "v${k}"}`, mark, said(k)));
    expect(s.get("order", "loan-one")).toMatchObject({ version: 5, text: '{"title": "v5"}', mark, removed: false, by: "bench" });
    expect(s.version("order", "loan-one", 2)?.text).toBe('{"title": "v2"}');
    expect(s.version("order", "loan-one", 9)).toBeNull();
    expect(s.versions("order", "loan-one", 2).map((h) => h.version)).toEqual([5, 4]);
    expect(s.versions("order", "loan-one", 9, 3).map((h) => h.version)).toEqual([2, 1]);
    expect(s.knows("order", "loan-one", mark as string)).toBe(true);
    expect(s.knows("order", "loan-two", mark as string)).toBe(false);
    expect(s.textOf(mark as string)).toBe('{"title": "v5"}');
    expect(s.textOf("0".repeat(64))).toBeNull();
    s.close();
  });

  test("a change made from another version is a conflict and writes nothing; the same text makes no version", () => {
    const s = open();
    const one = markIn(s.put("shop", "shed", "[1]", null, said(1)));
    const two = markIn(s.put("shop", "shed", "[2]", one, said(2)));
    expect(s.put("shop", "shed", "[3]", one, said(3))).toMatchObject({ conflict: { text: "[2]", version: 2 } });
    expect(s.put("shop", "shed", "[3]", null, said(3))).toMatchObject({ conflict: { version: 2 } });
    expect(s.put("shop", "loft", "[3]", two, said(3))).toEqual({ conflict: null });
    expect(s.put("shop", "shed", "[2]", two, said(4))).toMatchObject({ head: { version: 2 } });
    expect(s.changes(0, 99)).toHaveLength(2);
    s.close();
  });

  test("what is taken away is gone from the list, its versions stay, and it can come back", () => {
    const s = open();
    const one = markIn(s.put("order", "a", "[1]", null, said(1)));
    s.put("order", "b", "[1]", null, said(1));
    expect(s.remove("order", "a", "0".repeat(64), said(2))).toMatchObject({ conflict: { version: 1 } });
    expect(s.remove("order", "a", one, said(2))).toMatchObject({ head: { version: 2, removed: true } });
    expect(s.get("order", "a")).toBeNull();
    expect(s.list("order").map((h) => h.name)).toEqual(["b"]);
    expect(s.version("order", "a", 1)?.text).toBe("[1]");
    expect(s.put("order", "a", "[1]", null, said(3))).toMatchObject({ head: { version: 3, removed: false } });
    expect(s.get("order", "a")?.text).toBe("[1]");
    s.close();
  });

  test("the history of everything runs in the order of the changes", () => {
    const s = open();
    s.put("order", "a", "[1]", null, said(1));
    s.put("shop", "a", "[1]", null, said(2));
    s.put("run", "a", "[1]", null, said(3));
    const all = s.changes(0, 2);
    expect(all.map((c) => c.kind)).toEqual(["order", "shop"]);
    expect(s.changes(all[1].seq, 9).map((c) => c.kind)).toEqual(["run"]);
    s.close();
  });

  test("keeps bytes once, whatever they are attached to", () => {
    const s = open();
    const hash = s.keep("image/png", Uint8Array.of(1, 2, 3));
    expect(s.keep("image/png", Uint8Array.of(1, 2, 3))).toBe(hash);
    s.attach("run", "a", hash, "the nut", said(1));
    s.attach("run", "a", hash, "again", said(2));
    s.attach("order", "b", hash, "board", said(3));
    expect(s.attached("run", "a")).toMatchObject([{ hash, media: "image/png", label: "the nut", size: 3 }]);
    expect([...(s.bytes(hash)?.bytes ?? [])]).toEqual([1, 2, 3]);
    expect(s.bytes("0".repeat(64))).toBeNull();
    expect(() => s.attach("run", "a", "0".repeat(64), "", said(1))).toThrow("not kept here");
    s.close();
  });

  test("jobs newest first; a job said twice is one; cutters wear once for each step; devices can be withdrawn", () => {
    const s = open();
    const job = { id: "j1", order: "a", orderMark: "m", shop: "s", state: "done", programs: [], ...said(1) } as const;
    s.putJob(job);
    s.putJob({ ...job, id: "j2" });
    s.putJob({ ...job, state: "stopped" });
    expect(s.jobs("a", 9).map((j) => [j.id, j.state])).toEqual([
      ["j2", "done"],
      ["j1", "stopped"],
    ]);
    expect(s.jobs("a", 1)).toHaveLength(1);
    s.wear("shed-t1", "run-1 p1", 1000, said(1));
    s.wear("shed-t1", "run-1 p1", 1200, said(2));
    s.wear("shed-t1", "run-1 p2", 300, said(2));
    expect(s.worn("shed-t1")).toBe(1500);
    expect(s.worn("shed-t2")).toBe(0);
    s.putDevice({ id: "d", name: "tablet", keyHash: "k", since: said(1).at, withdrawn: null });
    s.putDevice({ id: "d", name: "tablet", keyHash: "k", since: said(1).at, withdrawn: said(2).at });
    expect(s.devices()).toEqual([{ id: "d", name: "tablet", keyHash: "k", since: said(1).at, withdrawn: said(2).at }]);
    expect(s.check()).toEqual([]);
    s.close();
  });

  test("several changes hold together or not at all", () => {
    const s = open();
    const one = markIn(s.put("order", "a", "[1]", null, said(1)));
    const half = (): void => {
      s.put("order", "a", "[2]", one, said(2));
      s.put("order", "b", "[2]", null, said(2));
      s.wear("shed-t1", "p1", 5, said(2));
      s.putJob({ id: "j1", order: "a", orderMark: "m", shop: "s", state: "done", programs: [], ...said(2) });
      throw new Error("stop here");
    };
    expect(() => s.together(half)).toThrow("stop here");
    expect([s.get("order", "a")?.text, s.get("order", "b"), s.worn("shed-t1"), s.jobs("a", 9), s.changes(0, 9).length]).toEqual([
      "[1]",
      null,
      0,
      [],
      1,
    ]);
    expect(s.together(() => markIn(s.put("order", "a", "[3]", one, said(3))))).toBe(s.get("order", "a")?.mark);
    s.close();
  });

  test("refuses names, texts, times and lengths that are none", () => {
    const s = open();
    for (const name of ["", "A", "a b", "../a", "a/b", "a".repeat(91), "-a"])
      expect(() => s.put("order", name, "[]", null, said(1)), name).toThrow("can be called");
    expect(() => s.put("order", "a", "{", null, said(1))).toThrow("not JSON");
    expect(() => s.put("order", "a", `"${"x".repeat(4_000_001)}"`, null, said(1))).toThrow("at most");
    expect(() => s.put("order", "a", "[]", null, { at: "yesterday", by: "x" })).toThrow("no time");
    expect(() => s.put("order", "a", "[]", null, { ...said(1), by: "" })).toThrow("has to be said");
    expect(() => s.put("nonsense" as never, "a", "[]", null, said(1))).toThrow("no kind");
    expect(() => s.wear("t", "s", Number.NaN, said(1))).toThrow("no length");
    expect(() => s.keep("x", new Uint8Array(24_000_001))).toThrow("more than can be kept");
    expect(s.changes(0, 9)).toEqual([]);
    s.close();
  });

  test("does whatever the plain statement of a store does, in any order of calls", () => {
    const step = fc.record({
      what: fc.constantFrom("put", "put", "put", "remove"),
      kind: fc.constantFrom("order" as const, "run" as const),
      name: fc.constantFrom("a", "b"),
      text: fc.constantFrom("[1]", "[2]", "[3]"),
      stale: fc.boolean(),
    });
    fc.assert(
      fc.property(fc.array(step, { maxLength: 25 }), (steps) => {
        const [s, plain] = [open(), new MemoryStore()];
        steps.forEach((t, k) => {
          const base = t.stale ? "f".repeat(64) : (plain.get(t.kind, t.name)?.mark ?? null);
          const act = (store: Store): Put =>
            t.what === "put" ? store.put(t.kind, t.name, t.text, base, said(k)) : store.remove(t.kind, t.name, base ?? "none", said(k));
          expect(act(s)).toEqual(act(plain));
        });
        for (const kind of ["order", "run"] as const) expect(s.list(kind)).toEqual(plain.list(kind));
        expect(s.changes(0, 999)).toEqual(plain.changes(0, 999));
        s.close();
      }),
      { seed: 20260101, numRuns: 40 },
    );
  });
});

describe("the database", () => {
  test("what one process wrote another sees, and two that write at once both hold", () => {
    const path = join(dir, "two.db");
    const [a, b] = [new SqliteStore(path), new SqliteStore(path)];
    let [x, y]: (string | null)[] = [null, null];
    for (let k = 0; k < 20; k++) {
      x = markIn(a.put("order", "x", `[${k}]`, x, said(k)));
      y = markIn(b.put("order", "y", `[${k}]`, y, said(k)));
    }
    expect(b.get("order", "x")?.version).toBe(20);
    expect(a.put("order", "y", "[99]", null, said(1))).toMatchObject({ conflict: { version: 20 } });
    expect(a.check()).toEqual([]);
    a.close();
    b.close();
  });

  test("a database of the first tables is taken on, a copy of it made before", () => {
    const path = join(dir, "old.db");
    const old = new Database(path);
    old.exec(readFileSync(new URL("fixtures/tables-1.sql", import.meta.url), "utf8"));
    old.close();
    const s = new SqliteStore(path);
    const after = JSON.parse(readFileSync(new URL("fixtures/tables-2.json", import.meta.url), "utf8")) as unknown;
    expect({
      changes: s.changes(0, 99),
      order: s.get("order", "loan-one"),
      attached: s.attached("order", "loan-one"),
      jobs: s.jobs("loan-one", 9),
      worn: s.worn("shed-t1"),
      devices: s.devices(),
    }).toEqual(after);
    expect(s.copies).toEqual([`${path}.before-2`]);
    s.close();
    const kept = new SqliteStore(`${path}.before-2`, { upTo: 1 });
    expect(kept.get("order", "loan-one")).toEqual((after as { order: unknown }).order);
    kept.close();
  });

  test("a file that is no database, and one of a later version, are refused and left as they are", () => {
    const path = join(dir, "bad.db");
    writeFileSync(path, "this is not a database, but it is somebody's ".repeat(60));
    const before = readFileSync(path);
    expect(() => new SqliteStore(path)).toThrow("no database of a shop");
    expect(readFileSync(path).equals(before)).toBe(true);
    const later = join(dir, "later.db");
    const db = new Database(later);
    db.pragma("user_version = 99");
    db.close();
    expect(() => new SqliteStore(later)).toThrow("later version");
  });

  test("damage is found", () => {
    const path = join(dir, "damaged.db");
    const s = new SqliteStore(path);
    s.put("order", "a", '{"a": 1}', null, said(1));
    s.close();
    const db = new Database(path);
    db.prepare("UPDATE body SET text = '{\"a\": 2}'").run();
    db.close();
    const again = new SqliteStore(path);
    expect(again.check().join()).toContain("not that of its mark");
    again.close();
  });

  test("the last version is found by keys alone, however many there are", () => {
    const path = join(dir, "many.db");
    const s = new SqliteStore(path);
    let mark: string | null = null;
    for (let k = 0; k < 50; k++) mark = markIn(s.put("order", "a", `[${k}]`, mark, said(k)));
    s.close();
    const db = new Database(path);
    const plan = (sql: string, ...at: unknown[]): string =>
      (db.prepare(`EXPLAIN QUERY PLAN ${sql}`).all(...at) as { detail: string }[]).map((r) => r.detail).join("; ");
    for (const [sql, ...at] of [
      ["SELECT c.* FROM document d JOIN change c ON c.seq = d.seq WHERE d.kind = ? AND d.name = ?", "order", "a"],
      ["SELECT * FROM change WHERE kind = ? AND name = ? AND version < ? ORDER BY version DESC LIMIT ?", "order", "a", 99, 5],
      ["SELECT 1 FROM change WHERE kind = ? AND name = ? AND mark = ? LIMIT 1", "order", "a", "m"],
    ] as const)
      expect(plan(sql, ...at)).not.toMatch(/SCAN|TEMP B-TREE/);
    db.close();
    expect(readdirSync(dir).filter((f) => f.startsWith("many.db"))).toContain("many.db");
  });
});
