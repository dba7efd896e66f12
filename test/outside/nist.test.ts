/**
 * The reader against Kramer, Proctor, Messina: The NIST RS274NGC Interpreter - Version 3, NISTIR 6556, 17 August 2000.
 * Worked lines and printed results are the report's; lengths and angles of its sample program are computed here by hand
 * from its coordinates (marked).
 */
import { describe, expect, test } from "vitest";
import { MoveKind, type MoveList } from "../../src/kernel/moves.ts";
import { interpretProgram, type ReadProgram } from "../../src/proof/reader/index.ts";

const run = (text: string, start: readonly [number, number, number] = [0, 0, 0]): ReadProgram =>
  interpretProgram(`${text}\nm2\n`, { start });

/** Moves as the report prints them: T(x,y,z) for traverses, F for feeds, A for arcs. */
function printed(m: MoveList): string {
  const name = ["T", "F", "A", "D"];
  const r = (v: number): string => String(Math.round(v * 1e4) / 1e4 + 0);
  return Array.from({ length: m.count }, (_, k) => `${name[m.kind[k]]}(${r(m.x[k])},${r(m.y[k])},${r(m.z[k])})`).join(" ");
}

const good = (text: string, start?: readonly [number, number, number]): string => {
  const p = run(text, start);
  expect(p.errors).toEqual([]);
  return printed(p.moves);
};

const ruleOf = (text: string): string => {
  const p = run(text);
  expect(p.errors.length).toBe(1);
  return p.errors[0].rule;
};

describe("NISTIR 6556, format of a line", () => {
  test("3.3: spaces and case do not count", () => {
    expect(good("g0x +0. 12 34y 7")).toBe(good("g0 x+0.1234 y7"));
    expect(good("G0X0.1234Y7")).toBe("T(0.1234,7,0)");
  });
  test("3.3.3: words may stand in any order; parameter settings take effect after the line is read", () => {
    expect(good("#3=15\n#3=6 g1 x#3 f10")).toBe("F(15,0,0)");
    expect(good("#3=5\n#3=6\ng0 x#3")).toBe("T(6,0,0)");
  });
  test("3.3.1: a line number has at most five digits", () => {
    expect(good("n99999 g0 x1")).toBe("T(1,0,0)");
    expect(ruleOf("n100000 g0 x1")).toBe("PF-125");
  });
  test("3.3.4: comments do not nest; the line is at most 256 characters", () => {
    expect(ruleOf("g0 x1 (a (b) c)")).toBe("PF-103");
    expect(ruleOf("g0 x1 (a")).toBe("PF-103");
    expect(ruleOf(`g0 x1 (${"a".repeat(260)})`)).toBe("PF-102");
  });
  test("3.4: percent signs mark both ends or neither", () => {
    expect(interpretProgram("%\ng0 x1\n%\n").errors).toEqual([]);
    expect(interpretProgram("%\ng0 x1\nm2\n").errors[0].rule).toBe("PF-126");
    expect(interpretProgram("g0 x1\n").errors[0].rule).toBe("PF-126");
  });
  test("3.4: one word of each modal group, no repeated letter, at most four M words", () => {
    expect(ruleOf("g0 g1 x1 f1")).toBe("PF-111");
    expect(ruleOf("m3 m4 s1")).toBe("PF-111");
    expect(ruleOf("g0 x1 x2")).toBe("PF-112");
    expect(ruleOf("m6 m3 m7 m8 m48")).toBe("PF-113");
    expect(good("m7 m8")).toBe("");
  });
  test("3.4: axis words are for one code only", () => {
    expect(ruleOf("g1 g92 x1 f5")).toBe("PF-114");
  });
  test("3.3.2.1: a whole number may miss by 0.0001", () => {
    expect(good("g0.00001 x1")).toBe("T(1,0,0)");
    expect(ruleOf("g0.01 x1")).toBe("PF-109");
    expect(ruleOf("t1.5")).toBe("PF-122");
  });
});

describe("NISTIR 6556, appendix C.2: expressions and their printed values", () => {
  const cases: readonly (readonly [string, string])[] = [
    ["sin[30]", "0.5"],
    ["tan[60]", "1.7321"],
    ["atan[1.7321]/[1.0]", "60"],
    ["acos[.707107]", "45"],
    ["round[-.499]", "0"],
    ["round[-.5001]", "-1"],
    ["fix[-.499]", "-1"],
    ["fup[-.499]", "0"],
    ["[15 mod 4.0]", "3"],
    ["[1+2*3-4/5]", "6.2"],
    ["[2**3.0]", "8"],
    ["exp[2.3026]", "10"],
    ["ln[10]", "2.3026"],
    ["sqrt[3**2+4**2]", "5"],
    // 3.3.2.3
    ["[2.0/3*1.5-5.5/11.0]", "0.5"],
  ];
  test.each(cases)("%s = %s", (text, printed) => {
    const value = Number(printed);
    const p = run(`g0 x${text}`);
    expect(p.errors).toEqual([]);
    // printed with four decimals; where the argument is itself rounded, its rounding (0.00005) carries through:
    // d atan = 0.00005 / (1 + 1.7321^2) rad = 0.00072 deg, d exp = 10 * 0.00005
    const tolerance = text.startsWith("atan") ? 7.2e-4 : text.startsWith("exp") ? 5e-4 : 5.1e-5;
    expect(Math.abs(p.moves.x[0] - value)).toBeLessThan(tolerance);
  });
});

describe("NISTIR 6556, 3.5.3: arcs", () => {
  test("centre format: from (7,7), the centre is (10,11), the radius 5 at both ends", () => {
    const m = run("g17 g2 x10 y16 i3 j4 z9 f1", [7, 7, 0]).moves;
    expect([m.cx[0], m.cy[0]]).toEqual([10, 11]);
    expect(Math.hypot(7 - 10, 7 - 11)).toBe(5);
    expect(Math.hypot(m.x[0] - m.cx[0], m.y[0] - m.cy[0])).toBe(5);
    expect(m.sweep[0]).toBeLessThan(0);
    expect(m.sweep[0]).toBeGreaterThan(-Math.PI);
    expect(m.z[0]).toBe(9);
  });
  test("radius format: G17 G2 x10 y15 r20 z5 is at most half a turn, R-20 more", () => {
    const short = run("g17 g2 x10 y15 r20 z5 f1").moves;
    const long = run("g17 g2 x10 y15 r-20 z5 f1").moves;
    expect(short.sweep[0]).toBeGreaterThan(-Math.PI);
    expect(long.sweep[0]).toBeLessThan(-Math.PI);
    for (const m of [short, long]) {
      expect(Math.hypot(m.cx[0], m.cy[0])).toBeCloseTo(20, 9);
      expect(Math.hypot(10 - m.cx[0], 15 - m.cy[0])).toBeCloseTo(20, 9);
    }
  });
  test("radii at the ends may differ by 0.002 mm or 0.0002 inch", () => {
    expect(run("g2 x10.0019 y0 i5 f1").errors).toEqual([]);
    expect(ruleOf("g2 x10.0021 y0 i5 f1")).toBe("PF-118");
    expect(run("g20\ng2 x10.00019 y0 i5 f1").errors).toEqual([]);
    expect(ruleOf("g20\ng2 x10.00021 y0 i5 f1")).toBe("PF-118");
  });
  test("errors: no axis of the plane, neither radius nor centre, both, end at the start with R", () => {
    expect(ruleOf("g2 z1 r5 f1")).toBe("PF-119");
    expect(ruleOf("g2 x1 f1")).toBe("PF-119");
    expect(ruleOf("g2 x1 r5 i1 f1")).toBe("PF-119");
    expect(ruleOf("g2 x1 k1 f1")).toBe("PF-119");
    expect(ruleOf("g2 x0 y0 r5 f1")).toBe("PF-120");
    expect(ruleOf("g2 x11 y0 r5 f1")).toBe("PF-120");
  });
});

describe("NISTIR 6556, other words", () => {
  test("3.5.18: G92 at X4 with x7 shifts by -3, then x9 by -5", () => {
    const p = run("g0 x4\ng92 x7\ng92 x9");
    expect(p.errors).toEqual([]);
    expect(p.events.filter((e) => e.kind === "origin").map((e) => e.at?.[0])).toEqual([-3, -5]);
  });
  test("3.5.19: under G93, F2.0 is half a minute", () => {
    const m = run("g93 g1 x10 f2.0").moves;
    expect(10 / m.feed[0]).toBeCloseTo(30, 12);
    expect(ruleOf("g93 g1 x10 f2\ng1 x20")).toBe("PF-117");
  });
  test("errors: G53 without G0 or G1, negative dwell, negative H, G10 without a system", () => {
    expect(ruleOf("g53 x1")).toBe("PF-127");
    expect(ruleOf("g4 p-1")).toBe("PF-122");
    expect(ruleOf("g43 h-1")).toBe("PF-122");
    expect(ruleOf("g10 l2 p10 x1")).toBe("PF-122");
    expect(ruleOf("g80 x1")).toBe("PF-115");
    expect(ruleOf("x1")).toBe("PF-115");
    expect(ruleOf("g0")).toBe("PF-116");
    expect(ruleOf("g1 x1")).toBe("PF-117");
    expect(ruleOf("g0 x1 q5")).toBe("PF-121");
  });
});

describe("NISTIR 6556, 3.5.16: canned cycles", () => {
  test("first printed example, G90 G98", () => {
    expect(good("f1\ng90 g81 g98 x4 y5 z1.5 r2.8", [1, 2, 3])).toBe("T(4,5,3) T(4,5,2.8) F(4,5,1.5) T(4,5,3)");
  });
  test("second printed example, G91 L3", () => {
    expect(good("f1\ng91 g81 g98 x4 y5 z-0.6 r1.8 l3", [1, 2, 3])).toBe(
      "T(1,2,4.8) T(5,7,4.8) F(5,7,4.2) T(5,7,4.8) T(9,12,4.8) F(9,12,4.2) T(9,12,4.8) T(13,17,4.8) F(13,17,4.2) T(13,17,4.8)",
    );
  });
  test("errors: no axis words, no depth the first time, R below Z, G93, bad repeats, bad peck", () => {
    expect(ruleOf("f1\ng81 r1")).toBe("PF-116");
    expect(ruleOf("f1\ng81 x1 r1")).toBe("PF-123");
    expect(ruleOf("f1\ng81 x1 z-1 r-2")).toBe("PF-123");
    expect(ruleOf("f1 g93\ng81 x1 z-1 r1")).toBe("PF-123");
    expect(ruleOf("f1\ng81 x1 z-1 r1 l0")).toBe("PF-122");
    expect(ruleOf("f1\ng83 x1 z-1 r1 q0")).toBe("PF-123");
    expect(ruleOf("f1\ng82 x1 z-1 r1 p-1")).toBe("PF-123");
  });
});

describe("NISTIR 6556, table 10: transcript of a session", () => {
  const lines = ["g1 x3 y1 f20.0", "g2 x[6-[4*3/2]] r 7.01 z0.5", "t2", "m6 g43 h2", "g1 x asin[0.5]", "g91 g81 x3 y2 z-0.8 r1.5 l2", "m2"];
  // slot 2 of the report's tool file has length 1.0
  const p = interpretProgram(lines.join("\n"), { cutters: [{ number: 2, length: 1 }] });
  test("is read without error and prints the same moves", () => {
    expect(p.errors).toEqual([]);
    // the second traverse is the change of length, in which only the numbering moves
    expect(printed(p.moves)).toBe(
      "F(3,1,0) A(0,1,0.5) T(0,1,-0.5) F(30,1,-0.5) T(30,1,1) T(33,3,1) F(33,3,0.2) T(33,3,1) T(36,5,1) F(36,5,0.2) T(36,5,1)",
    );
    expect(p.moves.feed[0] * 60).toBeCloseTo(20, 12);
    expect(p.moves.cx[1]).toBeCloseTo(1.5, 12);
    expect(p.moves.cy[1]).toBeCloseTo(7.8476, 4);
  });
  test("the change of cutter and its length are told", () => {
    expect(p.events.filter((e) => ["select", "change", "length"].includes(e.kind)).map((e) => [e.kind, e.value])).toEqual([
      ["select", 2],
      ["change", 2],
      ["length", 2],
    ]);
  });
  test("asim is no function: unknown word starting with a", () => {
    const e = run("g1 x asim[0.5] f1").errors[0];
    expect([e.line, e.column, e.word, e.rule]).toEqual([1, 6, "asim", "PF-105"]);
  });
});

const C1 = `n0010 g21 g0 x0 y0 z50
n0020 t1 m6 m3 f20 s4000
n0030 g0 x0 y0 z2
n0040 g1 z-0.5
n0050 y10
n0060 g0 z2
n0070 y5
n0080 g1 z-0.5
n0090 x 7
n0100 g0 z2
n0110 y0
n0120 g1 z-0.5
n0130 y10
n0140 g0 z2
n0150 x11 y2.5
n0160 g1 z-0.5
n0170 x16
n0190 g3 x13.5 y0 i-2.5
n0200 g1 x16
n0210 g0 z2
n0220 x20 y0
n0230 g1 z-0.5
n0240 y9
n0250 g0 z2
n0260 x26
n0270 g1 z-0.5
n0280 y0
n0290 g0 z2
n0300 x32.5
n0310 g1 z-0.5
n0320 g2 x32.5 j2.5
n0330 g0 z2
n0340 x45 y5
n0350 g1 z-0.5
n0360 x47 y0
n0370 x48.5 y3
n0380 x50 y0
n0390 x52 y5
n0400 g0 z2
n0410 x57.5 y0
n0420 g1 z-0.5
n0430 g2 x57.5 j2.5
n0440 g0 z2
n0450 x64
n0460 g1 z-0.5
n0470 y5
n0480 y4
n0490 g2 x69 r4
n0500 g0 z2
n0510 x73 y0
n0520 g1 z-0.5
n0530 y9
n0540 g0 z2
n0550 x81
n0560 g1 z-0.5
n0570 y0
n0580 x79.5
n0590 g2 j2.5 y5
n0600 g1 x81
n0610 g0 z50
n0620 m2
`;

describe("NISTIR 6556, appendix C.1: sample program (totals computed by hand from its coordinates)", () => {
  const p = interpretProgram(C1);
  const m = p.moves;
  const length = (k: number): number => {
    const px = k === 0 ? m.start[0] : m.x[k - 1];
    const py = k === 0 ? m.start[1] : m.y[k - 1];
    const pz = k === 0 ? m.start[2] : m.z[k - 1];
    if (m.kind[k] !== MoveKind.arc) return Math.hypot(m.x[k] - px, m.y[k] - py, m.z[k] - pz);
    return Math.hypot(Math.abs(m.sweep[k]) * Math.hypot(px - m.cx[k], py - m.cy[k]), m.z[k] - pz);
  };
  const all = Array.from({ length: m.count }, (_, k) => k);
  const sum = (ks: number[]): number => ks.reduce((s, k) => s + length(k), 0);
  test("25 rapids, 29 lines, 4 clockwise arcs and 1 counter-clockwise", () => {
    expect(p.errors).toEqual([]);
    expect(all.filter((k) => m.kind[k] === MoveKind.rapid).length).toBe(25);
    expect(all.filter((k) => m.kind[k] === MoveKind.line).length).toBe(29);
    expect(all.filter((k) => m.kind[k] === MoveKind.arc && m.sweep[k] < 0).length).toBe(4);
    expect(all.filter((k) => m.kind[k] === MoveKind.arc && m.sweep[k] > 0).length).toBe(1);
  });
  test("feed length 183.4305 mm, rapid length 252.0528 mm, 550.29 s at F20", () => {
    expect(sum(all.filter((k) => m.kind[k] !== MoveKind.rapid))).toBeCloseTo(183.4305, 4);
    expect(sum(all.filter((k) => m.kind[k] === MoveKind.rapid))).toBeCloseTo(252.0528, 4);
    const seconds = all.filter((k) => m.kind[k] !== MoveKind.rapid).reduce((s, k) => s + length(k) / m.feed[k], 0);
    expect(seconds).toBeCloseTo(550.29, 2);
  });
  test("centres, radii and turns of its five arcs", () => {
    const arcs = all.filter((k) => m.kind[k] === MoveKind.arc);
    const rows = arcs.map((k) => [
      m.cx[k],
      m.cy[k],
      Math.hypot(m.x[k] - m.cx[k], m.y[k] - m.cy[k]),
      (Math.abs(m.sweep[k]) * 180) / Math.PI,
      length(k),
    ]);
    const expected = [
      [13.5, 2.5, 2.5, 270, 11.781],
      [32.5, 2.5, 2.5, 360, 15.708],
      [57.5, 2.5, 2.5, 360, 15.708],
      [66.5, 0.8775, 4, 77.364, 5.4011],
      [79.5, 2.5, 2.5, 180, 7.854],
    ];
    rows.forEach((row, n) => {
      row.forEach((v, c) => {
        expect(v).toBeCloseTo(expected[n][c], 3);
      });
    });
  });
});
