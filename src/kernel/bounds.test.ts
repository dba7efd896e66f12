import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { moveListArb } from "../../test/laws/programs.ts";
import { bounds, joinBoxes } from "./bounds.ts";
import { MoveBuilder } from "./moves.ts";

describe("bounds", () => {
  it("equals the box of points sampled densely along every move", () => {
    fc.assert(
      fc.property(moveListArb, (m) => {
        const lo = [Infinity, Infinity, Infinity];
        const hi = [-Infinity, -Infinity, -Infinity];
        const visit = (p: readonly number[]): void => {
          for (let a = 0; a < 3; a++) {
            lo[a] = Math.min(lo[a], p[a]);
            hi[a] = Math.max(hi[a], p[a]);
          }
        };
        let at: readonly number[] = m.start;
        let sagitta = 1e-9;
        if (m.kind[0] !== 0) visit(at);
        for (let k = 0; k < m.count; k++) {
          const to = [m.x[k], m.y[k], m.z[k]];
          if (m.kind[k] === 2) {
            const [u, v, w] = m.plane[k] === 0 ? [0, 1, 2] : m.plane[k] === 1 ? [2, 0, 1] : [1, 2, 0];
            const c = [m.cx[k], m.cy[k], m.cz[k]];
            const steps = 2000;
            const r = Math.hypot(at[u] - c[u], at[v] - c[v]);
            sagitta = Math.max(sagitta, r * (1 - Math.cos(m.sweep[k] / steps / 2)));
            for (let s = 0; s < steps; s++) {
              const angle = Math.atan2(at[v] - c[v], at[u] - c[u]) + (m.sweep[k] * s) / steps;
              const p = [0, 0, 0];
              p[u] = c[u] + r * Math.cos(angle);
              p[v] = c[v] + r * Math.sin(angle);
              p[w] = at[w] + ((to[w] - at[w]) * s) / steps;
              visit(p);
            }
          }
          visit(to);
          at = to;
        }
        const box = bounds(m);
        for (let a = 0; a < 3; a++) {
          expect(box.min[a]).toBeLessThanOrEqual(lo[a] + 1e-9);
          expect(box.min[a]).toBeGreaterThanOrEqual(lo[a] - sagitta - 1e-9);
          expect(box.max[a]).toBeGreaterThanOrEqual(hi[a] - 1e-9);
          expect(box.max[a]).toBeLessThanOrEqual(hi[a] + sagitta + 1e-9);
        }
      }),
      { seed: 20260101, numRuns: 150 },
    );
  });

  it("gives a quarter circle its two ends and a half circle its crown", () => {
    const b = new MoveBuilder([10, 0, 0]);
    b.arcTo(0, 10, 1, 0, 0, 0, Math.PI / 2, 1);
    expect(bounds(b.list())).toEqual({ min: [0, 0, 0], max: [10, 10, 1] });
    b.arcTo(0, -10, 1, 0, 0, 0, -Math.PI, 1);
    expect(bounds(b.list())).toEqual({ min: [0, -10, 0], max: [10, 10, 1] });
  });

  it("leaves out a start that a rapid leaves, and joins boxes", () => {
    const b = new MoveBuilder([-50, -50, 99]);
    b.rapid(1, 2, 3);
    expect(bounds(b.list())).toEqual({ min: [1, 2, 3], max: [1, 2, 3] });
    expect(joinBoxes([bounds(b.list()), { min: [0, 5, 0], max: [0, 6, 0] }])).toEqual({ min: [0, 2, 0], max: [1, 6, 3] });
  });
});
