import { copyFileSync, mkdtempSync, readFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { parseShop } from "../spec/index.ts";
import { realDisk } from "./disk.ts";
import { parseForce, readPushes, storeStiffness } from "./stiffness.ts";

const shopFile = (): string => {
  const path = join(mkdtempSync(join(tmpdir(), "neckwright-stiffness-")), "own.shop.json");
  copyFileSync("examples/light-router.shop.json", path);
  return path;
};

describe("stiffness of an axis in the shop file", () => {
  test("forces as people write them", () => {
    expect(parseForce("20 N")).toBe(20);
    expect(parseForce("12,5")).toBe(12.5);
    expect(parseForce("2 kg")).toBeCloseTo(19.6133, 9);
    expect(parseForce("5 lbf")).toBeCloseTo(22.2411, 4);
    expect(parseForce("-3 N")).toBeNull();
    expect(parseForce("20 mm")).toBeNull();
    expect(() => readPushes(["20 N"], [])).toThrow("1 forces and 0 movements");
    expect(() => readPushes(["20 N"], ["soft"])).toThrow();
  });

  test("is stored with its date; everything else in the file stays to the byte", async () => {
    const path = shopFile();
    const before = readFileSync(path, "utf8");
    const said = { date: "2026-03-31", note: "scale on a 10 mm rod" };
    const stored = await storeStiffness({ path, bytes: readFileSync(path) }, "y", readPushes(["20 N"], ["0.2 mm"]), said, realDisk);
    expect(stored).toMatchObject({ was: 90, is: 100, doubt: null });
    const text = readFileSync(path, "utf8");
    const machine = parseShop(text).value?.machine;
    expect(machine?.stiffness).toEqual({ x: 100, y: 100, z: 150 });
    expect(machine?.measured).toEqual({ y: said });
    const lines = (t: string): Set<string> => new Set(t.split("\n"));
    const gone = before.split("\n").filter((l) => !lines(text).has(l));
    // the value's own line, and the comma before the new key
    expect(gone).toEqual([
      '    "stiffness": { "x": 100, "y": 90, "z": 150 },',
      '    "controller": { "dialect": "reduced", "arcs": true, "decimals": 4 }',
    ]);
    const far = await storeStiffness({ path, bytes: readFileSync(path) }, "x", readPushes(["40 N"], ["0.05 mm"]), said, realDisk);
    expect(far.doubt).toContain("Measure once more");
  });

  test("one number for all axes becomes one for each", async () => {
    const path = shopFile();
    const text = readFileSync(path, "utf8").replace('"stiffness": { "x": 100, "y": 90, "z": 150 }', '"stiffness": 110');
    await storeStiffness(
      { path, bytes: new TextEncoder().encode(text) },
      "z",
      readPushes(["30 N"], ["0.1 mm"]),
      { date: "2026-03-31" },
      realDisk,
    );
    expect(parseShop(readFileSync(path, "utf8")).value?.machine.stiffness).toEqual({ x: 110, y: 110, z: 300 });
  });

  test("what cannot be is refused and the file stays as it was", async () => {
    const path = shopFile();
    const before = readFileSync(path);
    for (const [force, moved] of [
      ["20 N", "0.001 mm"],
      ["20 N", "9 mm"],
      ["2000 N", "0.2 mm"],
    ])
      await expect(
        storeStiffness({ path, bytes: before }, "x", readPushes([force!], [moved!]), { date: "2026-03-31" }, realDisk),
      ).rejects.toThrow(/\w/);
    expect(readFileSync(path).equals(before)).toBe(true);
  });
});
