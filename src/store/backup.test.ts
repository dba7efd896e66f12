import { cpSync, existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { strToU8, unzipSync, zipSync } from "fflate";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { sha256 } from "../job/hash.ts";
import { isPlainWay, makeList } from "./archive.ts";
import { backUp, restore } from "./backup.ts";
import { FolderMemory, MEMORY } from "./folder.ts";
import { SqliteStore } from "./sqlite.ts";

const examples = new URL("../../examples/", import.meta.url);
const AT = "2026-03-01T08:00:00.000Z";
let dir: string;
let shop: string;
let zip: string;
let content: string;
beforeAll(async () => {
  dir = mkdtempSync(join(tmpdir(), "neckwright-backup-"));
  shop = join(dir, "shop");
  for (const f of ["loan-guitar.order.json", "stiff-router.shop.json"]) cpSync(new URL(f, examples), join(shop, f));
  cpSync(new URL("drawings", examples), join(shop, "drawings"), { recursive: true });
  mkdirSync(join(shop, "jobs", "loan-guitar", "programs"), { recursive: true });
  writeFileSync(join(shop, "jobs", "loan-guitar", "programs", "01-board-scribe.ngc"), "G21\n".repeat(5000));
  writeFileSync(join(shop, "half.order.json"), '{"neckwright": ');
  writeFileSync(join(dir, "secret.txt"), "secret");
  symlinkSync(join(dir, "secret.txt"), join(shop, "linked.txt"));
  const m = new FolderMemory(shop, { now: () => AT });
  m.takeInAll();
  const { text, mark } = await m.open("loan-guitar", "order");
  await m.save("loan-guitar", "order", text.replace("{", "{ "), mark, "tablet");
  m.store.attach("order", "loan-guitar", m.store.keep("image/png", Uint8Array.of(1, 2, 3)), "the board", m.said("tablet"));
  m.store.wear("stiff-router-t1", "p1", 1200, m.said("tablet"));
  m.close();
  zip = join(dir, "one.zip");
  content = (await backUp(shop, zip, AT)).content;
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

/** Files below a folder with their hashes; the database by what it says. */
function said(folder: string): Record<string, string> {
  const out: Record<string, string> = {};
  const walk = (d: string): void => {
    for (const e of readdirSync(join(folder, d), { withFileTypes: true })) {
      const path = join(d, e.name);
      if (e.isDirectory() && e.name !== MEMORY) walk(path);
      else if (e.isFile()) out[path] = sha256(readFileSync(join(folder, path)));
    }
  };
  walk(".");
  const s = new SqliteStore(join(folder, MEMORY, "shop.db"), { readOnly: true });
  out.database = s.digest();
  s.close();
  return out;
}

describe("a backup", () => {
  test("restored is what was backed up: every file, every version, and nothing that a link pointed at", () => {
    const back = join(dir, "back");
    restore(zip, back);
    expect(said(back)).toEqual(said(shop));
    expect(said(back).database).toBe(content);
    expect(existsSync(join(back, "linked.txt"))).toBe(false);
    const m = new FolderMemory(back);
    expect(m.store.versions("order", "loan-guitar", 9).map((h) => h.by)).toEqual(["tablet", "file"]);
    expect(m.store.worn("stiff-router-t1")).toBe(1200);
    m.close();
    expect(readdirSync(dir).filter((f) => f.startsWith("."))).toEqual([]);
  });

  test("is not written over another, and nothing is restored over what is there", async () => {
    await expect(backUp(shop, zip, AT)).rejects.toThrow("something of this name");
    expect(() => restore(zip, shop)).toThrow("something of this name");
    expect(() => restore(join(dir, "none.zip"), join(dir, "x"))).toThrow("no such file");
    await expect(backUp(join(dir, "none"), join(dir, "none.zip"), AT)).rejects.toThrow("no such folder");
    expect(existsSync(join(dir, "none"))).toBe(false);
  });

  /** The archive's files, changed and packed anew. */
  const forged = (name: string, change: (files: Record<string, Uint8Array>) => Record<string, Uint8Array>): string => {
    const path = join(dir, `${name}.zip`);
    writeFileSync(path, zipSync(change(unzipSync(readFileSync(zip)))));
    return path;
  };
  const listOf = (files: Record<string, Uint8Array>): { files: { file: string; bytes: number; sha256: string }[] } =>
    JSON.parse(new TextDecoder().decode(files["backup.json"]));

  test.each<[string, string, (f: Record<string, Uint8Array>) => Record<string, Uint8Array>]>([
    [
      "changed",
      "its SHA-256 is another",
      (f) => ({ ...f, "loan-guitar.order.json": strToU8(new TextDecoder().decode(f["loan-guitar.order.json"]).replace("maple", "mapel")) }),
    ],
    ["more", "not in the list", (f) => ({ ...f, "more.txt": strToU8("x") })],
    ["outside", "not in the list", (f) => ({ ...f, "../outside.txt": strToU8("x") })],
    ["less", "cut short", ({ "half.order.json": _gone, ...f }) => f],
    ["no list", "does not begin with backup.json", ({ "backup.json": _gone, ...f }) => f],
    [
      "outside in the list",
      "leads out of the folder",
      (f) => {
        const l = listOf(f);
        l.files.push({ file: "../outside.txt", bytes: 1, sha256: sha256("x") });
        return {
          "backup.json": strToU8(JSON.stringify(l)),
          ...Object.fromEntries(Object.entries(f).slice(1)),
          "../outside.txt": strToU8("x"),
        };
      },
    ],
    [
      "another database",
      "does not say what was backed up",
      (f) => {
        const l = { ...listOf(f), content: "0".repeat(64) };
        return { "backup.json": strToU8(JSON.stringify(l)), ...Object.fromEntries(Object.entries(f).slice(1)) };
      },
    ],
    ["no JSON", "is no JSON", (f) => ({ "backup.json": strToU8("{"), ...Object.fromEntries(Object.entries(f).slice(1)) })],
  ])("that is not whole is refused and leaves nothing: %s", (name, says, change) => {
    const to = join(dir, "refused");
    expect(() => restore(forged(name, change), to)).toThrow(says);
    expect(existsSync(to)).toBe(false);
    expect(existsSync(join(dir, "outside.txt"))).toBe(false);
    expect(readdirSync(dir).filter((f) => f.startsWith("."))).toEqual([]);
  });

  test("cut short is refused, or whole: only the directory at the archive's end may be missing", () => {
    const whole = readFileSync(zip);
    const restored: number[] = [];
    for (const share of [0, 0.01, 0.3, 0.7, 0.999]) {
      const path = join(dir, `cut-${share}.zip`);
      const to = join(dir, `cut-${share}`);
      writeFileSync(path, whole.subarray(0, Math.floor(whole.length * share)));
      try {
        restore(path, to);
        restored.push(share);
        expect(said(to)).toEqual(said(shop));
      } catch {
        expect(existsSync(to)).toBe(false);
      }
    }
    expect(restored).toEqual([0.999]);
  });

  test("that would unpack to far more than it says is stopped before it does", () => {
    const bomb = join(dir, "bomb.zip");
    const zeros = new Uint8Array(17 * 1024 * 1024);
    const list = makeList(AT, "0".repeat(64), [{ file: "shop.db", bytes: 1000, sha256: sha256("x") }]);
    writeFileSync(bomb, zipSync({ "backup.json": strToU8(JSON.stringify(list)), "shop.db": zeros.subarray(0, 2e6) }));
    expect(() => restore(bomb, join(dir, "bombed"))).toThrow("unpacks to more than the list says");
    writeFileSync(bomb, zipSync({ "backup.json": zeros }, { level: 1 }));
    expect(() => restore(bomb, join(dir, "bombed"))).toThrow("unpacks to more than the list says");
    expect(existsSync(join(dir, "bombed"))).toBe(false);
  });

  test("of tables of the first step is restored as it was, and taken on when it is opened", () => {
    const old = join(dir, "old");
    mkdirSync(join(old, MEMORY), { recursive: true });
    const first = new SqliteStore(join(old, MEMORY, "shop.db"), { upTo: 1 });
    first.put("order", "a", "{}", null, { at: AT, by: "x" });
    const digest = first.digest();
    first.close();
    const path = join(dir, "old.zip");
    const db = readFileSync(join(old, MEMORY, "shop.db"));
    const files = { "shop.db": db, "a.order.json": Buffer.from("{}") };
    const list = makeList(
      AT,
      digest,
      Object.entries(files).map(([file, b]) => ({ file, bytes: b.length, sha256: sha256(b) })),
    );
    writeFileSync(path, zipSync({ "backup.json": strToU8(JSON.stringify(list)), ...files }));
    restore(path, join(dir, "old-back"));
    const m = new FolderMemory(join(dir, "old-back"));
    expect(m.store.get("order", "a")?.text).toBe("{}");
    expect(m.store.worn("t")).toBe(0);
    m.close();
  });

  test("names only plain ways", () => {
    for (const ok of ["a", "a/b.txt", "jobs/x/programs/01-board.ngc", "a..b"]) expect(isPlainWay(ok), ok).toBe(true);
    for (const bad of ["", "/a", "a/", "a//b", "../a", "a/../b", ".a", "a/.b", "a\\b", "c:a", "a\u0000", "a.", "x".repeat(300)])
      expect(isPlainWay(bad), bad).toBe(false);
  });
});
