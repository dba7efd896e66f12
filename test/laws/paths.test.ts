import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { offsetPolygon } from "../../src/kernel/offset.ts";
import { circlePolygon } from "../../src/kernel/polygon.ts";
import { flatProfile } from "../../src/kernel/profile.ts";
import { contour, levels, RAMP_ANGLE } from "../../src/paths/strategies/index.ts";
import {
  arcsClose,
  mirrorDifference,
  movesOf,
  movesWithTheZero,
  neverPlunges,
  rapidsAcrossAreHigh,
  rapidsAreFree,
  safeEnds,
  sameTwice,
  shiftDifference,
  staysWithin,
  Wood,
} from "./paths.ts";
import { block, cases, motion, TOP } from "./ways.ts";

/* The laws that every way of moving obeys; the ways are in ways.ts. */

describe.each(cases)("$name", (c) => {
  const wood = c.wood ?? block;
  const moves = movesOf(c.make(1, 0, 0, 0));
  const o = motion();

  test("begins and ends at the safe height; rapids across are high; arcs close", () => {
    safeEnds(moves, o);
    rapidsAcrossAreHigh(moves, o);
    arcsClose(moves);
  });
  test("stays within its envelope", () => {
    staysWithin(moves, { min: [-46, -31, c.lowest - 1e-9], max: [46, 31, 100] });
  });
  test("gives the same moves twice, and moves with the zero", () => {
    sameTwice(c.make(1, 0, 0, 0));
    if (c.byThreshold) expect(shiftDifference((dx, dy, dz) => c.make(1, dx, dy, dz), wood, c.profile)).toBeLessThan(0.03);
    else movesWithTheZero((dx, dy, dz) => c.make(1, dx, dy, dz));
  });
  test("no rapid touches wood, and what is left is what was asked", () => {
    const left = rapidsAreFree(moves, wood, c.profile);
    let judged = 0;
    for (let j = 0; j < left.ny; j++)
      for (let i = 0; i < left.nx; i++) {
        const x = left.x0 + i * left.cell;
        const y = left.y0 + j * left.cell;
        const want = c.target(x, y);
        if (want === null) continue;
        judged++;
        const have = left.z[j * left.nx + i];
        if (Math.abs(have - want) > c.within) throw new Error(`at (${x}, ${y}) the wood stands at ${have}, not ${want}`);
      }
    expect(judged).toBeGreaterThan(3);
  });
  if (c.ramps)
    test("a flat cutter is never driven straight down into wood", () => {
      neverPlunges(moves, wood, c.profile, (c.steepest ?? RAMP_ANGLE) * 1.001);
    });
  test("mirrored input leaves the mirror image", () => {
    expect(mirrorDifference((side) => c.make(side, 0, 0, 0), wood, c.profile)).toBeLessThan(c.mirrorWithin ?? 0.02);
  });
});

describe("levels", () => {
  test("never below the field, whatever the field", () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 8, max: 22, noNaN: true }), { minLength: 9, maxLength: 9 }),
        fc.constantFrom(1.3, 3, 7),
        (heights, depth) => {
          // nine plateaus with walls between them
          const field = (x: number, y: number): number => {
            const i = Math.min(2, Math.max(0, Math.floor((x + 30) / 20)));
            const j = Math.min(2, Math.max(0, Math.floor((y + 18) / 12)));
            return heights[3 * j + i];
          };
          const o = motion();
          const moves = movesOf((b) =>
            levels(b, [Float64Array.from([-30, -18, 30, -18, 30, 18, -30, 18])], field, { ...o, approachZ: 24, top: TOP, depth, step: 3 }),
          );
          let [px, py, pz] = moves.start;
          for (let k = 0; k < moves.count; k++) {
            const n = Math.max(1, Math.ceil(Math.hypot(moves.x[k] - px, moves.y[k] - py) / 0.1));
            for (let i = 0; i <= n; i++) {
              const x = px + ((moves.x[k] - px) * i) / n;
              const y = py + ((moves.y[k] - py) * i) / n;
              const z = pz + ((moves.z[k] - pz) * i) / n;
              // 5 um of thinning; a hair beside a wall the field is either plateau
              const low = Math.min(field(x - 1e-4, y), field(x + 1e-4, y), field(x, y - 1e-4), field(x, y + 1e-4));
              if (z < low - 0.0051) throw new Error(`move ${k} at (${x}, ${y}, ${z}) is below ${low}`);
            }
            [px, py, pz] = [moves.x[k], moves.y[k], moves.z[k]];
          }
          rapidsAcrossAreHigh(moves, o);
          rapidsAreFree(moves, new Wood(-35, -23, 35, 23, 0.5, TOP), flatProfile(0.5));
        },
      ),
      { seed: 20260101, numRuns: 12 },
    );
  });

  test("makes no move where there is nothing to cut", () => {
    expect(
      movesOf(
        (b) => levels(b, [Float64Array.from([0, 0, 9, 0, 9, 9])], () => 25, { ...motion(), top: TOP, depth: 2, step: 2 }),
        [0, 0, 100],
      ).count,
    ).toBe(0);
  });
});

describe("tabs", () => {
  test("keep at least their width of wood, on straights and on bends, wherever they lie", () => {
    const ring = offsetPolygon([circlePolygon(0, 0, 14, 0.001)], 3)[0];
    const boxRing = offsetPolygon([Float64Array.from([-30, -10, 30, -10, 30, 10, -30, 10])], 3)[0];
    fc.assert(
      fc.property(
        fc.constantFrom(ring, boxRing),
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.double({ min: 2, max: 8, noNaN: true }),
        (way, share, width) => {
          let length = 0;
          for (let k = 0; k < way.length; k += 2)
            length += Math.hypot(way[(k + 2) % way.length] - way[k], way[(k + 3) % way.length] - way[k + 1]);
          const moves = movesOf((b) =>
            contour(b, way, {
              ...motion(),
              cutterDiameter: 6,
              zTop: TOP,
              zBottom: 10,
              depth: 3,
              keep: "inside",
              tabs: [{ at: { s: share * length }, width, zTop: 13 }],
            }),
          );
          // the longest way at full depth that does not pass the tab has a gap: its ends must be a width and two radii apart
          const low: [number, number][] = [];
          let worst = Infinity;
          let [px, py, pz] = moves.start;
          for (let k = 0; k < moves.count; k++) {
            if (moves.kind[k] === 1) {
              const n = Math.max(1, Math.ceil(Math.hypot(moves.x[k] - px, moves.y[k] - py) / 0.05));
              for (let i = 0; i <= n; i++) {
                const z = pz + ((moves.z[k] - pz) * i) / n;
                if (z < 13 - 1e-6) low.push([px + ((moves.x[k] - px) * i) / n, py + ((moves.y[k] - py) * i) / n]);
              }
            }
            [px, py, pz] = [moves.x[k], moves.y[k], moves.z[k]];
          }
          // the tab's middle on the ring
          let s = share * length;
          let mx = way[0];
          let my = way[1];
          for (let k = 0; k < way.length; k += 2) {
            const L = Math.hypot(way[(k + 2) % way.length] - way[k], way[(k + 3) % way.length] - way[k + 1]);
            if (s <= L) {
              mx = way[k] + (s / L) * (way[(k + 2) % way.length] - way[k]);
              my = way[k + 1] + (s / L) * (way[(k + 3) % way.length] - way[k + 1]);
              break;
            }
            s -= L;
          }
          for (const [x, y] of low) worst = Math.min(worst, Math.hypot(x - mx, y - my));
          // nowhere lower than the tab within half its width and a radius of its middle, less what a bend takes
          expect(worst).toBeGreaterThan(width / 2 + 3 - 1e-3);
          expect(low.length).toBeGreaterThan(100);
        },
      ),
      { seed: 20260101, numRuns: 40 },
    );
  });
});
