import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { addArc, moveListArb, pointOf, programArb, readText, SAFE_Z, sampleInput, walk } from "../../test/laws/programs.ts";
import { MoveBuilder } from "../kernel/moves.ts";
import { checkProgram, DIALECTS, dialectFor } from "./index.ts";

const runs = { seed: 20260101, numRuns: 150 };

describe.each(DIALECTS)("dialect $name", (dialect) => {
  it("reads back as the moves it was written from, within 0.001 mm", () => {
    fc.assert(
      fc.property(programArb, (input) => {
        expect(walk(readText(dialect.write(input)), input)).toBeLessThanOrEqual(0.001);
      }),
      runs,
    );
  });

  it("passes its own check on everything it writes", () => {
    fc.assert(
      fc.property(programArb, (input) => {
        expect(checkProgram(dialect.write(input), input, dialect.name)).toEqual([]);
      }),
      runs,
    );
  });

  it("writes the same bytes twice, and the string is the bytes", () => {
    fc.assert(
      fc.property(programArb, (input) => {
        const a = dialect.writeBytes(input);
        expect(dialect.writeBytes(structuredClone(input))).toEqual(a);
        expect(Buffer.from(dialect.write(input), "latin1").equals(a)).toBe(true);
      }),
      { ...runs, numRuns: 60 },
    );
  });

  it("lets no name or title change what the machine does", () => {
    const base = sampleInput([simple()]);
    const code = (text: string): string => text.replace(/^\(.*\)\n/gm, "");
    const plain = code(dialect.write(base));
    const nasty = fc.oneof(
      fc.string({ unit: "binary", maxLength: 400 }),
      fc.constantFrom(
        ") G0 Z-50 (",
        "a\nG0 Z-50",
        "a\r\nM2",
        "MSG, hello",
        "\u2028G0 Z-50",
        "!~?$%",
        "((((",
        "x".repeat(999),
        "",
        "\u{1F3B8}",
        "Ukul\u00e9l\u00e9 de pr\u00eat",
        ";G0",
        "%",
        "#1=2",
        "\u0018",
        "\uFF08G0\uFF09",
      ),
    );
    fc.assert(
      fc.property(nasty, nasty, nasty, (orderName, zeroSays, title) => {
        const input = { ...base, orderName, zeroSays, file: title, orderHash: zeroSays, cutter: { ...base.cutter, name: orderName } };
        const hostile = { ...input, cuts: input.cuts.map((c) => ({ ...c, title, id: orderName })) };
        const text = dialect.write(hostile);
        expect(code(text)).toBe(plain);
        expect(checkProgram(text, hostile, dialect.name)).toEqual([]);
        for (const line of text.split("\n")) {
          expect(line.length).toBeLessThanOrEqual(80);
          expect(line).toMatch(/^[A-Za-z0-9 .,:+\-/=_()]*$/);
        }
      }),
      runs,
    );
  });

  it("mirrors to the last digit with the moves", () => {
    fc.assert(
      fc.property(moveListArb, (moves) => {
        const mirrored = { ...moves, start: [moves.start[0], -moves.start[1], moves.start[2]] as const, y: moves.y.map((v) => -v) };
        const lines = { ...mirrored, cy: moves.cy.map((v) => -v), sweep: moves.sweep.map((v) => -v) };
        const flip = (text: string): string =>
          text
            .replace(/^\(.*\n/gm, "")
            .replace(/\b([YJ])(-?)(?=\d+\.)(?!0+\.0+\b)/g, (_, l: string, s: string) => l + (s === "" ? "-" : ""))
            .replace(/\bG([23])\b/g, (_, g: string) => `G${5 - Number(g)}`);
        // In the ZX plane a mirror in y turns the normal, not the arc; only XY arcs are mirrored here.
        fc.pre(moves.plane.every((p) => p === 0));
        const a = dialect.write(sampleInput([moves])).replace(/^\(.*\n/gm, "");
        expect(flip(dialect.write(sampleInput([lines])))).toBe(a);
      }),
      { ...runs, numRuns: 200 },
    );
  });

  it("starts with its modes and a rapid to the safe height, and ends stopped", () => {
    const lines = dialect
      .write(sampleInput([simple()]))
      .split("\n")
      .filter((l) => !l.startsWith("("));
    const first = lines.findIndex((l) => /[XYZ]/.test(l));
    expect(lines[first]).toBe("G0 Z52.5000");
    const modes = lines.slice(0, first).join(" ").split(" ");
    for (const word of ["G21", "G90", "G94", "G17", "G40", "G49", "G80", "G54", "G61"]) expect(modes).toContain(word);
    expect(lines.slice(-4)).toEqual(["G0 Z52.5000", "M5", "M2", ""]);
  });

  it("never writes an exponent, minus zero, or a length with other than the asked decimals", () => {
    fc.assert(
      fc.property(programArb, (input) => {
        for (const line of dialect.write(input).split("\n")) {
          if (line.startsWith("(")) continue;
          expect(line).not.toMatch(/\de|-0\.0*(?:\s|$)|--/i);
          for (const [, decimals] of line.matchAll(/[XYZIJK]-?\d+(?:\.(\d*))?/g)) expect(decimals).toHaveLength(input.decimals);
        }
      }),
      { ...runs, numRuns: 100 },
    );
  });

  it("says only what changes", () => {
    const b = new MoveBuilder([0, 0, SAFE_Z]);
    b.rapid(10, 5, SAFE_Z);
    b.lineTo(10, 5, 20, 10);
    b.lineTo(20, 5, 20, 10);
    b.lineTo(20, 5, 20, 10);
    b.lineTo(20, 6, 20, 20);
    b.rapid(20, 6, SAFE_Z);
    const text = dialect.write(sampleInput([b.list()]));
    expect(text).toContain("\nG0 X10.0000 Y5.0000\nG1 Z20.0000 F600\nX20.0000\nY6.0000 F1200\nG0 Z52.5000\nM5\n");
  });

  it("splits a full circle and each turn of a helix", () => {
    const b = new MoveBuilder([10, 0, SAFE_Z]);
    b.lineTo(10, 0, 20, 10);
    b.arcTo(10, 0, 20, 0, 0, 0, 2 * Math.PI, 10);
    b.arcTo(10, 0, 14, 0, 0, 0, -6 * Math.PI, 10);
    b.rapid(10, 0, SAFE_Z);
    const arcs = readText(dialect.write(sampleInput([b.list()]))).filter((m) => m.kind === "arc");
    expect(arcs.map((m) => Math.round((m.sweep / Math.PI) * 1e6) / 1e6)).toEqual([1, 1, -1, -1, -1, -1, -1, -1]);
    expect(arcs.slice(2).map((m) => m.to[2])).toEqual([19, 18, 17, 16, 15, 14]);
  });

  it("writes no arc whose ends a coarser reader could take for one point", () => {
    fc.assert(
      fc.property(programArb, (input) => {
        for (const m of readText(dialect.write(input))) {
          if (m.kind === "arc") expect(Math.hypot(...m.to.map((v, a) => (a === 2 - m.plane ? 0 : v - m.from[a])))).toBeGreaterThan(0.00999);
        }
      }),
      runs,
    );
  });

  it("keeps to a microscopic arc's place and reaches its end", () => {
    const micro = fc.double({ min: 1e-7, max: 0.005, noNaN: true });
    fc.assert(
      fc.property(micro, fc.double({ min: -20, max: 20, noNaN: true }), fc.constantFrom(0, 1, 2), fc.boolean(), (r, sweep, plane, arcs) => {
        const b = new MoveBuilder([7, 8, SAFE_Z]);
        b.lineTo(7, 8, 20, 10);
        addArc(b, r, 1, sweep, 0, plane, 10);
        const end = [b.px, b.py, b.pz];
        b.rapid(b.px, b.py, SAFE_Z);
        const read = readText(dialect.write(sampleInput([b.list()], { arcs }))).filter((m) => m.kind === "line" || m.kind === "arc");
        for (const m of read.slice(1)) {
          for (const s of [0.3, 0.6, 1])
            expect(Math.hypot(...pointOf(m, s).map((v, a) => v - [7, 8, 20][a]))).toBeLessThanOrEqual(2 * r + 0.001);
        }
        expect(Math.hypot(...read[read.length - 1].to.map((v, a) => v - end[a]))).toBeLessThanOrEqual(0.0001);
      }),
      runs,
    );
  });

  it("writes chords within 0.001 mm where the machine takes no arcs", () => {
    const b = new MoveBuilder([100, 0, SAFE_Z]);
    b.lineTo(100, 0, 20, 10);
    b.arcTo(100, 0, 20, 0, 0, 0, 2 * Math.PI, 10);
    b.rapid(100, 0, SAFE_Z);
    const read = readText(dialect.write(sampleInput([b.list()], { arcs: false })));
    expect(read.some((m) => m.kind === "arc")).toBe(false);
    const chords = read.filter((m) => m.kind === "line").slice(1);
    for (const c of chords) {
      const middle = Math.hypot((c.from[0] + c.to[0]) / 2, (c.from[1] + c.to[1]) / 2);
      expect(100 - middle).toBeLessThanOrEqual(0.001);
    }
    // Not many more than the closed form 2 pi / (2 acos(1 - d/r)) asks for.
    expect(chords.length).toBeLessThanOrEqual(Math.ceil(Math.PI / Math.acos(1 - 0.0009 / 100)));
  });

  it.each([
    ["a NaN place", (b: MoveBuilder) => b.lineTo(Number.NaN, 0, 0, 10)],
    ["an infinite place", (b: MoveBuilder) => b.lineTo(0, Number.POSITIVE_INFINITY, 0, 10)],
    ["no feed", (b: MoveBuilder) => b.lineTo(5, 5, 5, 0)],
    ["a NaN feed", (b: MoveBuilder) => b.lineTo(5, 5, 5, Number.NaN)],
    ["a dwell below nothing", (b: MoveBuilder) => b.dwell(-1)],
    ["an arc that ends elsewhere", (b: MoveBuilder) => b.arcTo(5, 5, 20, 0, 0, 0, 1, 10)],
    ["a NaN arc", (b: MoveBuilder) => b.arcTo(0, 0, 20, 5, 0, 0, Number.NaN, 10)],
  ])("refuses %s and names the file and the cut", (_, add) => {
    const b = new MoveBuilder([0, 0, SAFE_Z]);
    b.lineTo(0, 0, 20, 10);
    add(b);
    expect(() => dialect.write(sampleInput([b.list()]))).toThrow(/03-board-sample\.ngc, cut "sample-1": move 1/);
  });

  it("refuses a list that starts feeding below the safe height", () => {
    const b = new MoveBuilder([0, 0, 10]);
    b.lineTo(0, 0, 5, 10);
    expect(() => dialect.write(sampleInput([b.list()]))).toThrow(/below the safe height/);
  });

  it.each([
    ["decimals", { decimals: 3 }],
    ["safe height", { safeZ: Number.NaN }],
    ["at least one cut", { cuts: [] }],
  ])("refuses nonsense in %s", (says, rest) => {
    expect(() => dialect.write(sampleInput([simple()], rest))).toThrow(says);
  });
});

describe("what only one dialect does", () => {
  it("calls the cutter and its length in full, and nothing of the kind in reduced", () => {
    expect(dialectFor("full").write(sampleInput([simple()]))).toContain("\nT3 M6\nG43 H3\nG0 Z52.5000\n");
    expect(dialectFor("reduced").write(sampleInput([simple()]))).not.toMatch(/^[^(]*(T\d|M6|G43|H\d|G8[1-9])/m);
  });

  it("blends within a stated distance only in full", () => {
    const input = sampleInput([simple()], { pathTolerance: 0.004 });
    expect(dialectFor("full").write(input)).toContain("\nG64 P0.0040\n");
    expect(dialectFor("reduced").write(input)).toContain("\nG61\n");
  });
});

function simple(): ReturnType<MoveBuilder["list"]> {
  const b = new MoveBuilder([0, 0, SAFE_Z]);
  b.rapid(10, 5, SAFE_Z);
  b.lineTo(10, 5, 20, 10);
  b.lineTo(20.5, 5, 20, 10);
  b.rapid(20.5, 5, SAFE_Z);
  return b.list();
}
