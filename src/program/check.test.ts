import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { addArc, SAFE_Z, sampleInput } from "../../test/laws/programs.ts";
import { MoveBuilder } from "../kernel/moves.ts";
import { checkProgram, DIALECTS, dialectFor, PR_RULES } from "./index.ts";

const input = sampleInput([sample(), sample()]);
const good = dialectFor("full").write(input);

/** Each row spoils a good program in one place and names the rule that must notice. */
const spoils: readonly (readonly [string, string, (text: string) => string])[] = [
  ["a line of 300 characters", "PR-001", (t) => t.replace("(SIDE", `(${"x".repeat(300)}`)],
  ["a letter that is not ASCII", "PR-001", (t) => t.replace("(SIDE: board", "(SIDE: b\u00f6ard")],
  ["no line end at the end", "PR-001", (t) => t.slice(0, -1)],
  ["a comment in a comment", "PR-002", (t) => t.replace("(SIDE: board", "(SIDE: (board")],
  ["a comment that is not closed", "PR-002", (t) => t.replace(/^(\(ORDER: .*)\)$/m, "$1")],
  ["an active message", "PR-002", (t) => t.replace("(SIDE:", "(MSG, SIDE:")],
  ["no zero in the header", "PR-003", (t) => t.replace(/^\(ZERO.*\n/m, "")],
  ["another order's hash", "PR-003", (t) => t.replace("(ORDER HASH: 0", "(ORDER HASH: 1")],
  ["another cutter in the header", "PR-003", (t) => t.replace("(CUTTER: 3", "(CUTTER: 4")],
  ["no caution for the eyes", "PR-003", (t) => t.replace(/^\(CAUTION EYES.*\n/m, "")],
  ["a canned cycle", "PR-004", (t) => t.replace("G1 Z20.0000", "G81 Z20.0000 R21.0000")],
  ["two words of one group", "PR-004", (t) => t.replace("G1 Z20.0000", "G0 G1 Z20.0000")],
  ["an unknown letter", "PR-004", (t) => t.replace("G1 Z20.0000", "G1 A20.0000")],
  ["no number", "PR-004", (t) => t.replace("G1 Z20.0000", "G1 Z")],
  ["an exponent", "PR-004", (t) => t.replace("G1 Z20.0000", "G1 Z2.0000e1")],
  ["three decimals", "PR-005", (t) => t.replace("G1 Z20.0000", "G1 Z20.000")],
  ["minus zero", "PR-005", (t) => t.replace("G1 Z20.0000", "G1 Z20.0000 X-0.0000")],
  ["no units", "PR-006", (t) => t.replace("G21 ", "")],
  ["no path mode", "PR-006", (t) => t.replace("G61\n", "")],
  ["a first motion across", "PR-007", (t) => t.replace("G0 Z52.5000\n", "G0 X0.0000\nZ52.5000\n")],
  ["a first motion too low", "PR-007", (t) => t.replace("G0 Z52.5000\n", "G0 Z51.5000\nZ52.5000\n")],
  ["the wrong length offset", "PR-008", (t) => t.replace("H3", "H4")],
  ["no tool change", "PR-008", (t) => t.replace("T3 M6\n", "")],
  ["a slanting rapid", "PR-009", (t) => t.replace("G0 X10.0000 Y5.0000\n", "G0 X10.0000 Y5.0000 Z53.0000\n")],
  ["a rapid across below the safe height", "PR-009", (t) => t.replace("G0 X10.0000 Y5.0000\n", "G0 Z30.0000\nX10.0000 Y5.0000\n")],
  ["no feed", "PR-010", (t) => t.replace(" F600", "")],
  ["a spindle at rest", "PR-010", (t) => t.replace("S18000 M3\n", "")],
  ["a spindle at another speed", "PR-010", (t) => t.replace("S18000", "S1800")],
  ["radii that differ", "PR-011", (t) => t.replace(/I-?\d+\.(\d)/, (w, d: string) => w.slice(0, -1) + ((Number(d) + 1) % 10))],
  ["an arc that ends where it began", "PR-011", (t) => t.replace(/^G3 .*$/m, (l) => l.replace(/X\S+ Y\S+/, "X20.5000 Y5.0000"))],
  ["a move 0.01 mm too deep", "PR-012", (t) => t.replace("Z20.0000", "Z19.9900")],
  ["other bounds in the header", "PR-012", (t) => t.replace(/\(BOUNDS X: (\d)/, "(BOUNDS X: 1$1")],
  ["a cut that is not announced", "PR-013", (t) => t.replace(/^\(CUT 1 OF 2.*\n/m, "")],
  ["cuts in another order", "PR-013", (t) => t.replace("(CUT 1 OF 2", "(CUT 9 OF 2")],
  ["no spindle stop", "PR-014", (t) => t.replace("M5\n", "")],
  ["an end low down", "PR-014", (t) => t.replace(/\nG0 Z52\.5000\nM5/, "\nM5")],
  ["no M2", "PR-014", (t) => t.replace("M2\n", "")],
  ["something after M2", "PR-014", (t) => `${t}G0 Z60.0000\n`],
];

describe("the check of a program's text", () => {
  it.each(DIALECTS)("finds nothing in a good program of the $name dialect", (dialect) => {
    expect(checkProgram(dialect.write(input), input, dialect.name)).toEqual([]);
  });

  it.each(spoils)("finds %s by %s", (_, rule, spoil) => {
    const bad = spoil(good);
    expect(bad).not.toBe(good);
    const found = checkProgram(bad, input, "full");
    expect(found.map((f) => f.rule)).toContain(rule);
    for (const f of found) {
      expect(f.severity).toBe("stop");
      expect(f.where).toMatch(/^03-board-sample\.ngc:\d+$/);
    }
  });

  it("has a spoiled program for every rule", () => {
    expect([...new Set(spoils.map(([, rule]) => rule))]).toEqual(PR_RULES.map((r) => r.id));
  });

  it("takes no tool change in the reduced dialect and no arcs where the machine has none", () => {
    expect(checkProgram(good, input, "reduced").map((f) => f.rule)).toContain("PR-004");
    expect(checkProgram(good, { ...input, arcs: false }, "full").map((f) => f.rule)).toContain("PR-004");
  });

  it("finds the same word by word as in plain lines taken the quick way, whatever is spoiled", () => {
    const odd = "0123456789 .-+GXYZFIJKMHST()\nx/".split("");
    let different = 0;
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.nat(good.length - 1), fc.constantFrom(...odd), fc.constantFrom("put", "take", "replace", "twice")), {
          minLength: 1,
          maxLength: 3,
        }),
        (changes) => {
          let t = good;
          for (const [at, letter, how] of changes) {
            // most of them where the moves are
            const k = at % 3 === 0 ? at : good.length - 1 - (at % 900);
            const after = how === "put" ? t.slice(k) : how === "twice" ? t.slice(Math.max(0, k - 9)) : t.slice(k + 1);
            t = t.slice(0, k) + (how === "take" || how === "twice" ? "" : letter) + after;
          }
          for (const arcs of [true, false]) {
            const one = checkProgram(t, { ...input, arcs }, "full");
            expect(one).toEqual(checkProgram(t, { ...input, arcs }, "full", false));
            if (one.length > 0) different++;
          }
        },
      ),
      { seed: 20260303, numRuns: 1500 },
    );
    expect(different).toBeGreaterThan(1000);
  });

  it("stops counting after twenty findings", () => {
    expect(checkProgram(`${"Q1\n".repeat(500)}`, input, "full")).toHaveLength(20);
  });
});

function sample(): ReturnType<MoveBuilder["list"]> {
  const b = new MoveBuilder([0, 0, SAFE_Z]);
  b.rapid(10, 5, SAFE_Z);
  b.lineTo(10, 5, 20, 10);
  b.lineTo(20.5, 5, 20, 10);
  addArc(b, 3, 0, 2 * Math.PI, 0, 0, 10);
  b.rapid(20.5, 5, SAFE_Z);
  return b.list();
}
