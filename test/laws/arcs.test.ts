/**
 * Text with arcs and text without describe the same motion: every program of the demo on the stiff router (full dialect, five
 * decimals) and of the cittern on the light one (reduced dialect, four decimals), read by a reader of a few lines that shares
 * nothing with the writer. The readers of test/outside read the same texts.
 */
import { describe, expect, test } from "vitest";
import { countBlocks } from "../../src/job/programs.ts";
import { planned } from "../jobs.ts";
import { motionsApart } from "./hausdorff.ts";
import { readText } from "./programs.ts";

/** Outlines and bores, by their programs' names. */
const FEWER = /outline|scribe|tuner-bores|markers/;

describe("text with arcs beside text without", () => {
  test.each([
    ["loan-guitar", "stiff-router"],
    ["loan-cittern", "light-router"],
  ] as const)("%s on %s: within 0.005 mm both ways; five times fewer blocks on outlines and bores", (order, shop) => {
    const round = planned(order, shop, 1, true).input.programs;
    const straight = planned(order, shop, 1, false).input.programs;
    expect(round.map((p) => p.file)).toEqual(straight.map((p) => p.file));
    const ascii = new TextDecoder("latin1");
    let seen = 0;
    for (const [k, p] of round.entries()) {
      const [a, b] = [ascii.decode(p.text), ascii.decode(straight[k].text)];
      expect(b).not.toMatch(/G[23]\b/);
      expect(motionsApart(readText(a), readText(b)), p.file).toBeLessThanOrEqual(0.005);
      const [few, many] = [countBlocks(p.text), countBlocks(straight[k].text)];
      expect(few, p.file).toBeLessThanOrEqual(many);
      if (!FEWER.test(p.file)) continue;
      seen++;
      expect(many / few, p.file).toBeGreaterThanOrEqual(5);
    }
    expect(seen).toBeGreaterThan(3);
  });

  test("a program whose arc is bent by a hundredth is told apart", () => {
    const text = "G0 Z5\nX10 Y0\nG1 Z0 F100\nG3 X-10 Y0 I-10 J0\nG1 X-9 Y0\nG0 Z5\n";
    const bent = text.replace("I-10 J0", "I-10 J0.01").replace("X-10 Y0", "X-10 Y0.02");
    expect(motionsApart(readText(text), readText(text))).toBe(0);
    expect(motionsApart(readText(text), readText(bent))).toBeGreaterThan(0.005);
    expect(() => motionsApart(readText(text), readText(text.replace("Z5\nX10", "Z6\nX10")))).toThrow(/rapids/);
  });
});
