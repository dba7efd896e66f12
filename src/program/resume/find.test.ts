import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { MoveBuilder, MoveKind, moveLength } from "../../kernel/moves.ts";
import { findStart, passesOf, plungeOf } from "./find.ts";
import { restOf } from "./rest.ts";
import type { Written } from "./types.ts";

/** Two cuts; the first of two passes (a line and an arc, then a zigzag), the second of one. One move a line, from line 10 on. */
function written(): Written {
  const b = new MoveBuilder([0, 0, 20]);
  let line = 10;
  const next = (): void => {
    b.line = line++;
  };
  const rapid = (x: number, y: number, z: number): void => {
    next();
    b.rapid(x, y, z);
  };
  const to = (x: number, y: number, z: number, feed = 20): void => {
    next();
    b.lineTo(x, y, z, feed);
  };
  next();
  b.dwell(3);
  rapid(0, 0, 20);
  to(0, 0, -2, 5);
  to(40, 0, -2);
  next();
  b.arcTo(40, 20, -2, 40, 10, 0, Math.PI, 15);
  rapid(40, 20, 20);
  rapid(0, 5, 20);
  rapid(0, 5, 1);
  to(0, 5, -2, 4);
  for (let k = 1; k <= 10; k++) to(k * 4, 5, -2);
  rapid(40, 5, 20);
  const second = b.count;
  next();
  b.dwell(3);
  rapid(0, 0, 20);
  to(0, 0, -4, 6);
  to(40, 0, -4);
  rapid(40, 0, 20);
  const moves = b.list();
  return {
    file: "a.ngc",
    moves,
    cuts: [
      { id: "board-one", title: "One", rpm: 12000, from: 0, to: second },
      { id: "board-two", title: "Two", rpm: 15000, from: second, to: moves.count },
    ],
  };
}

const w = written();
const start = (at: Parameters<typeof findStart>[1], overlap = 0): Extract<ReturnType<typeof findStart>, { ok: true }>["start"] => {
  const f = findStart(w, at, overlap);
  if (!f.ok) throw new Error(f.says);
  return f.start;
};
const says = (at: Parameters<typeof findStart>[1]): string => {
  const f = findStart(w, at, 0);
  return f.ok ? "" : `${f.says}; ${f.tryThis}`;
};

describe("where a program is begun again", () => {
  test("passes are the stretches between rapids, counted in each cut", () => {
    const passes = passesOf(w);
    expect(passes.map((p) => [p.cut, p.number, p.firstLine, p.lastLine])).toEqual([
      [0, 1, 12, 14],
      [0, 2, 18, 28],
      [1, 1, 32, 33],
    ]);
    expect(passes[0].length).toBeCloseTo(22 + 40 + Math.PI * 10, 9);
    expect(passes[0].zMin).toBe(-2);
    expect([plungeOf(w, 0), plungeOf(w, 1)]).toEqual([4, 6]);
  });

  test("by line: the beginning of its move, and back as far as asked, within its pass", () => {
    expect(start({ kind: "line", line: 14 })).toMatchObject({ line: 14, at: [40, 0, -2], overlap: 0 });
    expect(start({ kind: "line", line: 14 }, 10)).toMatchObject({ line: 13, at: [0, 0, -2], overlap: 40 });
    expect(start({ kind: "line", line: 25 }, 10)).toMatchObject({ line: 22, at: [12, 5, -2], overlap: 12 });
    expect(start({ kind: "line", line: 20 }, 100)).toMatchObject({ line: 18, at: [0, 5, 1] });
    // a rapid between passes: the pass that follows
    expect(start({ kind: "line", line: 16 }, 10)).toMatchObject({ line: 18, overlap: 0 });
  });

  test("by place: on a line, on an arc, the first of several", () => {
    expect(start({ kind: "place", at: [20, 0.1, -2] })).toMatchObject({ line: 13, overlap: 20 });
    expect(start({ kind: "place", at: [50, 10, -2] })).toMatchObject({ line: 14 });
    expect(start({ kind: "place", at: [50, 10, -2] }).overlap).toBeCloseTo(Math.PI * 5, 2);
    expect(start({ kind: "place", at: [20, 0, -3.8] })).toMatchObject({ line: 33 });
  });

  test("by cut and pass, by the short name too", () => {
    expect(start({ kind: "pass", cut: "board-one", pass: 2 })).toMatchObject({ line: 18, at: [0, 5, 1] });
    expect(start({ kind: "pass", cut: "two", pass: 1 })).toMatchObject({ line: 32, cut: 1 });
  });

  test("what cannot be is refused in words that help", () => {
    expect(says({ kind: "line", line: 5 })).toBe("nothing is cut before line 12; run the program itself from its beginning");
    expect(says({ kind: "line", line: 900 })).toMatch(/behind the program's last move, which is on line 34/);
    expect(says({ kind: "line", line: 34 })).toMatch(/after line 34 nothing more is cut/);
    expect(says({ kind: "pass", cut: "three", pass: 1 })).toMatch(/has no cut "three"; it has board-one, board-two/);
    expect(says({ kind: "pass", cut: "one", pass: 7 })).toMatch(/has passes 1 to 2, not 7/);
    expect(says({ kind: "place", at: [1, 1, 9] })).toMatch(/lies \d+\.\d\d mm from the nearest place/);
  });

  test("never behind the place that was named, always at feed, and what follows is the program's own", () => {
    const line = fc.integer({ min: 13, max: 33 });
    const overlap = fc.double({ min: 0, max: 60, noNaN: true });
    fc.assert(
      fc.property(line, overlap, (n, o) => {
        const s = start({ kind: "line", line: n }, o);
        for (let k = 0; k < s.move; k++)
          if (w.moves.line[k] >= n) expect(w.moves.kind[k] === MoveKind.line || w.moves.kind[k] === MoveKind.arc).toBe(false);
        const pass = passesOf(w).find((p) => p.from <= s.move && s.move < p.to)!;
        expect(pass).toBeDefined();
        if (s.move > pass.from) expect(s.overlap).toBeGreaterThanOrEqual(o);
        const cuts = restOf(w, s, { safeZ: 20, clearZ: 2, plunge: 4 });
        const first = cuts[0].moves;
        const way = first.count - (w.cuts[s.cut].to - s.move);
        expect([first.x[way - 1], first.y[way - 1], first.z[way - 1]]).toEqual([...s.at]);
        // straight down, at rapid only above the clear height
        for (let k = 0; k < way; k++) {
          expect([first.x[k], first.y[k]]).toEqual([s.at[0], s.at[1]]);
          if (first.kind[k] === MoveKind.rapid) expect(first.z[k]).toBeGreaterThanOrEqual(2);
          else expect(first.feed[k]).toBe(4);
        }
        for (const key of ["kind", "x", "y", "z", "feed", "cx", "cy", "sweep"] as const)
          expect([...first[key].subarray(way)]).toEqual([...w.moves[key].subarray(s.move, w.cuts[s.cut].to)]);
        expect(cuts.length).toBe(2 - s.cut);
        if (cuts.length === 2) expect(cuts[1].moves.kind[0]).toBe(MoveKind.rapid);
      }),
      { seed: 20260101, numRuns: 200 },
    );
  });

  test("lengths of moves", () => {
    expect(moveLength(w.moves, 0)).toBe(0);
    expect(moveLength(w.moves, 3)).toBe(40);
    expect(moveLength(w.moves, 4)).toBeCloseTo(Math.PI * 10, 12);
  });
});
