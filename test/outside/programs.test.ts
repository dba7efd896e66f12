/**
 * Every program of every order on both shops, read by an independent RS274/NGC interpreter (Debian's linuxcnc-uspace, `rs274`)
 * and by the proof's own reader: every position agrees within 0.001 mm.
 */
import { beforeAll, describe, expect, test } from "vitest";
import { CUT_ORDERS, planned, SHOPS } from "../jobs.ts";
import { motionsApart } from "../laws/hausdorff.ts";
import { compareText } from "./rs274/compare.ts";
import { interpret, leaveOut } from "./rs274/run.ts";
import { ensureRs274 } from "./rs274/setup.mjs";

describe.skipIf(leaveOut)("programs of the example orders, read by another interpreter", () => {
  beforeAll(() => void ensureRs274());

  // from the last to the first: the numbers' test, which may run beside this one, plans them from the first on
  test.each(CUT_ORDERS.flatMap((o) => SHOPS.map((s) => [o, s] as const)).reverse())("%s on %s", (order, shop) => {
    const { input } = planned(order, shop, 1);
    expect(input.programs.length).toBeGreaterThan(8);
    for (const p of input.programs) {
      const { worst, moves } = compareText(p.file, new TextDecoder("latin1").decode(p.text));
      expect(moves).toBeGreaterThan(5);
      expect(worst).toBeLessThanOrEqual(0.001);
    }
  });

  test("text with arcs and text without are the same motion to it, within 0.005 mm and the last of its four decimals", () => {
    const ascii = new TextDecoder("latin1");
    const straight = planned("loan-ukulele", "stiff-router", 1, false).input.programs;
    for (const [k, p] of planned("loan-ukulele", "stiff-router", 1, true).input.programs.entries())
      expect(motionsApart(interpret(ascii.decode(p.text)), interpret(ascii.decode(straight[k].text))), p.file).toBeLessThanOrEqual(0.0051);
  });
});
