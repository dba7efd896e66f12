import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { root } from "../../test/sources.ts";
import { cli } from "./ran.test-data.ts";

const order = (name: string): string => join(root, `examples/${name}.order.json`);
let dir: string;
beforeAll(() => {
  dir = mkdtempSync(join(tmpdir(), "neckwright-plank-"));
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

test("blanks of several orders in one plank, with drawing and figures", async () => {
  const [g, u] = [order("loan-guitar"), order("loan-ukulele")];
  const ran = await cli("plank", g, g, u, "--plank", "2400 x 280 x 45", "--keep-out", "300,100 340,150", "--out", dir, "--json");
  const said = JSON.parse(ran.out);
  expect(ran.code).toBe(0);
  expect(said.proved).toBe(true);
  expect(said.used).toBe(said.bound);
  const kept = JSON.parse(readFileSync(join(dir, "plank.json"), "utf8"));
  expect(kept.blanks.length).toBe(3);
  expect(kept.blanks[0].length).toBe(756);
  expect(readFileSync(join(dir, "plank.svg"), "utf8")).toContain("loan-ukulele");
});

test("what does not go is said: too thin, too short, too many, no plank at all", async () => {
  const g = order("loan-guitar");
  expect((await cli("plank", g, "--plank", "2400 x 200 x 12")).err).toMatch(/thick, the plank 12 mm/);
  expect((await cli("plank", g, "--plank", "700 x 200 x 45")).err).toMatch(/does not go into 700 x 200/);
  const many = await cli("plank", g, g, g, "--plank", "1500 x 200 x 45");
  expect(many.code).toBe(1);
  expect(many.out).toMatch(/no way to get all of these blanks out of this plank: proved/);
  expect((await cli("plank", g, "--plank", "1500 x 200")).err).toMatch(/length x width x thickness/);
  expect((await cli("plank", g, "--plank", "1500 x 200 x 45", "--keep-out", "12")).err).toMatch(/two corners or more/);
});
