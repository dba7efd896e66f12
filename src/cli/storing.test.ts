import { copyFileSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, expect, test } from "vitest";
import { parseShop } from "../spec/index.ts";
import { FolderMemory } from "../store/folder.ts";
import { cli } from "./ran.test-data.ts";

/* What the command stores in a folder that the bench serves too: under one lock, as versions, nothing of anybody lost. */

const folder = mkdtempSync(join(tmpdir(), "neckwright-storing-"));
const shop = join(folder, "own.shop.json");
copyFileSync("examples/stiff-router.shop.json", shop);
const memory = new FolderMemory(folder);
afterAll(() => {
  memory.close();
  rmSync(folder, { recursive: true, force: true });
});

test("several commands and the bench change one shop at once: every change holds, every one is a version", async () => {
  const { mark, text } = await memory.open("own", "shop");
  const before = parseShop(text).value!;
  const wide = before.cutters.filter((c) => c.shape === "flat" || c.shape === "ball").slice(0, 3);
  const cut = (c: (typeof wide)[number]) =>
    cli("correct", shop, "cutter", "--cutter", String(c.number), "--slot", String(c.diameter + 0.05), "--store", "--json");
  const named = text.replace(/"title": "[^"]*"/, '"title": "changed on the bench"');
  const [bench, ...ran] = await Promise.all([
    memory.save("own", "shop", named, mark),
    ...wide.map(cut),
    cli("stiffness", shop, "--axis", "x", "--force", "40 N", "--moved", "0.05 mm", "--json"),
  ]);
  expect(bench).toHaveProperty("mark");
  for (const r of ran) expect(r.code, r.err).toBe(0);
  const after = parseShop(readFileSync(shop, "utf8")).value!;
  expect(after.title).toBe("changed on the bench");
  expect(after.corrections?.map((c) => (c.kind === "cutter" ? c.number : 0)).sort()).toEqual(wide.map((c) => c.number).sort());
  expect(after.machine.measured?.x).toBeDefined();
  const versions = memory.store.versions("shop", "own", 20);
  expect(versions.filter((v) => v.by === "command line")).toHaveLength(wide.length + 1);
  expect(versions[0]?.mark).toBe((await memory.open("own", "shop")).mark);
});
