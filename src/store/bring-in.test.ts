import { copyFileSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, test } from "vitest";
import { root } from "../../test/sources.ts";
import { backUp } from "./backup.ts";
import { bringIn } from "./bring-in.ts";
import { FolderMemory } from "./folder.ts";
import { addEvents, beginRun, readRun } from "./runs.ts";

const dir = mkdtempSync(join(tmpdir(), "neckwright-bring-"));
afterAll(() => rmSync(dir, { recursive: true, force: true }));
const at = "2026-03-01T10:00:00Z";
const said = { at, by: "test" };

function folder(name: string, orders: readonly string[]): FolderMemory {
  const path = join(dir, name);
  mkdirSync(path);
  for (const f of [...orders.map((o) => `${o}.order.json`), "stiff-router.shop.json"])
    copyFileSync(join(root, "examples", f), join(path, f));
  const memory = new FolderMemory(path, { now: () => at });
  memory.takeInAll();
  return memory;
}
const event = (n: number): { id: string; at: string; step: string; kind: "note"; text: string } => ({
  id: `event-${n}-000`,
  at,
  step: "ready",
  kind: "note",
  text: `note ${n}`,
});

describe("an archive brought into a folder that is in use", () => {
  test("brings what is not here with every version, makes a new version of what is, puts runs together and leaves a backup", async () => {
    const there = folder("there", ["loan-guitar", "loan-ukulele"]);
    const here = folder("here", ["loan-guitar"]);
    const text = there.store.get("order", "loan-ukulele")?.text ?? "";
    const longer = text.replace(/"title": "[^"]*"/, '"title": "a second state"');
    await there.save("loan-ukulele", "order", longer, there.store.get("order", "loan-ukulele")?.mark ?? "");
    const other = (there.store.get("order", "loan-guitar")?.text ?? "").replace(/"title": "[^"]*"/, '"title": "as it is there"');
    await there.save("loan-guitar", "order", other, there.store.get("order", "loan-guitar")?.mark ?? "");
    const run = { order: "loan-guitar", orderSha256: "0".repeat(64), shop: "stiff-router", programs: [] };
    for (const m of [there, here]) beginRun(m.store, run, said);
    addEvents(there.store, "loan-guitar-r1", [event(1), event(2)], said);
    addEvents(here.store, "loan-guitar-r1", [event(2), event(3)], said);
    there.store.put("plate", "vee", '{"title":"vee","holding":{}}', null, said);
    mkdirSync(join(there.folder, "drawings"));
    writeFileSync(join(there.folder, "drawings", "head.svg"), "<svg/>");
    await backUp(there.folder, join(dir, "there.zip"), at);
    there.close();

    const did = await bringIn(here, join(dir, "there.zip"), "bench");
    expect(did.fresh).toEqual(["loan-ukulele.order.json", "plate/vee", "drawings/head.svg"]);
    expect(did.changed).toEqual(["loan-guitar.order.json", "loan-guitar-r1"]);
    expect(readFileSync(join(here.folder, "loan-ukulele.order.json"), "utf8")).toBe(longer);
    expect(here.store.versions("order", "loan-ukulele", 9)).toHaveLength(2);
    expect(here.store.get("order", "loan-guitar")?.text).toBe(other);
    expect(here.store.versions("order", "loan-guitar", 9)).toHaveLength(2);
    expect(
      readRun(here.store, "loan-guitar-r1")
        ?.events.map((e) => e.id)
        .sort(),
    ).toEqual([1, 2, 3].map((n) => event(n).id));
    expect(existsSync(join(here.folder, did.backup))).toBe(true);
    // brought in again it changes nothing
    const again = await bringIn(here, join(dir, "there.zip"), "bench");
    expect([again.fresh, again.changed, again.left]).toEqual([[], [], []]);
    // one flipped byte, and nothing is brought in
    const bytes = readFileSync(join(dir, "there.zip"));
    bytes[bytes.length >> 1] = (bytes[bytes.length >> 1] ?? 0) ^ 1;
    writeFileSync(join(dir, "bad.zip"), bytes);
    const seq = here.store.changes(0, 999).length;
    await expect(bringIn(here, join(dir, "bad.zip"), "bench")).rejects.toThrow();
    expect(here.store.changes(0, 999)).toHaveLength(seq);
    here.close();
  });
});
