import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { FolderMemory } from "./folder.ts";
import { withLock } from "./lock.ts";

const examples = new URL("../../examples/", import.meta.url);
let dir: string;
let open: FolderMemory[];
const memory = (): FolderMemory => {
  const m = new FolderMemory(dir, { now: () => "2026-03-01T08:00:00.000Z" });
  open.push(m);
  return m;
};
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), "neckwright-folder-"));
  open = [];
  cpSync(new URL("loan-guitar.order.json", examples), join(dir, "loan-guitar.order.json"));
  cpSync(new URL("stiff-router.shop.json", examples), join(dir, "stiff-router.shop.json"));
});
afterEach(() => {
  for (const m of open) m.close();
  rmSync(dir, { recursive: true, force: true });
});
const file = (): string => readFileSync(join(dir, "loan-guitar.order.json"), "utf8");

describe("a shop's folder with its memory", () => {
  test("takes in what lies there as it is, byte for byte, and gives the same", async () => {
    const m = memory();
    const before = file();
    m.takeInAll();
    expect((await m.open("loan-guitar", "order")).text).toBe(before);
    expect(m.store.get("order", "loan-guitar")).toMatchObject({ text: before, by: "file", version: 1 });
    expect(file()).toBe(before);
  });

  test("a save stands in the file and in the memory, with who made it; the same from a second program that knows of no first", async () => {
    const [a, b] = [memory(), memory()];
    const { text, mark } = await a.open("loan-guitar", "order");
    const one = await a.save("loan-guitar", "order", text.replace("{", "{ "), mark, "tablet");
    expect("mark" in one).toBe(true);
    expect(await b.save("loan-guitar", "order", "{}", mark, "desk")).toEqual({
      conflict: { text: text.replace("{", "{ "), mark: (one as { mark: string }).mark },
    });
    const two = await b.save("loan-guitar", "order", text, (one as { mark: string }).mark, "desk");
    expect(two).toEqual({ mark });
    expect(file()).toBe(text);
    expect(a.store.versions("order", "loan-guitar", 9).map((h) => h.by)).toEqual(["desk", "tablet", "file"]);
    expect(readdirSync(dir).filter((f) => f.endsWith(".tmp"))).toEqual([]);
  });

  test("a file changed from outside is a version of its own, and the save that did not know of it a conflict", async () => {
    const m = memory();
    const { text, mark } = await m.open("loan-guitar", "order");
    const outside = text.replace("{", "{\n");
    writeFileSync(join(dir, "loan-guitar.order.json"), outside);
    expect(await m.save("loan-guitar", "order", "{}", mark)).toMatchObject({ conflict: { text: outside } });
    expect(file()).toBe(outside);
    expect(m.store.versions("order", "loan-guitar", 9)).toHaveLength(2);
  });

  test("a file that is gone is taken away with all its versions kept; an older one put back is a new version", async () => {
    const m = memory();
    const { text } = await m.open("loan-guitar", "order");
    rmSync(join(dir, "loan-guitar.order.json"));
    await expect(m.open("loan-guitar", "order")).rejects.toThrow("no such file");
    expect(m.store.list("order")).toEqual([]);
    expect(m.store.version("order", "loan-guitar", 1)?.text).toBe(text);
    writeFileSync(join(dir, "loan-guitar.order.json"), text);
    await m.open("loan-guitar", "order");
    expect(m.store.get("order", "loan-guitar")).toMatchObject({ version: 3, text });
  });

  test("a file that is no JSON is shown as it is, and can be saved over by who saw it", async () => {
    const m = memory();
    writeFileSync(join(dir, "half.order.json"), '{"neckwright": ');
    const { text, mark } = await m.open("half", "order");
    expect(text).toBe('{"neckwright": ');
    expect(m.store.get("order", "half")).toBeNull();
    expect(await m.save("half", "order", "{}", mark)).toHaveProperty("mark");
    expect(readFileSync(join(dir, "half.order.json"), "utf8")).toBe("{}");
  });

  test("a new order is made from nothing, and not over one that is there", async () => {
    const m = memory();
    expect(await m.save("loan-new", "order", "{}", "")).toHaveProperty("mark");
    expect(await m.save("loan-guitar", "order", "{}", "")).toHaveProperty("conflict");
    await expect(m.save("loan-none", "order", "{}", "0".repeat(64))).rejects.toThrow("no such file");
  });

  test("machine, cutters and shelf have a history of their own; what is taken from the shop's file is taken from the tables", async () => {
    const m = memory();
    const { text, mark } = await m.open("stiff-router", "shop");
    const shop = JSON.parse(text) as { cutters: { number: number; name: string }[] };
    expect(m.store.list("machine").map((h) => h.name)).toEqual(["stiff-router"]);
    expect(
      m.store
        .list("cutter")
        .map((h) => h.name)
        .sort(),
    ).toEqual(shop.cutters.map((c) => `stiff-router-t${c.number}`).sort());
    const [gone, kept, ...rest] = shop.cutters;
    const next = { ...shop, cutters: [{ ...kept, name: `${kept.name}, sharpened` }, ...rest] };
    await m.save("stiff-router", "shop", JSON.stringify(next), mark, "desk");
    expect(m.store.get("cutter", `stiff-router-t${gone.number}`)).toBeNull();
    expect(m.store.get("cutter", `stiff-router-t${kept.number}`)).toMatchObject({ version: 2, by: "desk" });
    expect(m.store.get("cutter", `stiff-router-t${rest[0].number}`)).toMatchObject({ version: 1, by: "file" });
  });

  test("links are not followed, neither for files nor for the memory's own folder", async () => {
    const elsewhere = mkdtempSync(join(tmpdir(), "neckwright-elsewhere-"));
    writeFileSync(join(elsewhere, "secret.json"), '{"secret": 1}');
    symlinkSync(join(elsewhere, "secret.json"), join(dir, "linked.order.json"));
    const m = memory();
    m.takeInAll();
    await expect(m.open("linked", "order")).rejects.toThrow("not a plain file");
    await expect(m.save("linked", "order", "{}", "")).rejects.toThrow("not a plain file");
    expect(readFileSync(join(elsewhere, "secret.json"), "utf8")).toBe('{"secret": 1}');
    const other = mkdtempSync(join(tmpdir(), "neckwright-linked-"));
    symlinkSync(elsewhere, join(other, ".neckwright"));
    expect(() => new FolderMemory(other)).toThrow("is a link");
    expect(readdirSync(elsewhere)).toEqual(["secret.json"]);
    for (const d of [elsewhere, other]) rmSync(d, { recursive: true, force: true });
  });

  test("two that write what was made of one order take turns, and one that fails lets go", async () => {
    const said: string[] = [];
    const work = (name: string) => async (): Promise<void> => {
      said.push(`${name} begins`);
      await new Promise((r) => setTimeout(r, 15));
      said.push(`${name} ends`);
      if (name === "a") throw new Error("failed");
    };
    const path = join(dir, "one.lock");
    const ended = await Promise.allSettled([withLock(path, work("a")), withLock(path, work("b"))]);
    expect(ended.map((e) => e.status)).toEqual(["rejected", "fulfilled"]);
    expect(said.map((s) => s.slice(2))).toEqual(["begins", "ends", "begins", "ends"]);
  });
});
