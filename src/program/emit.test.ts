import { afterEach, describe, expect, test } from "vitest";
import { sampleInput } from "../../test/laws/programs.ts";
import { numbers } from "../kernel/brute.ts";
import { MoveBuilder, type MoveList } from "../kernel/moves.ts";
import { useKernel } from "../kernel/wasm/load.ts";
import { dialectFor } from "./index.ts";

afterEach(() => useKernel("wasm"));

/** Long runs at one feed, some places twice, halves of the last digit, far places, and what breaks a run: feeds, rapids, arcs and dwells. */
function winding(seed: number): MoveList {
  const r = numbers(seed);
  const b = new MoveBuilder([0, 0, 60]);
  b.rapid(0, 0, 60);
  let feed = 30;
  while (b.count < 4000) {
    const what = r();
    if (what < 0.002) feed = 10 + Math.floor(r() * 4) * 7.25;
    // some lists change it at nearly every move, from feeds that round to one count of it to what a fast machine does
    if (seed % 2 === 0 && r() < 0.6)
      feed = [0.1 + r() * 60, (1 + Math.round(r() * 3600)) / 60, 10 ** (6 * r() - 4.5), (30 + Math.round(9 * r())) / 6e4][
        Math.floor(4 * r())
      ]!;
    if (what < 0.004) b.rapid(b.px + 1, b.py, b.pz);
    else if (what < 0.006) b.dwell(0.5);
    else if (what < 0.01) b.arcTo(b.px + 4, b.py, b.pz, b.px + 2, b.py, 0, Math.PI, r() < 0.5 ? feed : 17);
    else if (what < 0.03) b.lineTo(b.px, b.py, b.pz, feed);
    else if (what < 0.1) b.lineTo(Math.round(b.px * 1e4 + 3) / 1e4 + 0.5e-4, b.py, -b.pz, feed);
    else if (what < 0.11) b.lineTo((r() - 0.5) * 10 ** Math.ceil(5 * r()), b.py, 40 * r(), feed);
    else b.lineTo(b.px + 0.3 * r(), r() < 0.5 ? b.py : 300 * r() - 150, r() < 0.5 ? b.pz : 30 * r() - 9, feed);
  }
  return b.list();
}

describe("a program's text", () => {
  const text = (moves: MoveList, arcs: boolean, kernel: "wasm" | "plain", decimals = 4): Uint8Array => {
    useKernel(kernel);
    const cut = sampleInput([moves]).cuts[0]!;
    return dialectFor("reduced").writeBytes({ ...sampleInput([moves]), arcs, decimals, cuts: [cut, { ...cut, id: "again" }] });
  };

  test("is the same to the byte in WebAssembly and in plain TypeScript", () => {
    for (let seed = 1; seed <= 6; seed++) {
      const moves = winding(seed);
      for (const arcs of [true, false])
        for (const decimals of [4, 5, 6]) {
          const plain = text(moves, arcs, "plain", decimals);
          expect(plain.length).toBeGreaterThan(40_000);
          expect(Buffer.compare(text(moves, arcs, "wasm", decimals), plain)).toBe(0);
        }
    }
  });

  test("is refused at the same move, in the same words", () => {
    for (const at of [1, 70, 500, 1500, 3999]) {
      const b = new MoveBuilder([0, 0, 60]);
      b.rapid(0, 0, 60);
      for (let k = 0; k < 4000; k++) b.lineTo(k / 10, 5, 30, 20);
      const moves = b.list();
      const z = moves.z[at]!;
      for (const nowhere of [Number.NaN, 1e5, Number.NEGATIVE_INFINITY]) {
        moves.z[at] = nowhere;
        for (const kernel of ["wasm", "plain"] as const) expect(() => text(moves, false, kernel)).toThrow(`move ${at}: (`);
      }
      moves.z[at] = z;
      for (const feed of [Number.NaN, 0, -1, (1e5 / 6) * 1000]) {
        moves.feed[at] = feed;
        for (const kernel of ["wasm", "plain"] as const) expect(() => text(moves, false, kernel)).toThrow(`move ${at}: a feed of`);
      }
    }
  });
});
