import { expect, test } from "vitest";
import { reversed, Waiting } from "./sweep-order.ts";

test("every unit is handed over once, whatever their number; the first ones lie far apart", () => {
  for (const n of [0, 1, 2, 3, 7, 64, 100]) {
    const w = new Waiting();
    for (let k = 0; k < n; k++) {
      const at = w.chain(3, k);
      w.x.set([k, k + 1, k + 2], at);
    }
    const seen: number[] = [];
    w.sweep((from, to, y) => {
      expect(to - from).toBe(3);
      expect(w.x[from]).toBe(y);
      seen.push(y);
    });
    expect([...seen].sort((a, b) => a - b)).toEqual(Array.from({ length: n }, (_, k) => k));
    if (n === 64) expect(seen.slice(0, 4)).toEqual([0, 32, 16, 48]);
    w.sweep(() => expect.unreachable());
  }
  expect([0, 1, 2, 3, 4, 5, 6, 7].map((k) => reversed(k, 3))).toEqual([0, 4, 2, 6, 1, 5, 3, 7]);
});

test("moves that go on from each other stay together, others do not", () => {
  const w = new Waiting();
  const joined = [false, true, true, false, true, false];
  for (const [k, j] of joined.entries()) w.move(k, 0, 0, k + 1, 0, 0, 0, 1, j);
  // a chain between: what comes after it begins anew, joined or not
  w.chain(2, 5);
  w.move(6, 0, 0, 7, 0, 0, 0, 1, true);
  const units: string[] = [];
  w.sweep((from, to, y) => units.push(Number.isNaN(y) ? `${from}-${to} from ${w.moves[8 * from]}` : "chain"));
  expect(units.sort()).toEqual(["0-3 from 0", "3-5 from 3", "5-6 from 5", "6-7 from 6", "chain"]);
  // all of one long way, in units of some length
  for (let k = 0; k < 1000; k++) w.move(k, 0, 0, k + 1, 0, 0, 0, 1, k > 0);
  let n = 0;
  w.sweep((from, to) => {
    n += to - from;
    expect(to - from).toBeLessThanOrEqual(256);
  });
  expect(n).toBe(1000);
});
