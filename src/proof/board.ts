import type { Neck } from "../neck/types.ts";
import { MOST_ABOVE } from "./compare-place.ts";
import type { Gauge } from "./gauge.ts";
import { stadium } from "./place.ts";
import { BOARD_SHAPE } from "./rules.ts";

/** Places between two frets where the board is looked at: near the nut, in the middle, near the end. */
function stations(neck: Neck): number[] {
  const last = neck.order.frets.count;
  const between = (n: number): number => neck.fretAt(n) + 0.3 * (neck.fretAt(n + 1) - neck.fretAt(n));
  return [0, Math.floor(last / 2), Math.max(0, last - 1)].map(between);
}

/** Radius and crown of the board at three stations, from rows of heights across it. */
export function measureBoard(gauge: Gauge, neck: Neck, cusp: number): void {
  const { frame } = gauge;
  const slots = neck.features.frets.map((f) => stadium(f.bass.x, f.bass.y, f.treble.x, f.treble.y, f.kerf / 2 + 0.05));
  // a slanted slot crosses a row that runs straight across
  const plain = (x: number, y: number): boolean => slots.every((d) => d(x, y) > 0);
  for (const at0 of stations(neck)) {
    const x = plain(at0, 0) ? at0 : at0 + 1.5;
    const [lo, hi] = neck.boardEdges(x);
    const name = `board at x ${x.toFixed(0)}`;
    const at = { x, y: 0 };
    const crown = frame.neckZ(gauge.ground(x, 0, 0.1)(x, 0));
    const ordered = neck.boardTop(x, 0);
    gauge.measure(
      BOARD_SHAPE,
      { id: name, what: "crown above the glue plane", unit: "mm", ordered, measured: crown, tolerance: cusp + MOST_ABOVE },
      at,
    );
    const ys: number[] = [];
    const zs: number[] = [];
    const n = 81;
    for (let k = 0; k < n; k++) {
      const y = lo + 1 + ((hi - lo - 2) * k) / (n - 1);
      if (!plain(x, y)) continue;
      ys.push(y);
      zs.push(frame.neckZ(gauge.ground(x, y, 0.1)(x, y)));
    }
    const bend = curvature(ys, zs);
    const half = (hi - lo - 2) / 2;
    const R = neck.boardRadius(x);
    // the sagitta over the board's width may be off by a cusp and what else may be left
    const slack = ((cusp + MOST_ABOVE) * 2) / (half * half);
    if (Number.isFinite(R)) {
      const tolerance = R * R * slack;
      gauge.measure(BOARD_SHAPE, { id: name, what: "radius", unit: "mm", ordered: R, measured: 1 / bend, tolerance }, at);
    } else {
      const measured = (bend * half * half) / 2;
      gauge.measure(
        BOARD_SHAPE,
        { id: name, what: "hollow or crown of the flat board", unit: "mm", ordered: 0, measured, tolerance: cusp + MOST_ABOVE },
        at,
      );
    }
  }
}

/**
 * Curvature of the circle through points (y, z), positive when it opens downward: least squares of
 * y^2 + z^2 = a y + b z + c (the algebraic circle), about the points' own middle. 0 for a straight row.
 */
export function curvature(ys: readonly number[], zs: readonly number[]): number {
  const n = ys.length;
  const my = ys.reduce((a, v) => a + v, 0) / n;
  const mz = zs.reduce((a, v) => a + v, 0) / n;
  // parabola z = p + q y + r y^2, then the exact relation of curvature at its crown by one correction of its slope
  let s2 = 0;
  let s3 = 0;
  let s4 = 0;
  let t1 = 0;
  let t2 = 0;
  const half = Math.max(...ys.map((y) => Math.abs(y - my)));
  let guess = 0;
  for (let round = 0; round < 4; round++) {
    s2 = s3 = s4 = t1 = t2 = 0;
    for (let k = 0; k < n; k++) {
      const y = ys[k] - my;
      // what a circle of the guessed curvature has beyond its parabola
      const q = 1 - guess * guess * y * y;
      const circle = guess === 0 ? 0 : -(guess * y * y) / (1 + Math.sqrt(Math.max(0, q))) + (guess * y * y) / 2;
      const z = zs[k] - mz - circle;
      s2 += y * y;
      s3 += y ** 3;
      s4 += y ** 4;
      t1 += y * z;
      t2 += y * y * z;
    }
    let sz = 0;
    for (let k = 0; k < n; k++) {
      const y = ys[k] - my;
      const q = 1 - guess * guess * y * y;
      sz += zs[k] - mz - (guess === 0 ? 0 : -(guess * y * y) / (1 + Math.sqrt(Math.max(0, q))) + (guess * y * y) / 2);
    }
    // normal equations of 1, y, y^2 with sum(y) = 0
    const det = n * (s2 * s4 - s3 * s3) - s2 * s2 * s2;
    const r = (n * (s2 * t2 - s3 * t1) - s2 * s2 * sz) / det;
    guess = -2 * r;
    if (Math.abs(guess) * half > 0.95) break;
  }
  return guess;
}
