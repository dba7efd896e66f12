import { cpSync, mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { sha256 } from "../job/hash.ts";
import { FolderMemory } from "./folder.ts";
import { recordingOf } from "./recording.ts";

const examples = new URL("../../examples/", import.meta.url);
let dir: string;
beforeAll(() => {
  dir = mkdtempSync(join(tmpdir(), "neckwright-recording-"));
  cpSync(new URL("loan-ukulele.order.json", examples), join(dir, "loan-ukulele.order.json"));
  cpSync(new URL("stiff-router.shop.json", examples), join(dir, "stiff-router.shop.json"));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

const order = (): string => join(dir, "loan-ukulele.order.json");
const shop = (): string => join(dir, "stiff-router.shop.json");
const done = { id: "j1", orderMark: sha256("x"), state: "done", programs: [] } as const;

test("files in a folder without a memory are worked on as ever: no memory is made", async () => {
  const r = await recordingOf(order(), shop());
  expect(await r.alone(() => Promise.resolve(7))).toBe(7);
  await r.made(done);
  r.close();
  expect(readdirSync(dir).sort()).toEqual(["loan-ukulele.order.json", "stiff-router.shop.json"]);
});

test("in a folder with one, what the command line made is known to the bench, with the versions it was made from; both take turns", async () => {
  const memory = new FolderMemory(dir);
  const r = await recordingOf(order(), shop());
  const turns: string[] = [];
  const turn = (who: string) => async (): Promise<void> => {
    turns.push(who);
    await new Promise((go) => setTimeout(go, 10));
    turns.push(who);
  };
  await Promise.all([r.alone(turn("command")), memory.alone("loan-ukulele", turn("bench"))]);
  expect(turns[0]).toBe(turns[1]);
  await r.made(done);
  r.close();
  expect(memory.store.jobs("loan-ukulele", 9)).toMatchObject([{ id: "j1", shop: "stiff-router", by: "command line" }]);
  expect(memory.store.get("order", "loan-ukulele")?.version).toBe(1);
  expect(memory.store.get("machine", "stiff-router")?.version).toBe(1);
  memory.close();
});
