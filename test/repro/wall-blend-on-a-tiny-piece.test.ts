import { expect, test } from "vitest";
import { MoveBuilder } from "../../src/kernel/moves.ts";
import { polygonLength } from "../../src/kernel/polygon.ts";
import { WALL_BLEND, WALL_OVERLAP, wallPass } from "../../src/paths/strategies/wall.ts";

/*
 * A pass over the wall goes out to the channel square to the ring. Offsets leave pieces of a ring that are a hundred thousandth of a millimetre
 * long and point anywhere; where such a piece lay just there, the cutter went into the neck by 0.02 mm (random order 276 of seed 7).
 */

const R = 20;
const LEAVE = 0.15;

const TOTAL = 2 * Math.PI * R;
const JOG = 2e-5;

/** A circle whose ring steps back by JOG at length s along it. */
function ring(s: number): Float64Array {
  const at: number[] = [];
  for (let u = 0; u < TOTAL; u += 0.05) if (Math.abs(u - s) > 1e-3) at.push(u);
  const u = s - JOG;
  const k = at.findIndex((v) => v > u);
  at.splice(k, 0, u + JOG / 2, u - JOG / 2);
  return Float64Array.from(at.flatMap((v) => [R * Math.cos(v / R), R * Math.sin(v / R)]));
}

test("a piece of the ring as short as a rounding error does not turn the way out of the wall into the neck", () => {
  const motion = { feed: 40, ramp: 20, plunge: 10, safeZ: 30, approachZ: 2 };
  let most = 0;
  // both blends of a pass all round that begins at length 0: the places where it comes in, and where it goes out
  for (let k = 1; k < WALL_BLEND / 0.25; k++)
    for (const s of [TOTAL + 2 * JOG - 0.25 * k, WALL_OVERLAP + 0.25 * k]) {
      const way = ring(s);
      const b = new MoveBuilder([0, 0, 30]);
      const stretch = { from: 0, to: polygonLength(way), milling: "climb" } as const;
      wallPass(b, way, [stretch], { ...motion, cutterDiameter: 8, zTop: 0, zBottom: -5, leave: LEAVE });
      const m = b.list();
      let least = Number.POSITIVE_INFINITY;
      for (let i = 0; i < m.count; i++) {
        if (m.z[i] > -4.9) continue;
        const r = Math.hypot(m.x[i], m.y[i]);
        least = Math.min(least, r);
        most = Math.max(most, r);
      }
      expect(least, `a step back at ${s}`).toBeGreaterThan(R - 1e-3);
    }
  expect(most).toBeGreaterThan(R + 0.8 * LEAVE);
  expect(most).toBeLessThan(R + LEAVE + 1e-3);
});
