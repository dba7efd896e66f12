import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { root } from "../../test/sources.ts";
import { readOrderSource } from "./order-source.ts";

const plain = JSON.parse(readFileSync(join(root, "examples/loan-ukulele.order.json"), "utf8"));
const svg = '<svg xmlns="http://www.w3.org/2000/svg"/>';
let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "order-source-"));
  writeFileSync(join(folder, "head.svg"), svg);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const drawingOf = async (text: string): Promise<string | null> => {
  const path = join(folder, "a.order.json");
  writeFileSync(path, text);
  const { drawing } = await readOrderSource(path);
  return drawing === undefined ? null : new TextDecoder().decode(drawing);
};

test("an order's drawing is read with it, its key written out or in escapes; an order without one is not asked for any", async () => {
  const asking = JSON.stringify({ ...plain, headstock: { ...plain.headstock, outline: { drawing: "head.svg", unit: "mm" } } });
  expect(await drawingOf(asking)).toBe(svg);
  expect(await drawingOf(asking.replace('"drawing"', '"\\u0064rawing"'))).toBe(svg);
  expect(await drawingOf(JSON.stringify(plain))).toBe(null);
});
