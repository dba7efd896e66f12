import fc from "fast-check";
import { afterEach, describe, expect, test } from "vitest";
import { numbers } from "../../kernel/brute.ts";
import { useKernel } from "../../kernel/wasm/load.ts";
import { interpretProgram, type ReadProgram, Track } from "./index.ts";

afterEach(() => useKernel("wasm"));

/** Lines of every kind that the quick way takes, and of those that it leaves, so many that the text is read in several parts. */
function text(seed: number, lines: number): string {
  const r = numbers(seed);
  const pick = <T>(...of: readonly T[]): T => of[Math.floor(r() * of.length)];
  const number = (): string => {
    const v = (r() - 0.4) * pick(0.01, 1, 300, 3000);
    return pick(v.toFixed(pick(0, 1, 3, 4, 5, 9)), v.toFixed(3).replace("0.", "."), `${Math.round(v)}.`, `-${Math.abs(Math.round(v))}`);
  };
  const word = (letter: string): string => pick(letter, letter, letter.toLowerCase()) + pick("", "", "", " ") + number();
  const line = (): string => {
    const what = r();
    if (what < 0.02) return `G${pick(2, 3)} X${number()} Y${number()} R${number()}`;
    if (what < 0.03)
      return pick("(a note)", "M5", "G4 P0.5", "G20", "G21", "N10 G1 X1", "X1 X2", "Q1", "X1.2.3", "X", "%", "G91 X1", "G90", "G92 X1");
    if (what < 0.04)
      return pick("", " ", "F1200", `${" ".repeat(300)}X1`, `X1${" ".repeat(250)}`, "G1", "F-3", "X12345678901234567", "X1 2.5");
    const words = [
      pick("", "", "G0 ", "G1 ", "g01"),
      pick("", word("X")),
      pick("", word("Y")),
      pick("", word("Z")),
      pick("", "", "", "F900"),
    ];
    return words.join(pick("", " "));
  };
  return `F600\n${Array.from({ length: lines }, line).join(pick("\n", "\r\n"))}\nM2\n`;
}

const same = (a: ReadProgram, b: ReadProgram): void => {
  expect(a.errors).toEqual(b.errors);
  expect(a.events).toEqual(b.events);
  expect(a.lines).toBe(b.lines);
  expect(a.moves.count).toBe(b.moves.count);
  for (const name of ["kind", "x", "y", "z", "feed", "cx", "cy", "cz", "sweep", "plane", "line"] as const)
    expect(Buffer.compare(Buffer.from(a.moves[name].slice().buffer), Buffer.from(b.moves[name].slice().buffer)), name).toBe(0);
};

describe("the quick way through a text", () => {
  test("in WebAssembly and in plain TypeScript means the same to the last bit, and refuses the same", () => {
    const memory = new Track();
    for (let seed = 1; seed <= 8; seed++) {
      // short of, at and past the parts that the text is read in
      const program = text(seed, [200, 300, 900, 2500][seed % 4]);
      useKernel("plain");
      const plain = interpretProgram(program);
      useKernel("wasm");
      same(interpretProgram(program), plain);
      same(interpretProgram(program, { memory }), plain);
    }
  });

  test("takes numbers of every length, with and without sign and point, and leaves the same ones as in plain TypeScript", () => {
    const r = numbers(77);
    const digits = (n: number): string => Array.from({ length: n }, () => Math.floor(r() * 10)).join("");
    for (const end of ["\n", "\r\n", " \n", "Y1\n"])
      for (const letter of ["X", "x", "Z ", "F"]) {
        const lines: string[] = [];
        // leading noughts, so that a place of many digits lies on a machine
        for (let w = 0; w <= 17; w++)
          for (let f = -1; f <= 17; f++)
            for (const sign of ["", "-"]) {
              const whole = `${"0".repeat(Math.max(0, w - 4))}${digits(Math.min(w, 4))}`;
              lines.push(`${letter}${sign}${whole}${f < 0 ? "" : "."}${digits(Math.max(0, f))}`);
            }
        // a hundred lines that cannot be read are as many as are told of
        for (let k = 0; k < lines.length; k += 60) {
          const some = lines.slice(k, k + 60);
          const program = `F600 G1 X0${end}${some.join(end)}${end}${"X1.5\n".repeat(900)}M2\n`;
          useKernel("plain");
          const plain = interpretProgram(program);
          useKernel("wasm");
          same(interpretProgram(program), plain);
        }
      }
  });

  test("reads to the text's end wherever that is", () => {
    const whole = `F600 G1\n${Array.from({ length: 1300 }, (_, k) => `X${k}.125 y-${k}.5 Z.${k}`).join("\r\n")}\n`;
    for (let length = whole.length - 80; length <= whole.length; length++) {
      useKernel("plain");
      const plain = interpretProgram(whole.slice(0, length));
      useKernel("wasm");
      same(interpretProgram(whole.slice(0, length)), plain);
    }
  });

  test("numbers of up to 15 digits are the doubles that JavaScript makes of them", () => {
    const digits = fc.tuple(fc.stringMatching(/^\d{1,9}$/), fc.stringMatching(/^\d{0,6}$/), fc.boolean());
    fc.assert(
      fc.property(fc.array(digits, { minLength: 400, maxLength: 400 }), (all) => {
        const said = all.map(([whole, part, minus]) => `${minus ? "-" : ""}${whole.slice(-4)}.${part}${whole}`.slice(0, 16));
        const p = interpretProgram(`${said.map((n) => `G0 X${n}`).join("\n")}\n${" \n".repeat(2100)}M2\n`);
        expect(p.errors).toEqual([]);
        expect([...p.moves.x]).toEqual(said.map((n) => Number(n) + 0));
      }),
      { seed: 20260101, numRuns: 10 },
    );
  });
});
