import { copyFileSync, existsSync, mkdtempSync, readFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { cli } from "./ran.test-data.ts";

const folder = mkdtempSync(join(tmpdir(), "neckwright-measure-"));
const shop = join(folder, "own.shop.json");
copyFileSync("examples/light-router.shop.json", shop);

describe("stiffness and coupon on the command line", () => {
  test("stiffness explains the test by steps, spindle off, and says what was not measured", async () => {
    const ran = await cli("stiffness", shop);
    expect(ran.code).toBe(0);
    expect(ran.out).toContain("Spindle OFF");
    expect(ran.out).toContain("manual");
    expect(ran.out).toContain("not measured");
    const json = JSON.parse((await cli("stiffness", shop, "--json")).out);
    expect(json.axes).toHaveLength(3);
    expect(json.steps.length).toBeGreaterThan(4);
  });

  test("stiffness stores readings; half of them, or none of an axis, are refused with exit code 2", async () => {
    const before = readFileSync(shop);
    for (const argv of [
      ["--axis", "x"],
      ["--axis", "x", "--force", "20 N"],
      ["--force", "20 N", "--moved", "0.2 mm"],
      ["--axis", "x", "--force", "20 mm", "--moved", "0.2 mm"],
      ["--axis", "w", "--force", "20 N", "--moved", "0.2 mm"],
      ["--axis", "x", "--force", "20 N", "--moved", "0.2 mm", "--date", "yesterday"],
    ])
      expect((await cli("stiffness", shop, ...argv)).code, argv.join(" ")).toBe(2);
    expect(readFileSync(shop).equals(before)).toBe(true);
    const ran = await cli(
      "stiffness",
      shop,
      "--axis",
      "x",
      "--force",
      "20 N",
      "--moved",
      "0.2 mm",
      "--force",
      "40 N",
      "--moved",
      "0.4 mm",
      "--date",
      "2026-03-31",
      "--json",
    );
    expect(ran.code).toBe(0);
    expect(JSON.parse(ran.out)).toMatchObject({ axis: "x", was: 100, is: 100 });
    expect((await cli("stiffness", shop)).out).toContain("measured 2026-03-31");
  });

  test("coupon writes a proved program with its sheet, and stores what was chosen", async () => {
    const out = join(folder, "coupon");
    const argv = ["coupon", shop, "--cutter", "11", "--recess", "7.05 mm"];
    const made = await cli(...argv, "--out", out);
    expect(made.out).toContain("made and proved");
    expect(made.code).toBe(0);
    for (const file of ["coupon-t11.ngc", "coupon-t11.pdf", "coupon-t11.json"]) expect(existsSync(join(out, file)), file).toBe(true);
    expect((await cli(...argv, "--chose", "3", "--date", "2026-03-31")).out).toContain("+0.00 mm");
    expect((await cli(...argv, "--chose", "2", "--date", "2026-03-31")).out).toContain("-0.05 mm");
    expect(JSON.parse(readFileSync(shop, "utf8")).cutters.find((c: { number: number }) => c.number === 11).recess.allowance).toBe(-0.05);
    for (const more of [[], ["--out", out, "--scrap", "small"], ["--chose", "12"], ["--out", out, "--from", "0.3 mm", "--to", "0.1 mm"]])
      expect((await cli(...argv, ...more)).code, more.join(" ")).toBe(2);
  });
});
