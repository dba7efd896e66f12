import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { type PieceStep, schedule } from "./schedule.ts";

const steps = (text: string): PieceStep[] => [...text].map((c, k) => ({ cutter: c === "-" ? null : Number(c), id: `${k}` }));

/** Fewest changes by trying every turn, one step at a time. */
function brute(pieces: readonly string[]): number {
  const memo = new Map<string, number>();
  const best = (at: readonly number[], cutter: string): number => {
    if (at.every((n, k) => n === pieces[k].length)) return 0;
    const key = `${at.join()} ${cutter}`;
    const known = memo.get(key);
    if (known !== undefined) return known;
    let least = Number.POSITIVE_INFINITY;
    at.forEach((n, k) => {
      if (n === pieces[k].length) return;
      const c = pieces[k][n];
      const next = at.map((m, j) => (j === k ? m + 1 : m));
      least = Math.min(least, c === "-" ? best(next, cutter) : (c === cutter ? 0 : 1) + best(next, c));
    });
    memo.set(key, least);
    return least;
  };
  return best(
    pieces.map(() => 0),
    "",
  );
}

const piece = fc.array(fc.constantFrom("1", "2", "3", "4", "-"), { minLength: 1, maxLength: 7 }).map((a) => a.join(""));

describe("the order of work of several pieces", () => {
  test("has as few changes as any, keeps every piece's own order, and does every step once", () => {
    fc.assert(
      fc.property(fc.array(piece, { minLength: 1, maxLength: 4 }), (pieces) => {
        const s = schedule(pieces.map(steps));
        expect(s.exact).toBe(true);
        expect(s.changes).toBe(brute(pieces));
        pieces.forEach((p, n) => {
          const mine = s.turns.flatMap((t) =>
            t.steps.filter((x) => x.piece === n).map((x) => ({ id: x.id, cutter: t.kind === "cut" ? String(t.cutter) : "-" })),
          );
          expect(mine.map((x) => x.id)).toEqual([...p].map((_, k) => String(k)));
          expect(mine.map((x) => x.cutter).join("")).toBe(p);
        });
      }),
      { seed: 20260101, numRuns: 300 },
    );
  });

  test("pieces alike need no more changes than one", () => {
    const p = "6142-1-37142";
    expect(schedule([p, p, p, p, p, p].map(steps)).changes).toBe(schedule([steps(p)]).changes);
  });

  test("too many kinds for the search are still all done, and it says that it is not the fewest for sure", () => {
    const many = Array.from({ length: 9 }, (_, k) =>
      Array.from({ length: 14 }, (_, n) => String((k * 7 + n * (k + 3) + n * n) % 9)).join(""),
    );
    const s = schedule(many.map(steps));
    expect(s.exact).toBe(false);
    expect(s.turns.flatMap((t) => t.steps).length).toBe(9 * 14);
  });
});
