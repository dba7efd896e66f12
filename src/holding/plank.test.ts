import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { type PlankAsk, planPlank, through } from "./plank.ts";

/** The least length by trying every blank at every place of a grid; small whole sizes, so that the grid holds every arrangement. */
function brute(a: PlankAsk): number {
  let best = Number.POSITIVE_INFINITY;
  const at: [number, number][] = [];
  const put = (k: number, end: number): void => {
    if (end >= best) return;
    if (k === a.blanks.length) {
      best = end;
      return;
    }
    const b = a.blanks[k];
    for (let x = 0; x + b.length <= a.length; x++)
      for (let y = 0; y + b.width <= a.width; y++) {
        if (a.keepOut.some((d) => x < d.xMax && x + b.length > d.xMin && y < d.yMax && y + b.width > d.yMin)) continue;
        if (
          at.some(
            ([px, py], j) =>
              x < px + a.blanks[j].length + a.kerf &&
              px < x + b.length + a.kerf &&
              y < py + a.blanks[j].width + a.kerf &&
              py < y + b.width + a.kerf,
          )
        )
          continue;
        at.push([x, y]);
        put(k + 1, Math.max(end, x + b.length));
        at.pop();
      }
  };
  put(0, 0);
  return best;
}

const whole = (min: number, max: number): fc.Arbitrary<number> => fc.integer({ min, max });
const ask = fc
  .record({
    length: whole(6, 12),
    width: whole(3, 6),
    kerf: whole(0, 1),
    sizes: fc.array(fc.tuple(whole(1, 5), whole(1, 3)), { minLength: 1, maxLength: 4 }),
    knots: fc.array(fc.tuple(whole(0, 9), whole(0, 4), whole(1, 2), whole(1, 2)), { maxLength: 2 }),
  })
  .map(
    (r): PlankAsk => ({
      length: r.length,
      width: r.width,
      kerf: r.kerf,
      blanks: r.sizes.map(([length, width], k) => ({ name: `${k}`, length, width })),
      keepOut: r.knots.map(([x, y, l, w]) => ({ xMin: x, yMin: y, xMax: x + l, yMax: y + w })),
    }),
  );

describe("blanks out of a plank", () => {
  test("use as little of it as any arrangement, or none is said to exist where there is none", () => {
    fc.assert(
      fc.property(ask, (a) => {
        const p = planPlank(a);
        expect(p.proved).toBe(true);
        const least = brute(a);
        if (!Number.isFinite(least)) {
          expect(p.at).toBeNull();
          return;
        }
        expect(p.used).toBe(least);
        expect(p.bound).toBeLessThanOrEqual(p.used);
        p.at!.forEach(([x, y], k) => {
          const b = a.blanks[k];
          expect(x >= 0 && y >= 0 && x + b.length <= a.length && y + b.width <= a.width).toBe(true);
          for (const d of a.keepOut) expect(x < d.xMax && x + b.length > d.xMin && y < d.yMax && y + b.width > d.yMin).toBe(false);
          p.at!.slice(0, k).forEach(([px, py], j) => {
            const c = a.blanks[j];
            expect(x < px + c.length + a.kerf && px < x + b.length + a.kerf && y < py + c.width + a.kerf && py < y + b.width + a.kerf).toBe(
              false,
            );
          });
        });
      }),
      { seed: 20260101, numRuns: 150 },
    );
  });

  test("necks of several sizes out of a real plank, round its knots", () => {
    const guitar = { name: "guitar", length: 750, width: 120 };
    const ukulele = { name: "ukulele", length: 480, width: 80 };
    const p = planPlank({
      length: 2400,
      width: 260,
      kerf: 4,
      blanks: [guitar, guitar, guitar, guitar, ukulele, ukulele],
      keepOut: [{ xMin: 300, yMin: 100, xMax: 340, yMax: 150 }],
    });
    expect(p.at).not.toBeNull();
    expect(p.used).toBeGreaterThanOrEqual(p.bound);
    expect(p.used).toBeLessThan(2400);
  });

  test("says whether straight cuts part them", () => {
    const box = (xMin: number, yMin: number, xMax: number, yMax: number) => ({ xMin, yMin, xMax, yMax });
    expect(through([box(0, 0, 4, 2), box(0, 3, 4, 5), box(5, 0, 9, 5)])).toBe(true);
    // the pinwheel
    expect(through([box(0, 0, 3, 1), box(3, 0, 4, 3), box(1, 3, 4, 4), box(0, 1, 1, 4)])).toBe(false);
  });
});
