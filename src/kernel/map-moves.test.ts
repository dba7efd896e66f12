import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { between } from "../../test/machine.ts";
import { type Affine, inverseAffine, mapMoves, mapPoint } from "./map-moves.ts";
import { MoveBuilder, MoveKind, type MoveList } from "./moves.ts";

/** Places along a list, by the definition of its moves. */
function places(m: MoveList, each: number): (readonly [number, number, number])[] {
  const out: (readonly [number, number, number])[] = [];
  let p: readonly [number, number, number] = m.start;
  for (let k = 0; k < m.count; k++) {
    const q = [m.x[k], m.y[k], m.z[k]] as const;
    for (let i = 1; i <= each; i++) {
      const t = i / each;
      if (m.kind[k] !== MoveKind.arc) out.push([0, 1, 2].map((a) => p[a] + (q[a] - p[a]) * t) as never);
      else {
        const [u, v, w] = [
          [0, 1, 2],
          [2, 0, 1],
          [1, 2, 0],
        ][m.plane[k]];
        const c = [m.cx[k], m.cy[k], m.cz[k]];
        const a = Math.atan2(p[v] - c[v], p[u] - c[u]) + m.sweep[k] * t;
        const r = Math.hypot(p[u] - c[u], p[v] - c[v]);
        const s = [0, 0, 0];
        s[u] = c[u] + r * Math.cos(a);
        s[v] = c[v] + r * Math.sin(a);
        s[w] = p[w] + (q[w] - p[w]) * t;
        out.push(s as never);
      }
    }
    p = q;
  }
  return out;
}

const far = (a: readonly number[], b: readonly number[]): number => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);
/** Largest distance of places of one list's way from the straight pieces between dense places of the other. */
function away(from: readonly (readonly [number, number, number])[], to: readonly (readonly [number, number, number])[]): number {
  let worst = 0;
  for (const [n, p] of from.entries()) {
    if (n % 9 !== 0) continue;
    let best = Number.POSITIVE_INFINITY;
    for (let k = 1; k < to.length; k++) {
      const [a, b] = [to[k - 1], to[k]];
      const d = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
      const l = d[0] ** 2 + d[1] ** 2 + d[2] ** 2;
      const t = l > 0 ? Math.max(0, Math.min(1, ((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1] + (p[2] - a[2]) * d[2]) / l)) : 0;
      best = Math.min(best, far(p, [a[0] + t * d[0], a[1] + t * d[1], a[2] + t * d[2]]));
    }
    worst = Math.max(worst, best);
  }
  return worst;
}

function arc(plane: number, r: number, a0: number, sweep: number, rise: number): MoveList {
  const [u, v, w] = [
    [0, 1, 2],
    [2, 0, 1],
    [1, 2, 0],
  ][plane];
  const c = [40, -30, 12];
  const on = (a: number, h: number): [number, number, number] => {
    const p: [number, number, number] = [0, 0, 0];
    p[u] = c[u] + r * Math.cos(a);
    p[v] = c[v] + r * Math.sin(a);
    p[w] = c[w] + h;
    return p;
  };
  const b = new MoveBuilder(on(a0, 0));
  b.arcTo(...on(a0 + sweep, rise), c[0], c[1], c[2], sweep, 20, plane);
  b.lineTo(100, 0, 5, 20);
  b.dwell(1);
  b.rapid(0, 0, 50);
  return b.list();
}

const machine: fc.Arbitrary<Affine> = fc
  .tuple(between(0.98, 1.02), between(0.98, 1.02), between(0.99, 1.01), between(-0.02, 0.02), between(-0.06, 0.06))
  .map(([x, y, z, lean, turn]) => {
    const [c, s] = [Math.cos(turn), Math.sin(turn)];
    return [x * c, lean - s, 0, 3, s, y * c, 0, -2, 0, 0, z, 0.4];
  });

describe("moves through an affine map", () => {
  it("lie within 0.005 mm of the image of the moves, arcs of every plane and helices too, and their ends on it", () => {
    fc.assert(
      fc.property(
        machine,
        fc.nat(2),
        between(0.5, 20),
        between(-3, 3),
        between(-6.28, 6.28),
        between(-2, 2),
        (a, plane, r, a0, sweep, rise) => {
          const m = arc(plane, r, a0, Math.abs(sweep) < 0.05 ? 0.05 : sweep, rise);
          const mapped = mapMoves(m, a);
          const image = places(m, 400).map((p) => mapPoint(a, ...p));
          const is = [mapped.start, ...places(mapped, Math.ceil(400 / (mapped.count - 3)))];
          expect(away(image.slice(0, 400), is)).toBeLessThan(0.005);
          expect(away(is, [mapPoint(a, ...m.start), ...image])).toBeLessThan(0.005);
          const last = mapped.count - 1;
          expect(far([mapped.x[last], mapped.y[last], mapped.z[last]], mapPoint(a, 0, 0, 50))).toBeLessThan(1e-12);
        },
      ),
      { seed: 20260101, numRuns: 40 },
    );
  });
  it("come back by the inverse", () => {
    fc.assert(
      fc.property(machine, between(-900, 900), between(-200, 200), (a, x, y) => {
        expect(far(mapPoint(inverseAffine(a), ...mapPoint(a, x, y, 7)), [x, y, 7])).toBeLessThan(1e-9);
      }),
      { seed: 20260101, numRuns: 200 },
    );
    expect(() => inverseAffine([1, 1, 0, 0, 1, 1, 0, 0, 0, 0, 1, 0])).toThrow(RangeError);
  });
  it("turned and shifted alone, an arc in the plane stays one arc, mirrored it turns the other way", () => {
    const [c, s] = [Math.cos(0.05), Math.sin(0.05)];
    const turned = mapMoves(arc(0, 20, 0.3, 2 * Math.PI, -1), [c, -s, 0, 4, s, c, 0, 5, 0, 0, 1, 0]);
    expect(turned.count).toBe(4);
    expect(turned.sweep[0]).toBeCloseTo(2 * Math.PI, 12);
    expect(mapMoves(arc(0, 20, 0.3, 2, 0), [1, 0, 0, 0, 0, -1, 0, 0, 0, 0, 1, 0]).sweep[0]).toBeCloseTo(-2, 12);
  });
  it("a feed, a line's number and its cut go along", () => {
    const m = arc(0, 20, 0.3, 2, 0);
    m.line.fill(7);
    m.cut.fill(3);
    const mapped = mapMoves(m, [1.01, 0, 0, 0, 0, 0.99, 0, 0, 0, 0, 1, 0]);
    expect(mapped.count).toBeGreaterThan(4);
    expect([...new Set(mapped.line)]).toEqual([7]);
    expect([...new Set(mapped.cut)]).toEqual([3]);
    expect(mapped.feed[0]).toBe(20);
  });
});
