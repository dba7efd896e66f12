import { afterEach, expect, test } from "vitest";
import { useKernel } from "../../src/kernel/wasm/load.ts";
import { interpretProgram } from "../../src/proof/reader/index.ts";

afterEach(() => useKernel("wasm"));

// a feed that stood on a line without a move was not taken by the moves after it, where the quick way in WebAssembly read both
test("moves after a line with nothing but a feed have that feed", () => {
  const text = `G21 G90 G94\nG1 X0 F600\n${Array.from({ length: 400 }, (_, k) => `F${601 + k}\nX${k}.5\nX${k}.75\n`).join("")}M2\n`;
  for (const kernel of ["wasm", "plain"] as const) {
    useKernel(kernel);
    const { moves, errors } = interpretProgram(text);
    expect(errors).toEqual([]);
    expect([...moves.feed]).toEqual([600 / 60, ...Array.from({ length: 800 }, (_, k) => (601 + (k >> 1)) / 60)]);
  }
});
