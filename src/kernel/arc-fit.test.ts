import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { fitArcs } from "./arc-fit.ts";
import { MoveBuilder, MoveKind, type MoveList } from "./moves.ts";

type P = readonly [number, number, number];
const seed = 20260101;

const listOf = (points: readonly P[], feed: (k: number) => number = () => 20): MoveList => {
  const b = new MoveBuilder(points[0]);
  for (let k = 1; k < points.length; k++) b.lineTo(...points[k], feed(k));
  return b.list();
};

/** Places along a list no farther apart than `step`, arcs by their centre; written without any code of the fitter. */
function places(m: MoveList, step: number): P[] {
  const out: P[] = [m.start];
  for (let k = 0; k < m.count; k++) {
    const from = out[out.length - 1];
    const to: P = [m.x[k], m.y[k], m.z[k]];
    const [u, v, w] = m.plane[k] === 0 ? [0, 1, 2] : m.plane[k] === 1 ? [2, 0, 1] : [1, 2, 0];
    const c = [m.cx[k], m.cy[k], m.cz[k]];
    const arc = m.kind[k] === MoveKind.arc;
    const r = Math.hypot(from[u] - c[u], from[v] - c[v]);
    const length = arc ? r * Math.abs(m.sweep[k]) : Math.hypot(to[0] - from[0], to[1] - from[1], to[2] - from[2]);
    const n = Math.max(1, Math.ceil(length / step));
    const a0 = Math.atan2(from[v] - c[v], from[u] - c[u]);
    for (let i = 1; i < n; i++) {
      const p = [0, 1, 2].map((a) => from[a] + ((to[a] - from[a]) * i) / n) as [number, number, number];
      if (arc) {
        p[u] = c[u] + r * Math.cos(a0 + (m.sweep[k] * i) / n);
        p[v] = c[v] + r * Math.sin(a0 + (m.sweep[k] * i) / n);
        p[w] = from[w] + ((to[w] - from[w]) * i) / n;
      }
      out.push(p);
    }
    out.push(to);
  }
  return out;
}

/** Largest distance of a place of `a` from the polyline through `b`'s places. */
function farthest(a: readonly P[], b: readonly P[]): number {
  let worst = 0;
  for (const p of a) {
    let best = Number.POSITIVE_INFINITY;
    for (let k = 1; k < b.length; k++) {
      const d = [0, 1, 2].map((i) => b[k][i] - b[k - 1][i]);
      const q = d[0] ** 2 + d[1] ** 2 + d[2] ** 2;
      const t = q > 0 ? Math.min(1, Math.max(0, [0, 1, 2].reduce((s, i) => s + (p[i] - b[k - 1][i]) * d[i], 0) / q)) : 0;
      best = Math.min(best, Math.hypot(...[0, 1, 2].map((i) => p[i] - b[k - 1][i] - t * d[i])));
    }
    worst = Math.max(worst, best);
  }
  return worst;
}

/** Smooth ways with curves, straights, corners, steps of height, in a random plane. */
const someWay: fc.Arbitrary<P[]> = fc
  .record({
    plane: fc.constantFrom(0, 1, 2),
    pieces: fc.array(
      fc.record({
        radius: fc.double({ min: 0.5, max: 120, noNaN: true }),
        sweep: fc.double({ min: -2.5, max: 2.5, noNaN: true }),
        grows: fc.double({ min: -0.2, max: 0.4, noNaN: true }),
        rise: fc.oneof(fc.constant(0), fc.double({ min: -0.5, max: 0.5, noNaN: true })),
        turn: fc.oneof(fc.constant(0), fc.double({ min: -2, max: 2, noNaN: true })),
        n: fc.integer({ min: 1, max: 30 }),
      }),
      { minLength: 1, maxLength: 4 },
    ),
  })
  .map(({ plane, pieces }) => {
    let [u, v, w, heading] = [10, -5, 3, 0.3];
    const out: P[] = [];
    const put = (): void => void out.push(plane === 0 ? [u, v, w] : plane === 1 ? [v, w, u] : [w, u, v]);
    put();
    for (const p of pieces) {
      heading += p.turn;
      for (let k = 0; k < p.n; k++) {
        const r = p.radius * (1 + (p.grows * k) / p.n);
        heading += p.sweep / p.n / 2;
        u += ((r * Math.abs(p.sweep)) / p.n) * Math.cos(heading);
        v += ((r * Math.abs(p.sweep)) / p.n) * Math.sin(heading);
        w += p.rise / p.n;
        heading += p.sweep / p.n / 2;
        put();
      }
    }
    return out;
  });

describe("arcs from straight moves", () => {
  test("keep within the tolerance of what was there, both ways, and keep its ends", () => {
    fc.assert(
      fc.property(someWay, fc.constantFrom(0.002, 0.0035, 0.02), (way, tolerance) => {
        const before = listOf(way);
        const after = fitArcs(before, { tolerance });
        expect(after.count).toBeLessThanOrEqual(before.count);
        const end = after.count - 1;
        expect([after.x[end], after.y[end], after.z[end]]).toEqual(way[way.length - 1]);
        const a = places(before, 0.4);
        const b = places(after, 0.4);
        // places of one against the polyline of the other's places: arcs between them bulge by less than 0.4^2 / 8 r
        const fine = places(after, 0.05);
        expect(farthest(b, a)).toBeLessThanOrEqual(tolerance + 1e-9);
        expect(farthest(a, fine)).toBeLessThanOrEqual(tolerance + 0.05 ** 2 / 8 / 0.4);
      }),
      { seed, numRuns: 120 },
    );
  });

  test("find the circle again: a ring of chords becomes three arcs about one centre, a helix too, in every plane", () => {
    for (const plane of [0, 1, 2])
      for (const rise of [0, 2]) {
        const way: P[] = Array.from({ length: 361 }, (_, k) => {
          const a = (k * Math.PI) / 180;
          const [u, v, w] = [7 + 5 * Math.cos(a), 2 + 5 * Math.sin(a), 1 + (rise * k) / 360];
          return plane === 0 ? [u, v, w] : plane === 1 ? [v, w, u] : [w, u, v];
        });
        const arcs = fitArcs(listOf(way), { tolerance: 0.003 });
        expect([...arcs.kind]).toEqual([MoveKind.arc, MoveKind.arc, MoveKind.arc]);
        expect(arcs.sweep.reduce((s, v) => s + v, 0)).toBeCloseTo(2 * Math.PI, 3);
        for (let k = 0; k < 3; k++) {
          expect(arcs.plane[k]).toBe(plane);
          const c = [arcs.cx[k], arcs.cy[k], arcs.cz[k]];
          expect(plane === 0 ? [c[0], c[1]] : plane === 1 ? [c[2], c[0]] : [c[1], c[2]]).toEqual([
            expect.closeTo(7, 2),
            expect.closeTo(2, 2),
          ]);
        }
      }
  });

  test("are never made across a change of feed, a corner, a rapid or a dwell", () => {
    const ring = (n: number): P[] => Array.from({ length: n + 1 }, (_, k) => [20 * Math.cos(k / 40), 20 * Math.sin(k / 40), 0]);
    const feeds = fitArcs(
      listOf(ring(40), (k) => (k <= 20 ? 20 : 10)),
      { tolerance: 0.003 },
    );
    expect([...feeds.feed]).toEqual([20, 10]);
    expect(feeds.x[0]).toBe(20 * Math.cos(0.5));
    // two arcs that meet at 20 degrees within the tolerance of one arc
    const corner: P[] = Array.from({ length: 21 }, (_, k) => [k / 100, Math.abs(k - 10) * 0.002, 0]);
    const bent = fitArcs(listOf(corner), { tolerance: 0.02 });
    expect([...bent.x]).toContain(0.1);
    const b = new MoveBuilder([20, 0, 0]);
    for (const [k, p] of ring(30).entries()) {
      if (k === 10) b.dwell(1);
      if (k === 20) b.rapid(...p);
      else if (k > 0) b.lineTo(...p, 20);
    }
    const kinds = [...fitArcs(b.list(), { tolerance: 0.003 }).kind];
    expect(kinds).toEqual([MoveKind.arc, MoveKind.dwell, MoveKind.arc, MoveKind.rapid, MoveKind.arc]);
  });

  test("are no wider than asked, and a list without lines stays as it is", () => {
    const shallow: P[] = Array.from({ length: 41 }, (_, k) => [k, (k * k) / 4000, 0]);
    expect(fitArcs(listOf(shallow), { tolerance: 1e-3 }).kind.includes(MoveKind.arc)).toBe(false);
    expect(fitArcs(listOf(shallow), { tolerance: 1e-3, largestRadius: 3000 }).kind.includes(MoveKind.arc)).toBe(true);
    const b = new MoveBuilder([0, 0, 5]);
    b.rapid(1, 2, 5);
    b.arcTo(3, 2, 4, 2, 2, 5, Math.PI, 9);
    const list = b.list();
    expect(fitArcs(list, { tolerance: 0.003 })).toEqual(list);
    expect(() => fitArcs(list, { tolerance: 0 })).toThrow(/tolerance/);
  });

  test("mirror with the way", () => {
    fc.assert(
      fc.property(someWay, (way) => {
        const a = fitArcs(listOf(way), { tolerance: 0.003 });
        const b = fitArcs(listOf(way.map(([x, y, z]) => [x, -y, z])), { tolerance: 0.003 });
        expect([...b.kind]).toEqual([...a.kind]);
        for (let k = 0; k < a.count; k++) expect(Math.abs(b.cy[k] + a.cy[k])).toBeLessThan(1e-6);
      }),
      { seed, numRuns: 60 },
    );
  });
});
