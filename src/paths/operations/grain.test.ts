import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { MoveBuilder, MoveKind } from "../../kernel/moves.ts";
import { closestOnPolygon, type Polygon, pointAlongPolygon, polygonLength } from "../../kernel/polygon.ts";
import { fibresOf, STRAIGHT, wallGrain } from "../../neck/grain.ts";
import { makeNeck } from "../../neck/neck.ts";
import { parseOrder } from "../../spec/index.ts";
import type { OrderSpec } from "../../spec/types.ts";
import { WALL_BLEND, WALL_OVERLAP, wallPass } from "../strategies/wall.ts";
import { ALONG_FIBRES, grainZones } from "./grain.ts";

const must = (text: string): OrderSpec => {
  const { value } = parseOrder(text);
  if (!value) throw new Error("the order must be readable");
  return value;
};

/** A counter-clockwise ring without corners, of a random shape: radius by a few waves. */
const someRing: fc.Arbitrary<Polygon> = fc
  .record({
    a: fc.double({ min: 30, max: 120, noNaN: true }),
    waves: fc.array(fc.double({ min: -0.12, max: 0.12, noNaN: true }), { minLength: 3, maxLength: 3 }),
  })
  .map(({ a, waves }) => {
    const out = new Float64Array(2 * 720);
    for (let k = 0; k < 720; k++) {
      const t = (k * Math.PI) / 360;
      const r = a * (1 + waves.reduce((s, w, i) => s + w * Math.sin((i + 2) * t), 0));
      out[2 * k] = 1.6 * r * Math.cos(t);
      out[2 * k + 1] = r * Math.sin(t);
    }
    return out;
  });

describe("the direction that lays fibres down", () => {
  test("of a taper is from wide to narrow on both sides", () => {
    // kept wood below y = -0.1 x: its outside is up, it narrows toward +x
    const L = Math.hypot(1, 0.1);
    expect(wallGrain(0.1 / L, 1 / L, 1 / L, -0.1 / L, 1, 0).downhill).toBe(true);
    expect(wallGrain(0.1 / L, 1 / L, -1 / L, 0.1 / L, 1, 0).downhill).toBe(false);
    expect(wallGrain(0.1 / L, -1 / L, 1 / L, 0.1 / L, 1, 0).downhill).toBe(true);
    expect(wallGrain(1, 0, 0, 1, 1, 0).angle).toBeCloseTo(Math.PI / 2, 12);
    // the fibres' own sense says nothing
    expect(wallGrain(0.1 / L, 1 / L, 1 / L, -0.1 / L, -1, 0).downhill).toBe(true);
  });

  test("zones cover the ring once, ends first; conventional feed only where it is downhill, each strip by its own fibres", () => {
    fc.assert(
      fc.property(someRing, fc.constantFrom(0, 0.1, -0.15), (ring, lean) => {
        // two strips whose fibres lean to opposite sides
        const fibres = (_x: number, y: number): readonly [number, number] => [Math.cos(lean), Math.sign(y) * Math.sin(lean)];
        const zones = grainZones(ring, fibres);
        const total = polygonLength(ring);
        expect(zones.reduce((s, z) => s + z.to - z.from, 0)).toBeCloseTo(total, 1);
        const firstLong = zones.findIndex((z) => !z.end);
        expect(zones.slice(firstLong).every((z) => !z.end)).toBe(true);
        for (const z of zones) {
          if (z.milling !== "conventional") continue;
          for (let s = z.from + 1; s < z.to - 1; s += 2) {
            const p = pointAlongPolygon(ring, s - 0.3);
            const q = pointAlongPolygon(ring, s + 0.3);
            const L = Math.hypot(q.x - p.x, q.y - p.y);
            const [tx, ty] = [(q.x - p.x) / L, (q.y - p.y) / L];
            const g = wallGrain(ty, -tx, tx, ty, ...fibres(p.x, (p.y + q.y) / 2));
            expect(Math.abs(p.y) < 1 || g.downhill || g.angle < ALONG_FIBRES + 0.02).toBe(true);
          }
        }
      }),
      { seed: 20260101, numRuns: 12 },
    );
  });

  test("of a neck follow the blank it is turned in, and each strip's own grain; left-handed mirrored", () => {
    const order = JSON.parse(readFileSync("examples/loan-guitar.order.json", "utf8"));
    const strips = [
      { wood: "hard maple", width: 40, grain: 3 },
      { wood: "hard maple", width: 60 },
    ];
    const angle = (more: object, y: number): number => {
      const [fx, fy] = fibresOf(makeNeck(must(JSON.stringify({ ...order, ...more }))))(100, y);
      return (Math.atan2(fy, fx) * 180) / Math.PI;
    };
    expect(fibresOf(makeNeck(must(JSON.stringify(order))))).toBe(STRAIGHT);
    expect(angle({ wood: { ...order.wood, strips } }, -20)).toBeCloseTo(3, 9);
    expect(angle({ wood: { ...order.wood, strips } }, 20)).toBeCloseTo(0, 9);
    expect(angle({ wood: { ...order.wood, strips }, hand: "left" }, 20)).toBeCloseTo(-3, 9);
    const blank = (datumEdge: string): object => ({ blank: { ...order.blank, datumEdge, rotation: 2 } });
    expect(angle(blank("bass"), 0)).toBeCloseTo(-2, 9);
    expect(angle(blank("treble"), 0)).toBeCloseTo(2, 9);
  });

  test("a wall's pass is fed so everywhere, touches the whole wall, never cuts into it, and comes down beside it", () => {
    fc.assert(
      fc.property(someRing, (ring) => {
        const zones = grainZones(ring);
        const b = new MoveBuilder([0, 0, 50]);
        const leave = 0.15;
        wallPass(b, ring, zones, {
          feed: 30,
          ramp: 10,
          plunge: 8,
          safeZ: 50,
          approachZ: 22,
          cutterDiameter: 8,
          zTop: 20,
          zBottom: 5,
          leave,
        });
        const m = b.list();
        const total = polygonLength(ring);
        const seen: [number, number][] = [];
        for (let k = 1; k < m.count; k++) {
          if (m.kind[k] === MoveKind.rapid && m.z[k] < 22 && (m.x[k] !== m.x[k - 1] || m.y[k] !== m.y[k - 1]))
            throw new Error("a rapid across");
          const at = closestOnPolygon(ring, m.x[k], m.y[k]);
          const foot = pointAlongPolygon(ring, at.s);
          const off = Math.hypot(m.x[k] - foot.x, m.y[k] - foot.y);
          // straight down only beside the wall
          if (m.kind[k] === MoveKind.line && m.x[k] === m.x[k - 1] && m.y[k] === m.y[k - 1]) expect(off).toBeCloseTo(leave, 2);
          expect(off).toBeLessThanOrEqual(leave + 1e-3);
          // outside its line, on the right of the counter-clockwise way
          const [p, q] = [pointAlongPolygon(ring, at.s - 0.1), pointAlongPolygon(ring, at.s + 0.1)];
          expect(((m.x[k] - foot.x) * (q.y - p.y) - (m.y[k] - foot.y) * (q.x - p.x)) / 0.2).toBeGreaterThan(-1e-3);
          if (m.kind[k] === MoveKind.line && off < 1e-3) seen.push([at.s, m.z[k]]);
        }
        seen.sort((p, q) => p[0] - q[0]);
        expect(seen.every(([, z]) => z === 5)).toBe(true);
        for (let k = 1; k < seen.length; k++) expect(seen[k][0] - seen[k - 1][0]).toBeLessThan(4);
        expect(total - seen[seen.length - 1][0] + seen[0][0]).toBeLessThan(4);
        expect(WALL_OVERLAP).toBeLessThan(WALL_BLEND);
      }),
      { seed: 20260101, numRuns: 4 },
    );
  });

  test("refuses a ring that runs the wrong way, and a wall without height", () => {
    const b = new MoveBuilder([0, 0, 50]);
    const square = Float64Array.from([0, 0, 40, 0, 40, 30, 0, 30]);
    const o = { feed: 30, ramp: 10, plunge: 8, safeZ: 50, approachZ: 22, cutterDiameter: 8, zTop: 20, zBottom: 5, leave: 0.1 };
    expect(() => wallPass(b, Float64Array.from([0, 0, 0, 30, 40, 30, 40, 0]), grainZones(square), o)).toThrow(/counter-clockwise/);
    expect(() => wallPass(b, square, grainZones(square), { ...o, zBottom: 20 })).toThrow(/no height/);
  });
});
