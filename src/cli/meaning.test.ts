import { describe, expect, test } from "vitest";
import { cli as printed } from "./ran.test-data.ts";

const GUITAR = "examples/loan-guitar.order.json";
const BASS = "examples/loan-bass.order.json";

describe("what a neck means, on the command line", () => {
  test("check prints a short list, --figures all of it with other woods", async () => {
    const short = await printed("check", GUITAR);
    const all = await printed("check", GUITAR, "--figures");
    expect([short.code, all.code]).toEqual([0, 0]);
    expect(short.out).toMatch(/relief under the strings, the rod slack +0\.\d+ mm +0\.\d+ to 0\.\d+/);
    expect(short.out).not.toContain("stress in string");
    expect(all.out).toContain("stress in string 1");
    expect(all.out).toMatch(/board black walnut.* g {2}balance +\d+ mm {2}stiffness +\d+ %/);
  });

  test("check --beside holds another neck's girth next to this one's", async () => {
    const { out } = await printed("check", GUITAR, "--figures", "--beside", BASS);
    expect(out).toMatch(/around the neck at fret 5 .*\(loan-bass: \d+\)/);
    expect(out).toContain("(loan-bass: –)");
    expect((await printed("check", GUITAR, "--beside", "examples/none.order.json")).code).toBe(2);
  });

  test("frets prints cents beside millimetres, and string by string", async () => {
    const plain = await printed("frets", GUITAR);
    expect(plain.out).toContain("c/0.1 mm");
    // fret 12 of 648: 1200 log2(324 / 323.9)
    expect(plain.out).toMatch(/\n +12 +324\.000.* 0\.53 +1\.73\n/);
    const fan = await printed("frets", "examples/loan-guitar-seven.order.json");
    expect(fan.out).toMatch(/Scale of each string, mm: 1: 648\.000, .*7: 673\.000\./);
    const csv = await printed("frets", GUITAR, "--strings", "--csv");
    const lines = csv.out.trim().split("\n");
    expect(lines[0]).toBe(
      "string,pitch,scale_mm,saddle_alone_mm,saddle_mm,nut_mm,fret,cents_before,cents_saddle,cents_both,cents_per_0.1_mm_nut_high",
    );
    expect(lines.length).toBe(1 + 6 * 22);
    expect((await printed("frets", GUITAR, "--strings")).out).toContain("Cents off equal temperament");
  });

  test("frets --strings says what it lacks where pitches are not known", async () => {
    const { code, err } = await printed("frets", "examples/loan-cittern.order.json", "--strings");
    expect(code).toBe(2);
    expect(err).toContain("give strings.pitches and strings.gauges");
  });
});
