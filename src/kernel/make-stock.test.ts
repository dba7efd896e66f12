import { describe, expect, test } from "vitest";
import { bruteCut, numbers, PROFILES, top, worst } from "./brute.ts";
import { makeStock } from "./make-stock.ts";
import { MoveBuilder } from "./moves.ts";

describe("sweeps against brute force", () => {
  for (const [name, p] of Object.entries(PROFILES)) {
    test(`${name}: lines in any direction and slope`, () => {
      const r = numbers(7);
      const b = new MoveBuilder([3, 3, 12]);
      for (let k = 0; k < 5; k++) b.lineTo(-2 + 28 * r(), -2 + 22 * r(), 4 + 6 * r(), 20);
      b.lineTo(b.px, b.py, 3, 20);
      b.lineTo(b.px + 0.4, b.py - 0.2, 9, 20);
      b.lineTo(b.px, b.py - 5, 5, 20);
      b.lineTo(b.px + 6, b.py, 5, 20);
      const moves = b.list();
      const ours = top();
      const theirs = top();
      const removed = makeStock(ours).cut(p, moves, 0, moves.count);
      bruteCut(theirs, p, moves);
      expect(worst(ours, theirs)).toBeLessThan(2e-6);
      let v = 0;
      for (const z of ours.z) v += 10 - z;
      // the heights are stored in single precision, the volume is not
      expect(Math.abs(removed - v * 0.25)).toBeLessThan(1e-4);
      expect(removed).toBeGreaterThan(0);
    });
  }

  for (const [name, p] of Object.entries(PROFILES)) {
    test(`${name}: arcs against their chords`, () => {
      for (const sweep of [1, -2.5, 4, -5.5, 2 * Math.PI]) {
        for (const rise of [0, 1.5]) {
          const arc = new MoveBuilder([14, 9, 6]);
          const end = [9 + 5 * Math.cos(sweep), 9 + 5 * Math.sin(sweep), 6 + rise] as const;
          arc.arcTo(end[0], end[1], end[2], 9, 9, 0, sweep, 20);
          const chords = new MoveBuilder([14, 9, 6]);
          const n = 1200; // 0.02 um of chord error
          for (let k = 1; k <= n; k++) {
            const t = (sweep * k) / n;
            chords.lineTo(9 + 5 * Math.cos(t), 9 + 5 * Math.sin(t), 6 + (rise * k) / n, 20);
          }
          const a = top();
          const b = top();
          makeStock(a).cut(p, arc.list(), 0, 1);
          const theirs = makeStock(b);
          const list = chords.list();
          for (let k = 0; k < n; k++) theirs.cut(p, list, k, k + 1); // one by one: nothing is merged
          // a helix is swept as chords, and sideways their error counts times the profile's slope
          expect(worst(a, b)).toBeLessThan(rise ? 0.01 : 0.0003);
        }
      }
    });
  }
});
