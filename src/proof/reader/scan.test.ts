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

/** A text as a program writes it: every word of an axis has the layout of the one before, but for steps in width and sign, and now and then a line of another form. */
function alike(seed: number, lines: number): string {
  const r = numbers(seed);
  const pick = <T>(...of: readonly T[]): T => of[Math.floor(r() * of.length)];
  const decimals = pick(0, 1, 3, 4, 5, 6, 9);
  const between = pick(" ", " ", "");
  const place = { X: pick(0, 9, 95, 995), Y: pick(-3, 0, 90), Z: pick(-12, 0.001, 40) };
  const step = pick(0.004, 0.3, 2);
  const word = (axis: "X" | "Y" | "Z"): string => {
    place[axis] += (r() - 0.45) * step;
    return axis + place[axis].toFixed(decimals);
  };
  const odd = (): string =>
    pick(
      ...[
        "X1.5  Y2",
        "X1.5 ",
        " X1.5",
        "X1.5\tY2.5",
        "Y1 X2",
        "X 1.5",
        "X1 .5",
        "X1\rY2",
        "X.5",
        "X-.5 Y-0.000",
        "X5.",
        "",
        "G1 X1.5",
        "G0 X1",
        "G1",
      ],
      ...[
        "F900",
        "X1.5 F800",
        "X2 (a note)",
        "(a note)",
        "G92 X1 Y-2.5 Z0.125",
        "G92.1",
        "G20",
        "G21",
        "x2.5 y1.25",
        "X5Y6Z7",
        "X12345.5",
        "Z-0",
      ],
      ...["N5 X1", "/X1.5 Y2.5", "X0000001.25", "X1.123456789012", "X9999.99999 Y9999.9"],
    );
  const wrong = (): string =>
    pick("X1.5 X2", "X1.2.3", "X--1.5", "X1-2", "X", "X1.5:Y2", "Y1.5;", "X1.5Y", "X1234567.5", "X1.5Y2.5Q", "Xa.5");
  const all = Array.from({ length: lines }, () => {
    const what = r();
    if (what < 0.002) return wrong();
    if (what < 0.03) return odd();
    const axes = pick<readonly ("X" | "Y" | "Z")[]>(["X"], ["X"], ["X", "Z"], ["X", "Y", "Z"], ["Y", "Z"], ["Y"]);
    return axes.map(word).join(between);
  });
  return `F600 G1 X0\n${all.join(pick("\n", "\n", "\r\n"))}\nM2\n`;
}

const same = (a: ReadProgram, b: ReadProgram): void => {
  // two ways of reading nothing would be the same too
  expect(b.moves.count).toBeGreaterThan(80);
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

  test("takes words that are laid out as those before, and whatever stands among them, as in plain TypeScript", () => {
    const memory = new Track();
    for (let seed = 1; seed <= 60; seed++) {
      const program = alike(seed, [300, 1500, 4000][seed % 3]);
      useKernel("plain");
      const plain = interpretProgram(program);
      useKernel("wasm");
      same(interpretProgram(program), plain);
      same(interpretProgram(program, { memory }), plain);
      // the parts that the text is read in end elsewhere
      const shifted = interpretProgram(`(${"-".repeat(3 * seed)})${program}`);
      expect([...shifted.moves.x]).toEqual([...plain.moves.x]);
      expect([...shifted.moves.z]).toEqual([...plain.moves.z]);
    }
  });

  test("a line like those before it is told from one that is not by any one of its bytes", () => {
    for (const line of ["X12.375 Y-3.500 Z0.125", "X12.375 Y13.500 Z10.125"]) {
      const good = `${line}\n`.repeat(300);
      for (let at = 0; at < line.length; at++)
        for (const b of ["0", "7", ".", "-", "+", " ", "X", "y", "Z", "F", "(", "#", "/", ":", "\t", "\r", "\n", "\u007f"]) {
          const program = `F600 G1 X0\n${good}${line.slice(0, at)}${b}${line.slice(at + 1)}\n${good}M2\n`;
          useKernel("plain");
          const plain = interpretProgram(program);
          useKernel("wasm");
          same(interpretProgram(program), plain);
        }
    }
  });

  test("keeps the place, and a nought's sign, where a line is left to the full way", () => {
    for (const between of ["", "G92 X3 Y-2 Z0.5\n", "G20\n"]) {
      const lines = Array.from({ length: 1200 }, (_, k) =>
        k % 97 === 96 ? `X${k % 8}.125 Y-0.000 (left)` : `X${k % 8}.125 Y-0.000 Z-0.${k % 10}00`,
      );
      const program = `F600 G1 X0\n${between}${lines.join("\n")}\nG2 X1 Y0 R5\nM2\n`;
      useKernel("plain");
      const plain = interpretProgram(program);
      useKernel("wasm");
      same(interpretProgram(program), plain);
    }
  });

  test("a far place is refused though the word is laid out as a near one was, in mm and in inches", () => {
    const many = (words: string): string => `${words}\n`.repeat(400);
    for (const [near, far] of [
      [`${many("X1234.5")}G20\n`, "X9999.5"],
      [many("X0012.5"), "X99999.5"],
      [many("X001234.5"), "X999999.5"],
      [`G20\n${many("X0012.5")}`, "X9999.5"],
      ["", "X123456.5"],
    ]) {
      const program = `F600 G1 X0\n${many("X1.5")}${near}${far}\n${many("Y1.5")}M2\n`;
      useKernel("plain");
      const plain = interpretProgram(program);
      useKernel("wasm");
      same(interpretProgram(program), plain);
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
    const whole = `F600 G1 X0\n${Array.from({ length: 1300 }, (_, k) => `X${k}.125 y-${k}.5 Z.${k}`).join("\r\n")}\n`;
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
